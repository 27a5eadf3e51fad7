"""Where the filters of a package begin: one for each channel group."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from catalog_schema.answers import Filter, Line, Link


def filters_of(lines: Sequence[Line], links: Sequence[Link], unloaded_hz: Decimal | None) -> list[Filter]:
    """The filter of each channel group, to begin with.

    Loudspeakers are spared what lies below the range that their makers state: those that share channels, below the
    highest of their lower ends. Bass ends where the loudspeakers begin, and is spared what unloads the cone of a
    vented box. Common practice, no published source.

    Parameters
    ----------
    unloaded_hz
        The high-pass that a vented bass box needs, in hertz.
    """
    groups: dict[tuple[str, frozenset[str]], Link] = {}
    for link in links:
        groups.setdefault((link.from_, frozenset((*link.to, *link.beside))), link)
    lows = {str(line.opening_id): line.low_hz for line in lines if line.slot == "speaker"}
    bass = next((line.opening_id for line in lines if line.slot == "bass"), None)
    begins = max((low for low in lows.values() if low), default=None)
    return [_filter(link, lows, begins if bass in link.to else None, unloaded_hz) for link in groups.values()]


def _filter(
    link: Link, lows: dict[str, Decimal | None], ends_hz: Decimal | None, unloaded_hz: Decimal | None
) -> Filter:
    to = list(dict.fromkeys((*link.to, *link.beside)))
    speakers = [place for place in to if place in lows]
    return Filter(
        from_=link.from_,
        slot=link.slot,
        to=to,
        high_pass_hz=max((low for place in speakers if (low := lows[place])), default=None)
        if speakers
        else unloaded_hz,
        low_pass_hz=None if speakers else ends_hz,
        unknown=[place for place in speakers if not lows[place]],
    )
