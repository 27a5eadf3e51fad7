"""Drawings for the shop: data is read from the store, then drawn by pure functions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from catalog_schema.parts import Accessory, Amplifier
from catalog_schema.vehicles import AmpSpot, CargoSpace, ControlSpot, DashOpening, NoFasten, SpeakerOpening
from matcher.drawings.board import board_layout
from matcher.drawings.cargo import cargo_space
from matcher.drawings.dash import dash_front
from matcher.drawings.dash_section import dash_section
from matcher.drawings.gather_placed import OpeningRequest, placed_at
from matcher.drawings.margins import margin_bars
from matcher.drawings.placed import Placed, PlacedHeadUnit, PlacedSpeaker, part_name
from matcher.drawings.speaker_front import speaker_front
from matcher.drawings.speaker_section import speaker_section
from matcher.drawings.svg import Drawing, prefix_of
from matcher.drawings.template import cut_template, dash_template, drill_template
from matcher.drawings.words import WORDS, DrawingWords
from matcher.search.catalog.catalog import Catalog


def opening_drawings(
    catalog: Catalog, wanted: OpeningRequest, words: DrawingWords = WORDS, *, has_margins: bool = True
) -> dict[str, Drawing]:
    """Return every drawing of an opening by name, with the margins of its part if asked.

    Raises
    ------
    InputError
        if a name is unknown, or the part is of another kind than the opening.
    """
    placed = placed_at(catalog, wanted)
    names = (wanted.vehicle_id, wanted.opening_id, wanted.part_id or "", wanted.adapter_id or "")
    opening = placed.opening
    if isinstance(opening, DashOpening):
        drawn = _dash_drawings(placed, words, names)
    elif isinstance(opening, SpeakerOpening):
        drawn = _speaker_drawings(placed, words, names)
    elif isinstance(opening, CargoSpace):
        prefix, checks = prefix_of("space", *names), placed.fit.checks if placed.fit else ()
        drawn = {"space": cargo_space(opening, placed.part, checks=checks, words=words, prefix=prefix)}
    else:
        drawn = {"board": _board(catalog, wanted.vehicle_id, placed, words, prefix_of("board", *names))}
    if has_margins and placed.fit is not None and placed.part is not None:
        prefix = prefix_of("margins", *names)
        drawn["margins"] = margin_bars(placed.fit.checks, part_name(placed.part), words=words, prefix=prefix)
    return drawn


def _dash_drawings(placed: PlacedHeadUnit, words: DrawingWords, names: Sequence[str]) -> dict[str, Drawing]:
    """Draw front, side, and the template that the step of the ladder allows."""
    drawn: dict[str, Drawing | None] = {
        "front": dash_front(placed, words, prefix_of("front", *names)),
        "side": dash_section(placed, words, prefix_of("side", *names)),
    }
    if placed.part is not None and placed.fit is not None:
        prefix = prefix_of("cut", *names)
        drawn["cut-template"] = dash_template(placed.opening, placed.part, placed.fit, words, prefix)
    return {name: one for name, one in drawn.items() if one is not None}


def _speaker_drawings(placed: PlacedSpeaker, words: DrawingWords, names: Sequence[str]) -> dict[str, Drawing]:
    """Draw front, section, and the templates that the step of the ladder allows."""
    drawn: dict[str, Drawing | None] = {
        "front": speaker_front(placed, words, prefix_of("front", *names)),
        "section": speaker_section(placed, words, prefix_of("section", *names)),
    }
    opening, part, adapter, fit = placed.opening, placed.part, placed.adapter, placed.fit
    if part is not None and fit is not None and adapter is None:
        drawn["cut-template"] = cut_template(opening, part, fit, words, prefix_of("cut", *names))
    if part is not None and fit is not None and adapter is not None:
        prefix = prefix_of("drill", *names)
        drawn["drill-template"] = drill_template(opening, adapter, part, turned=fit.turned, words=words, prefix=prefix)
    return {name: one for name, one in drawn.items() if one is not None}


def _board(catalog: Catalog, vehicle_id: str, placed: Placed[Any, Any], words: DrawingWords, prefix: str) -> Drawing:
    amplifiers = [] if placed.part is None else [placed.part]
    return board_drawing(catalog, vehicle_id, placed.opening, amplifiers, words, prefix)


def board_drawing(
    catalog: Catalog,
    vehicle_id: str,
    spot: AmpSpot | ControlSpot,
    amplifiers: Sequence[Amplifier],
    words: DrawingWords,
    prefix: str,
    board: Accessory | None = None,
) -> Drawing:
    """Draw a spot with the amplifiers on their board, and the zones where nothing may be fastened."""
    zones = [NoFasten(where=zone["zone"], why=zone["why"]) for zone in catalog.vehicle(vehicle_id).zones]
    return board_layout(
        spot, amplifiers, no_fasten=zones, board=board, settings=catalog.settings, words=words, prefix=prefix
    )
