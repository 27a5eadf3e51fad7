"""Where the filters of a package begin: one for each channel group."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from catalog_schema.answers import Filter, Line, Link
from matcher.kernel.columns import word_code
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.mounted import cell


def filters_of(lines: Sequence[Line], links: Sequence[Link], tuned_hz: Decimal | None) -> list[Filter]:
    """The filter of each channel group, to begin with.

    Loudspeakers are spared what lies below the range that their makers state: those that share channels, below the
    highest of their lower ends. Bass ends where the loudspeakers begin, and is spared what lies below the tuning of
    a vented box. Common practice, no published source.

    Parameters
    ----------
    tuned_hz
        Tuning of the bass box in hertz, if it is vented.
    """
    groups: dict[tuple[str, frozenset[str]], Link] = {}
    for link in links:
        groups.setdefault((link.from_, frozenset((*link.to, *link.beside))), link)
    lows = {str(line.opening_id): line.low_hz for line in lines if line.slot == "speaker"}
    bass = next((line.opening_id for line in lines if line.slot == "bass"), None)
    begins = max((low for low in lows.values() if low), default=None)
    return [_filter(link, lows, begins if bass in link.to else None, tuned_hz) for link in groups.values()]


def _filter(link: Link, lows: dict[str, Decimal | None], ends_hz: Decimal | None, tuned_hz: Decimal | None) -> Filter:
    to = list(dict.fromkeys((*link.to, *link.beside)))
    speakers = [place for place in to if place in lows]
    return Filter(
        from_=link.from_,
        slot=link.slot,
        to=to,
        high_pass_hz=max((low for place in speakers if (low := lows[place])), default=None) if speakers else tuned_hz,
        low_pass_hz=None if speakers else ends_hz,
        unknown=[place for place in speakers if not lows[place]],
    )


def tuned_hz_of(catalog: Catalog, lines: Sequence[Line]) -> Decimal | None:
    """Tuning of a package's bass box in hertz; none if it is not vented, made to measure, or not known."""
    box = next((line.part_id for line in lines if line.slot == "enclosure" and line.part_id), None)
    if box is None:
        return None
    boxes = catalog.parts("enclosure")
    row, kind = boxes.row(box), boxes.cells["kind"]
    is_vented = row is not None and kind.values[row] == word_code("vented")
    hz: Decimal | None = cell(boxes.cells["tuned_hz"], row) if row is not None and is_vented else None
    return hz
