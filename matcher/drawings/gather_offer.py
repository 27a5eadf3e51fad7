"""Pictures of a proposal: the dash before and after, the loudness of each package, and parts to keep."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import chain
from typing import Any

from catalog_schema.answers import Line, Package
from matcher.drawings.dash_picture import dash_picture
from matcher.drawings.gather_bass import bass_of
from matcher.drawings.gather_placed import OpeningRequest, placed_at
from matcher.drawings.going_back import Kind, Original, going_back
from matcher.drawings.placed import PlacedHeadUnit
from matcher.drawings.response import Response, frequencies, response_plot
from matcher.drawings.svg import Drawing, prefix_of
from matcher.drawings.words import WORDS, DrawingWords
from matcher.formulas.loudness import sum_incoherent_db
from matcher.search.catalog.catalog import Catalog

Figures = Mapping[str, Any]
SLOPE_DB = 12.0
"""Fall of a level beyond its range, per octave, as of a closed box or a common filter: common practice, no published
source."""


def offer_drawings(
    catalog: Catalog,
    vehicle: Figures,
    parts: Mapping[str, Figures],
    offered: Mapping[str, Package],
    today: Sequence[tuple[float | None, ...]],
    words: DrawingWords = WORDS,
) -> dict[str, Drawing]:
    """Return ``today``, the dash with each package's unit by letter, ``response`` and ``back``, if their data is known.

    Parameters
    ----------
    vehicle
        The vehicle's document.
    parts
        Figures of the packages' parts, by their numbers.
    offered
        The packages on offer, by their letters.
    today
        Lowest and highest frequency in Hz and level in dB of the factory loudspeakers at each opening.
    """
    vehicle_id = str(vehicle["vehicle_id"])
    openings = {str(one["opening_id"]): one for one in vehicle["openings"]}
    key = (vehicle_id, *(f"{letter} {package.id}" for letter, package in offered.items()))
    responses = [Response(letter, _levels(catalog, openings, parts, package)) for letter, package in offered.items()]
    known = [one for one in today if None not in one]
    is_known = bool(known) and len(known) == len(today)
    present = [_together([_beyond(hz, *one) for one in known]) for hz in frequencies()]  # type: ignore[arg-type]
    drawn: dict[str, Drawing | None] = {
        **dash_pictures(catalog, vehicle_id, offered, words),
        "response": response_plot(responses, present if is_known else (), words, prefix_of("response", *key)),
        "back": going_back(_originals(openings, offered, words), words, prefix_of("back", *key)),
    }
    return {name: one for name, one in drawn.items() if one is not None}


def dash_pictures(
    catalog: Catalog, vehicle_id: str, offered: Mapping[str, Package], words: DrawingWords
) -> dict[str, Drawing]:
    """Draw the dash as it is and with the unit of each package, all to one scale."""
    placed: dict[OpeningRequest, PlacedHeadUnit] = {}
    units: dict[str, OpeningRequest] = {}
    for letter, package in offered.items():
        line = next((line for line in package.lines if line.slot == "head_unit" and line.part_id), None)
        if line is not None:
            wanted = OpeningRequest(vehicle_id, str(line.opening_id), line.part_id, line.adapter_id, line.alteration)
            units[letter] = wanted
            placed[wanted] = placed.get(wanted) or placed_at(catalog, wanted, is_checked=False)
    if not placed:
        return {}
    shown = [replace(next(iter(placed.values())), part=None, adapter=None), *placed.values()]
    drawn = {
        wanted: dash_picture(one, shown, words, prefix_of("dash", vehicle_id, str(wanted.part_id)))
        for wanted, one in placed.items()
    }
    today = dash_picture(shown[0], shown, words, prefix_of("dash", vehicle_id, "today"))
    every = {"today": today, **{letter: drawn[wanted] for letter, wanted in units.items()}}
    return {name: one for name, one in every.items() if one is not None}


def _originals(openings: Mapping[str, Figures], offered: Mapping[str, Package], words: DrawingWords) -> list[Original]:
    """Return the originals removed at each place that any package refits."""
    places: dict[str, Original] = {}
    for line in chain.from_iterable(package.lines for package in offered.values()):
        if line.part_id is None or line.opening_id is None or line.slot not in ("head_unit", "speaker"):
            continue
        opening = openings[line.opening_id]
        is_oval = opening.get("shape") not in (None, "round")
        kind: Kind = "radio" if line.slot == "head_unit" else "oval" if is_oval else "round"
        places[line.opening_id] = Original(kind, words.again(opening.get("label") or line.opening_id))
    return list(places.values())


def _levels(
    catalog: Catalog, openings: Mapping[str, Figures], parts: Mapping[str, Figures], package: Package
) -> tuple[float, ...]:
    """Return the level of all parts of a package together at each frequency, each falling beyond its range.

    If a loudspeaker's range is unknown, only the bass up to its filter is known.
    """
    spoken = [line for line in package.lines if line.slot == "speaker" and line.level_db is not None]
    ranges = [_range(package, line, openings[str(line.opening_id)], parts) for line in spoken]
    known = [one for one in ranges if one is not None]
    bass, most = _bass(catalog, package)
    levels = []
    for hz, low in zip(frequencies(), bass, strict=True):
        sources = [*([] if low is None else [low]), *(_beyond(hz, *one) for one in known)]
        levels.append(_together(sources) if len(known) == len(ranges) or hz <= most else -math.inf)
    return tuple(levels)


def _range(
    package: Package, line: Line, opening: Figures, parts: Mapping[str, Figures]
) -> tuple[float, float, float] | None:
    """Return the frequency range of a place's loudspeakers, by their maker and their filter, and their level."""
    stays = line.part_id is None
    high_hz = opening.get("original_high_hz") if stays else parts.get(str(line.part_id), {}).get("high_hz")
    if high_hz is None or line.level_db is None or line.low_hz is None:
        return None
    found = package.filter_of(str(line.opening_id))
    high_pass = 0.0 if found is None or found.high_pass_hz is None else float(found.high_pass_hz)
    level = sum_incoherent_db([float(line.level_db)] * (opening.get("count") or 2))  # an original has no pieces
    return None if level is None else (max(float(line.low_hz), high_pass), float(high_hz), level)


def _together(levels_db: list[float]) -> float:
    """Return the level of several sources together; minus infinity if there is none."""
    level = sum_incoherent_db(levels_db) if levels_db else None
    return -math.inf if level is None else level


def _beyond(hz: float, least_hz: float, most_hz: float, level_db: float) -> float:
    """Return a level at a frequency: what it is within its range, falling beyond it."""
    octaves = math.log2(max(least_hz / hz, hz / most_hz, 1.0))
    return level_db - SLOPE_DB * octaves


def _bass(catalog: Catalog, package: Package) -> tuple[list[float | None], float]:
    """Return the maximum bass level at each frequency, falling above its filter, and that filter's frequency.

    Without a filter the levels are None, and the frequency is 0.
    """
    bass = bass_of(catalog, package)
    found = None if bass is None else package.filter_of(str(bass.line.opening_id))
    if bass is None or found is None or found.low_pass_hz is None:
        return [None] * len(frequencies()), 0.0
    most = float(found.low_pass_hz)
    within = [*(hz for hz in frequencies() if hz < most), most]
    levels = [None if one is None else one.level_db for one in bass.levels(within)]
    edge = levels.pop()
    above = frequencies()[len(levels) :]
    return [*levels, *(None if edge is None else _beyond(hz, 0.0, most, edge) for hz in above)], most
