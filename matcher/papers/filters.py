"""Where the filters begin: what each loudspeaker and the bass are asked to play."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.answers import Package
from matcher.papers.writer import Writer


def filter_rows(writer: Writer, package: Package) -> dict[str, str]:
    """By the place that is fed: the filter to begin with.

    A loudspeaker is spared what lies below the range its maker states. Bass ends where the loudspeakers begin: at
    the highest of their lower ends. In a vented box it is spared what lies below the port.
    """
    lows = {str(line.opening_id): line.low_hz for line in package.lines if line.slot == "speaker"}
    told = {place: writer.say("filter.high", hz=writer.amount(hz, "Hz")) for place, hz in lows.items() if hz}
    known = [hz for hz in lows.values() if hz]
    bass = next((line for line in package.lines if line.slot == "bass"), None)
    if bass is not None:
        ends = writer.say("filter.low", hz=writer.amount(max(known), "Hz")) if known else writer.say("filter.unknown")
        tuned = _tuned_hz(writer, package)
        spared = f"; {writer.say('filter.below', hz=writer.amount(tuned, 'Hz'))}" if tuned is not None else ""
        told[str(bass.opening_id)] = f"{ends}{spared}"
    return told


def _tuned_hz(writer: Writer, package: Package) -> Decimal | None:
    box = next((line.part_id for line in package.lines if line.slot == "enclosure" and line.part_id), None)
    figures = writer.dossier.parts.get(str(box), {})
    return figures.get("tuned_hz") if figures.get("kind") == "vented" else None
