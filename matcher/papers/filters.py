"""The filters of a package on paper, one for each channel group, as the answer has them."""

from __future__ import annotations

from catalog_schema.answers import Filter, Package
from matcher.papers.writer import Writer


def filter_text(writer: Writer, package: Package, opening_id: str) -> str:
    """Return the filter of the channels that feed an opening; empty if nothing feeds it."""
    found = package.filter_of(opening_id)
    return "" if found is None else _text_of(writer, package, found)


def _text_of(writer: Writer, package: Package, one: Filter) -> str:
    is_bass = any(line.slot == "bass" and line.opening_id in one.to for line in package.lines)
    told = []
    if one.low_pass_hz is not None:
        low = writer.say("filter.low", hz=writer.amount(one.low_pass_hz, "Hz"))
        told.append(low + _where(writer, one, one.low_pass_in, "filter.low_pass"))
    elif is_bass:
        told.append(writer.say("filter.unknown"))
    if one.high_pass_hz is not None:
        key = "filter.below" if is_bass else "filter.high"
        high = writer.say(key, hz=writer.amount(one.high_pass_hz, "Hz"))
        told.append(high + _where(writer, one, one.high_pass_in, "filter.subsonic" if is_bass else "filter.high_pass"))
    if one.gap_to_hz is not None and one.low_pass_hz is not None:
        low, high = (writer.amount(hz, "Hz") for hz in (one.low_pass_hz, one.gap_to_hz))
        told.append(writer.say("filter.gap", low=low, high=high))
    if one.unknown:
        told.append(writer.say("filter.open", places=", ".join(map(writer.place, one.unknown))))
    return "; ".join(told)


def _where(writer: Writer, one: Filter, device: str | None, rule: str) -> str:
    """Return the place of a filter, that there is none, or that it is unknown; empty if none is needed."""
    verdicts = [check.verdict for check in one.checks if check.rule.startswith(rule)]
    if device is None and not verdicts:
        return ""
    if device is not None:
        key = {"in_line": "line", "head_unit": "head"}.get(device, "own")
    else:
        key = "none" if "no" in verdicts else "check"
    wanted = one.high_pass_wanted_hz if rule == "filter.high_pass" else None
    short = "" if wanted is None else f", {writer.say('filter.in.most', hz=writer.amount(wanted, 'Hz'))}"
    return f" ({writer.say(f'filter.in.{key}')}{short})"
