"""Amplifiers for every spot of a vehicle, each with its board, its cable and its remote, priced and scored.

The rules are asked once for each distinct set of an amplifier's figures at each spot; what it draws, which cable
carries it and which board holds it follow from such sets as well (`supply`, `boards`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.columns import Column
from matcher.kernel.distinct import Numbers, distinct
from matcher.rules.amp_board import BOARD
from matcher.rules.rule import FITS, NO, rules_of
from matcher.search.candidates.boards import board_of, boards_on
from matcher.search.candidates.common import Filled, points_of
from matcher.search.candidates.controls import control_spots, own_remote
from matcher.search.candidates.goods import goods_of
from matcher.search.candidates.supply import Supplied, Supplies, supplies
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.counted import counted_columns
from matcher.search.catalog.parts import columns_told
from matcher.search.feeds.parts import AmplifierSignature, Candidate
from matcher.search.fits.interfaces import lifted
from matcher.search.fits.mounted import Tally, cell, tol_of
from matcher.search.fits.place import BOARD_STEP, DRILLED, Place
from matcher.search.fits.sweep import Sweeps
from matcher.search.fits.tables import verdict_table
from matcher.search.question import JobQuestion, allowed_step
from matcher.search.scoring import Scoring

SLOT = "amplifier"
FIGURES = {
    "channels": "full_channels",
    "w_4ohm": "full_w_4ohm",
    "w_2ohm": "full_w_2ohm",
    "min_ohm": "full_min_ohm",
    "bridged_w_4ohm": "full_bridged_w_4ohm",
    "bridged_min_ohm": "full_bridged_min_ohm",
    "input_min_v": "input_min_v",
    "input_max_v": "input_max_v",
    "high_level_in": "high_level_in",
}
"""By field of a signature the figure of an amplifier that it is."""
FOR_BASS = {name: name for name in ("bass_channels", "bass_w_4ohm", "bass_w_2ohm", "bass_w_1ohm", "bass_min_ohm")}
"""Those that count besides if bass is asked for."""
COUNTS, LEVELS = ("channels", "bass_channels"), ("input_min_v", "input_max_v")
NOWHERE = 1 << 30
"""Stands for the step of an amplifier that does not go onto a spot."""


def amplifiers(sweeps: Sweeps, question: JobQuestion, scoring: Scoring) -> Filled:
    """Amplifiers for every spot of the vehicle, within the step that a board takes, and how many stand on each."""
    found = Filled([], {})
    if sweeps.powered(question.job.vehicle_id) == NO:
        return found
    ways = _Ways(sweeps, question, scoring)
    for spot in question.amp_spots:
        place = Place("amp_spot", SLOT, question.job.vehicle_id, spot, allowed_step(question.job, spot))
        if place.allowed >= BOARD_STEP and sweeps.may_hold(place):
            candidates, tally = ways.at(place)
            found.candidates.extend(candidates)
            found.tallies[spot] = tally
    return found


class OnSpot(NamedTuple):
    """What the rules say of each amplifier of the catalog at a spot."""

    step: Numbers
    """The step of the alteration ladder that it takes; `NOWHERE` if it does not go there."""
    code: Numbers
    board: Numbers
    """As `boards_on`."""


def on_spot(catalog: Catalog, place: Place) -> OnSpot:
    """What the rules say of each amplifier at a spot, and the board that holds it."""
    opening = catalog.vehicle(place.vehicle_id).opening("amp_spot", place.opening_id)
    parts, settings = catalog.parts(SLOT), catalog.settings
    base, bolts = (
        verdict_table(lifted(rules_of(BOARD), drill), parts, "part", opening, 1, settings)
        .by_part[:, 0]
        .astype(np.int64)
        for drill in (False, True)
    )
    held = np.minimum(base, bolts)
    step = np.select([held != NO, base != NO], [BOARD_STEP, DRILLED], NOWHERE)
    return OnSpot(step, np.where(step >= DRILLED, base, held), boards_on(catalog, opening))


class Signatures(NamedTuple):
    """What the amplifiers of the catalog are to the rest of the system."""

    kinds: list[AmplifierSignature]
    number: Numbers
    """By amplifier: its place in `kinds`."""


def signatures(catalog: Catalog, *, bass: bool) -> Signatures:
    """The electrical classes of amplifiers; what concerns bass alone counts if bass is asked for."""
    parts, fields = catalog.parts(SLOT), FIGURES | (FOR_BASS if bass else {})
    cells = {**parts.cells, **counted_columns(parts.cells, catalog.settings)}
    first, number = distinct([each for name in fields.values() for each in columns_told(cells[name])], len(parts))
    kinds: dict[AmplifierSignature, int] = {}
    at = [kinds.setdefault(_signature(cells, fields, row), len(kinds)) for row in first.tolist()]
    return Signatures(list(kinds), np.array(at, np.int64)[number])


def _signature(cells: Mapping[str, Column], fields: Mapping[str, str], row: int) -> AmplifierSignature:
    told: dict[str, Any] = {name: cell(cells[figure], row) for name, figure in fields.items()}
    told |= {name: int(told[name]) for name in COUNTS if told.get(name) is not None}
    return AmplifierSignature(**told | {f"{name}_tol": tol_of(cells[name], row) for name in LEVELS})


class _Ways:
    """The amplifiers of a job, as they stand on any spot."""

    def __init__(self, sweeps: Sweeps, question: JobQuestion, scoring: Scoring) -> None:
        self._catalog, self._scoring, self._bass = sweeps.catalog, scoring, bool(question.bass_names)
        self._supply = sweeps.powered(question.job.vehicle_id)
        self._signatures: Signatures = self._catalog.once(
            ("amplifier signatures", self._bass), lambda: signatures(self._catalog, bass=self._bass)
        )
        self._plain, self._playing = (
            supplies(self._catalog, question.job.vehicle_id, question.headroom, scoring, bass=bass)
            for bass in (False, self._bass)
        )
        spots = control_spots(sweeps, question) if self._bass else []
        self._remote = own_remote(spots[0]) if spots else None
        self._goods = goods_of(self._catalog, SLOT)

    def at(self, place: Place) -> tuple[Iterator[Candidate], Tally]:
        """The amplifiers of a spot, and how many there are."""
        at: OnSpot = self._catalog.once(
            ("amplifiers", place.vehicle_id, place.opening_id), lambda: on_spot(self._catalog, place)
        )
        rows = np.flatnonzero(at.step <= place.allowed)
        boards = {
            row: board_of(self._catalog, row, place.opening_id, self._scoring) for row in np.unique(at.board).tolist()
        }
        tally = Tally(len(rows), len(rows), int((at.code[rows] == FITS).sum()))
        made = (
            self._candidate(row, place.opening_id, int(at.step[row]), int(at.code[row]), boards[int(at.board[row])])
            for row in rows.tolist()
        )
        return made, tally

    def _candidate(self, row: int, spot: str, step: int, code: int, board: Candidate) -> Candidate:
        """An amplifier as it plays the bass, and as it is if another one does; in a job without bass as it is."""
        goods, unsure = self._goods, min(code, self._supply) != FITS
        bare = goods.candidate(
            row,
            SLOT,
            opening_id=spot,
            step=step,
            unsure=unsure,
            points=points_of(self._scoring, step, goods.cost(row), unsure=unsure or bool(goods.dark[row])),
            signature=self._signatures.kinds[self._signatures.number[row]],
        )
        plain = _with_supply(bare, self._plain, row, [board])
        if not self._bass:
            return plain
        able = cell(self._catalog.parts(SLOT).cells["level_control"], row)
        remote = [self._remote] if self._remote is not None and able else []
        return replace(_with_supply(bare, self._playing, row, [board, *remote]), quiet=plain)


def _with_supply(one: Candidate, every: Supplies, row: int, along: list[Candidate]) -> Candidate:
    own: Supplied = every.kinds[every.number[row]]
    more = [] if own.cable is None else [own.cable]
    return replace(one, draw=own.draw, unsure_supply=own.unsure, along=(*along, *more))
