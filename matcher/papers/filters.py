"""The filters of a package on paper, one for each channel group, as the answer has them."""

from __future__ import annotations

from catalog_schema.answers import Filter, Package
from matcher.papers.writer import Writer


def filter_text(writer: Writer, package: Package, opening_id: str) -> str:
    """The filter of the channels that feed an opening; empty if nothing feeds it."""
    found = package.filter_of(opening_id)
    return "" if found is None else _told(writer, package, found)


def _told(writer: Writer, package: Package, one: Filter) -> str:
    is_bass = any(line.slot == "bass" and line.opening_id in one.to for line in package.lines)
    told = []
    if one.low_pass_hz is not None:
        told.append(writer.say("filter.low", hz=writer.amount(one.low_pass_hz, "Hz")))
    elif is_bass:
        told.append(writer.say("filter.unknown"))
    if one.high_pass_hz is not None:
        key = "filter.below" if is_bass else "filter.high"
        told.append(writer.say(key, hz=writer.amount(one.high_pass_hz, "Hz")))
    if one.unknown:
        told.append(writer.say("filter.open", places=", ".join(map(writer.place, one.unknown))))
    return "; ".join(told)
