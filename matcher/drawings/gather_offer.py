"""Pictures of a proposal: the dash before and after, the loudness of each package, and parts to keep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import chain

from catalog_schema.answers import Line, Package
from catalog_schema.parts import Speaker
from catalog_schema.vehicles import SpeakerOpening
from matcher.drawings.dash_picture import dash_picture
from matcher.drawings.gather import OpeningRequest, placed_at
from matcher.drawings.gather_package import bass_levels
from matcher.drawings.going_back import Kind, Original, going_back
from matcher.drawings.placed import value
from matcher.drawings.response import Response, frequencies, response_plot
from matcher.drawings.svg import Drawing, prefix_of
from matcher.drawings.words import WORDS, DrawingWords
from matcher.settings import Settings
from matcher.store.catalog.things import stored_opening, stored_part
from matcher.store.database.connection import Connection


def offer_drawings(
    con: Connection, vehicle_id: str, offered: Mapping[str, Package], settings: Settings, words: DrawingWords = WORDS
) -> dict[str, Drawing]:
    """Return ``today``, the dash with each package's unit by letter, ``response`` and ``back``, if their data is known.

    Parameters
    ----------
    vehicle_id
        The vehicle.
    offered
        The packages on offer, by their letters.
    """
    key = (vehicle_id, *(f"{letter} {package.id}" for letter, package in offered.items()))
    responses = [Response(letter, _levels(con, vehicle_id, package, settings)) for letter, package in offered.items()]
    drawn = {
        **_dashes(con, vehicle_id, offered, settings, words),
        "response": response_plot(responses, words, prefix_of("response", *key)),
        "back": going_back(_originals(con, vehicle_id, offered, words), words, prefix_of("back", *key)),
    }
    return {name: one for name, one in drawn.items() if one is not None}


def _dashes(
    con: Connection, vehicle_id: str, offered: Mapping[str, Package], settings: Settings, words: DrawingWords
) -> dict[str, Drawing | None]:
    """Draw the dash as it is and with the unit of each package, all to one scale."""
    units = {letter: _unit(package) for letter, package in offered.items()}
    after = {
        letter: placed_at(
            con,
            OpeningRequest(vehicle_id, str(line.opening_id), line.part_id, line.adapter_id, line.alteration),
            settings,
            is_checked=False,
        )
        for letter, line in units.items()
        if line is not None
    }
    if not after:
        return {}
    today = replace(next(iter(after.values())), part=None, adapter=None)
    shown = {"today": today, **after}
    return {
        name: dash_picture(one, list(shown.values()), words, prefix_of("dash", vehicle_id, name))
        for name, one in shown.items()
    }


def _unit(package: Package) -> Line | None:
    return next((line for line in package.lines if line.slot == "head_unit" and line.part_id), None)


def _originals(con: Connection, vehicle_id: str, offered: Mapping[str, Package], words: DrawingWords) -> list[Original]:
    """Return the originals removed at each place that any package refits."""
    places: dict[str, Original] = {}
    for line in chain.from_iterable(package.lines for package in offered.values()):
        if line.part_id is None or line.opening_id is None or line.opening_id in places:
            continue
        if line.slot not in ("head_unit", "speaker"):
            continue
        opening = stored_opening(con, vehicle_id, line.opening_id)
        label = words.again(opening.label or line.opening_id)
        is_oval = isinstance(opening, SpeakerOpening) and opening.shape not in (None, "round")
        kind: Kind = "radio" if line.slot == "head_unit" else "oval" if is_oval else "round"
        places[line.opening_id] = Original(kind, label)
    return list(places.values())


def _levels(con: Connection, vehicle_id: str, package: Package, settings: Settings) -> tuple[float | None, ...]:
    """Return the highest level of any part of a package at each frequency; None if nothing plays."""
    bass = _bass(con, vehicle_id, package, settings)
    ranges = [found for line in package.lines if (found := _range(con, package, line)) is not None]
    levels: list[float | None] = []
    for hz, low in zip(frequencies(), bass, strict=True):
        heard = [level for least, most, level in ranges if least <= hz <= most]
        levels.append(max([*heard, *([] if low is None else [low])], default=None))
    return tuple(levels)


def _bass(con: Connection, vehicle_id: str, package: Package, settings: Settings) -> list[float | None]:
    """Return the maximum bass level at each frequency up to its filter; empty without a filter."""
    line = next((line for line in package.lines if line.slot == "bass" and line.part_id is not None), None)
    found = None if line is None else package.filter_of(str(line.opening_id))
    most = None if found is None or found.low_pass_hz is None else float(found.low_pass_hz)
    within = [hz for hz in frequencies() if most is not None and hz <= most]
    levels = [None if one is None else one.level_db for one in bass_levels(con, vehicle_id, package, within, settings)]
    return [*levels, *(None for _ in range(len(frequencies()) - len(levels)))]


def _range(con: Connection, package: Package, line: Line) -> tuple[float, float, float] | None:
    """Return a loudspeaker's frequency range, by its maker and its filter, and its level."""
    if line.slot != "speaker" or line.part_id is None or line.level_db is None or line.low_hz is None:
        return None
    part = stored_part(con, line.part_id, "speaker")
    assert isinstance(part, Speaker)
    most = value(part.high_hz)
    if most is None:
        return None
    found = package.filter_of(str(line.opening_id))
    high_pass = 0.0 if found is None or found.high_pass_hz is None else float(found.high_pass_hz)
    return max(float(line.low_hz), high_pass), most, float(line.level_db)
