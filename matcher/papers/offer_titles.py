"""Title of a package on offer: its main gain, or its gain over the previous one."""

from __future__ import annotations

from catalog_schema.answers import Package
from matcher.answers.gains import gains, is_better, is_noticed
from matcher.papers.columns import OfferColumn, filled
from matcher.papers.writer import Writer

HEARD = {"level_db": "louder", "low_hz": "deeper", "bass_mean_db": "bass_louder", "screen_in": "larger"}
"""Word for an improvement of each figure."""


def offer_title(writer: Writer, offered: list[OfferColumn], column: OfferColumn) -> str:
    """Return a package's title: the first at its price names its goods, the others their gains over the previous one.

    Parameters
    ----------
    offered
        All packages on offer, cheapest first.
    column
        The package to be named.
    """
    at = offered.index(column)
    if at == 0:
        return _capital(writer.listed(_brings(writer, column.package, filled(column.package))))
    below, above = offered[at - 1].package, column.package
    added = filled(above) - filled(below)
    if added:
        return writer.say("proposal.over.added", things=writer.listed(_brings(writer, above, added)))
    changes = [gain for gain in gains(below, above) if gain.criterion in HEARD and is_noticed(gain) and is_better(gain)]
    words = dict.fromkeys(writer.say(f"proposal.over.{HEARD[gain.criterion]}") for gain in changes)
    if not words:
        return writer.say("proposal.over.other")
    title = _capital(", ".join(words))
    is_again = title == offer_title(writer, offered, offered[at - 1])
    return writer.say("proposal.over.again", title=title) if is_again else title


def _brings(writer: Writer, package: Package, brought: set[tuple[str, str | None]]) -> list[str]:
    slots = dict.fromkeys(line.slot for line in package.lines if (line.slot, line.opening_id) in brought)
    screen = next((line.screen_in for line in package.lines if line.screen_in), None)
    names = ("screen" if slot == "head_unit" and screen is not None else slot for slot in slots)
    reach = None if package.bass is None else package.bass.f3_hz
    names = (f"{name}_from" if name == "bass" and reach is not None else name for name in names)
    facts = {"size": writer.amount(screen, "in"), "hz": writer.rounded(reach or 0, "Hz")}
    return [writer.say(f"proposal.brings.{name}", **facts) for name in names]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
