"""Amplifiers for every spot of a vehicle, each with board, cable and remote.

Rules are evaluated once per distinct set of an amplifier's figures and spot; its current, cable and board follow from
such sets as well (`supply`, `boards`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from functools import cached_property, partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import Column, row_keys
from matcher.kernel.distinct import Numbers, distinct
from matcher.rules.amp_board import BOARD
from matcher.rules.rule import FITS, NO, rules_of
from matcher.search.candidates.boards import board_of, boards_on, sharing
from matcher.search.candidates.common import points_at, points_of
from matcher.search.candidates.controls import control_spots, own_remote
from matcher.search.candidates.goods import goods_of
from matcher.search.candidates.supply import supplies
from matcher.search.candidates.table import CandidateTable, MadeWhenAsked
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.counted import counted_columns
from matcher.search.catalog.parts import cell, tol_of
from matcher.search.feeds.filtering import HELD, filter_columns
from matcher.search.feeds.parts import LOW, AmplifierSignature, Candidate
from matcher.search.fits.families import may_hold, supply_code
from matcher.search.fits.interfaces import lifted
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import BOARD_STEP, DRILLED, Place, is_allowed
from matcher.search.fits.tables import verdict_table
from matcher.search.question import JobQuestion, allowed_step
from matcher.search.scoring import NOT_KNOWN, Scoring

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
"""Amplifier figure of each field of the electrical class."""
FOR_BASS = {name: name for name in (*LOW, *HELD)}
"""Additional fields if bass is wanted."""
COUNTS, LEVELS = ("channels", "bass_channels"), ("input_min_v", "input_max_v")
SUPPLY_CELLS = {"points": np.int64, "cents": np.int64, "music": np.int64, "open": np.bool_}
NOWHERE = 1 << 30
"""Step of an amplifier that does not fit a spot."""


class Amplifiers(Sequence[Candidate]):
    """The amplifiers of a job, one row per amplifier and spot.

    As a sequence it contains candidates that play the bass, if bass is wanted. Candidates are created on demand.

    Parameters
    ----------
    cells
        By row: `part_id`, `spot`, `group` (index into `classes`), `code`, and its own `points`, `cents` and `drain`;
        `board_points` and `board_cents`; and including its cable, if it plays the bass (`playing`) or another one does
        (`quiet`): `playing_points`, `playing_cents`, `playing_music`, `playing_open`, and so on.
    """

    def __init__(
        self, cells: Mapping[str, Any], classes: Sequence[AmplifierSignature], candidates: Sequence[Candidate]
    ) -> None:
        self.cells, self.classes, self._candidates = cells, classes, candidates
        self.made: dict[object, Any] = {}

    def __len__(self) -> int:
        return len(self._candidates)

    def __getitem__(self, row: Any) -> Any:
        return self._candidates[row]

    def __add__(self, other: Amplifiers) -> Amplifiers:
        classes = list(dict.fromkeys((*self.classes, *other.classes)))
        number = {one: at for at, one in enumerate(classes)}
        cells = {name: np.concatenate([own, other.cells[name]]) for name, own in self.cells.items()}
        of = [np.array([number[one] for one in some.classes], np.int64)[some.cells["group"]] for some in (self, other)]
        count = len(self)
        made = MadeWhenAsked(count + len(other), lambda row: self[row] if row < count else other[row - count])
        return Amplifiers(cells | {"group": np.concatenate(of)}, classes, made)

    def some(self, rows: Any) -> Amplifiers:
        """Return some rows, by a mask or by numbers."""
        kept = np.arange(len(self))[rows]
        made = MadeWhenAsked(len(kept), lambda row: self[int(kept[row])])
        return Amplifiers({name: cell[kept] for name, cell in self.cells.items()}, self.classes, made)

    def of_parts(self, part_ids: Collection[str | None]) -> NDArray[np.bool_]:
        """Return whether each row is one of some parts."""
        return np.array([name in part_ids for name in self.cells["part_id"].tolist()], np.bool_)

    def changed(self, how: Callable[[Candidate], Candidate]) -> Amplifiers:
        """Return the same rows with changed candidates; the arrays stay the same."""
        return Amplifiers(self.cells, self.classes, MadeWhenAsked(len(self), lambda row: how(self[row])))

    @cached_property
    def _goods(self) -> Numbers:
        found: Numbers = np.unique(self.cells["part_id"].astype(str), return_inverse=True)[1].reshape(-1)
        return found

    def table(self, *, playing: bool) -> CandidateTable:
        """Each on its own board."""
        return self._table(playing, self.cells["board_points"], self.cells["board_cents"], lambda one: one)

    def sharing(self, board: Candidate | None, *, playing: bool) -> CandidateTable:
        """Each on a board shared with another one; None: the board accompanies the other one."""
        points, cents = (0, 0) if board is None else (board.total_points, board.cents)
        return self._table(playing, points, cents, lambda one: sharing(one, board))

    def _table(self, playing: bool, points: Any, cents: Any, on: Callable[[Candidate], Candidate]) -> CandidateTable:
        cells = self.cells
        more, paid, music, is_open = (
            cells[f"{'playing' if playing else 'quiet'}_{name}"] for name in ("points", "cents", "music", "open")
        )
        uses = np.stack([cells["drain"], music, np.zeros(len(self), np.int64)], axis=1)

        def make(row: int) -> Candidate:
            one: Candidate = self[row]
            return on(one if playing else one.quiet or one)

        return CandidateTable(
            points=cells["points"] + more + points,
            cents=cells["cents"] + paid + cents,
            uses=uses if uses.any() else None,
            code=cells["code"],
            open=is_open,
            group=cells["group"],
            classes=self.classes,
            level=np.full(len(self), NOT_KNOWN, np.int64),
            goods=self._goods,
            candidates=MadeWhenAsked(len(self), make),
        )


class OnSpots(NamedTuple):
    """The amplifiers of a job, and their number on each spot."""

    candidates: Amplifiers
    tallies: dict[str, Tally]


def amplifiers(catalog: Catalog, question: JobQuestion, scoring: Scoring) -> OnSpots:
    """Return amplifiers for every spot of the vehicle that allows a board."""
    vehicle_id = question.job.vehicle_id
    supply, spots = supply_code(catalog, vehicle_id), dict[str, OnSpot]()
    for spot in question.amp_spots if supply != NO else ():
        place = Place("amp_spot", SLOT, vehicle_id, spot, allowed_step(question.job, spot))
        if is_allowed(BOARD_STEP, place.allowed) and may_hold(catalog, place):
            every: OnSpot = catalog.once(("amplifiers", vehicle_id, spot), partial(on_spot, catalog, place))
            spots[spot] = OnSpot(*(each[is_allowed(every.step, place.allowed)] for each in every))
    remotes = control_spots(catalog, question) if question.bass_names else []
    found = _Found(catalog, question, scoring, spots, supply, next(iter(remotes), None))
    tallies = {spot: Tally(len(at.row), len(at.row), int((at.code == FITS).sum())) for spot, at in spots.items()}
    return OnSpots(found.amplifiers(), tallies)


class _Found:
    """Columns of the amplifiers at some spots, one row each, complete without the catalog."""

    def __init__(
        self,
        catalog: Catalog,
        question: JobQuestion,
        scoring: Scoring,
        spots: Mapping[str, OnSpot],
        supply: int,
        remote: str | None,
    ) -> None:
        self._scoring, self._bass = scoring, bool(question.bass_names)
        self._goods, parts = goods_of(catalog, SLOT), catalog.parts(SLOT)
        nothing = OnSpot(*[np.zeros(0, np.int64)] * 4)
        self._at = OnSpot(*map(np.concatenate, zip(nothing, *spots.values(), strict=True)))
        self._row = self._at.row
        self._part_id = parts.part_ids[self._row]
        self._spot = np.repeat(
            np.array(list(spots), object), np.array([len(at.row) for at in spots.values()], np.int64)
        )
        self._classes, number = catalog.once(
            ("amplifier classes", self._bass), partial(signatures, catalog, bass=self._bass)
        )
        self._group = number[self._row]
        on = list(zip(self._spot.tolist(), self._at.board.tolist(), strict=True))
        boards = {key: board_of(catalog, key[1], key[0], scoring) for key in dict.fromkeys(on)}
        self._board = [boards[key] for key in on]
        self._supplies = {
            (how, spot): supplies(catalog, question.job.vehicle_id, spot, question.headroom, scoring, bass=bass)
            for how, bass in (("quiet", False), ("playing", self._bass))
            for spot in spots
        }
        able = parts.cells["level_control"]
        self._remote = [] if remote is None else [own_remote(remote)]
        self._has_remote = (np.asarray(able.known) & able.values)[self._row]
        self._code = np.minimum(self._at.code, supply)
        self._open = np.minimum(self._code, self._goods.drain_code[self._row])

    def amplifiers(self) -> Amplifiers:
        """The amplifiers."""
        row, cents = self._row, self._goods.cents[self._row]
        cells = {
            "part_id": self._part_id,
            "spot": self._spot,
            "group": self._group,
            "code": self._code,
            "points": points_at(self._scoring, self._at.step, cents, self._open),
            "cents": cents,
            "drain": self._goods.drain_ua[row],
            "board_points": np.array([one.total_points for one in self._board], np.int64),
            "board_cents": np.array([one.cents for one in self._board], np.int64),
        }
        for how in ("quiet", "playing"):
            cells |= {f"{how}_{name}": cell for name, cell in self._supplied(how).items()}
            cells[f"{how}_open"] = (self._open != FITS) | cells[f"{how}_open"]
        return Amplifiers(cells, self._classes, MadeWhenAsked(len(row), self._candidate))

    def _supplied(self, how: str) -> dict[str, Any]:
        """Points, cents, current and open verdict of each row's supply."""
        found: dict[str, Any] = {name: np.zeros(len(self._row), kind) for name, kind in SUPPLY_CELLS.items()}
        for (which, spot), each in self._supplies.items():
            here = self._spot == spot
            for name, kinds in each.cells.items() if which == how else ():
                found[name][here] = kinds[each.number[self._row[here]]]
        return found

    def _candidate(self, at: int) -> Candidate:
        """An amplifier that plays the bass, with its variant that does not; without bass, only the latter."""
        row, step = int(self._row[at]), int(self._at.step[at])
        bare = self._goods.candidate(
            row,
            SLOT,
            opening_id=self._spot[at],
            step=step,
            code=int(self._code[at]),
            points=points_of(self._scoring, step, self._goods.cost(row), int(self._open[at])),
            signature=self._classes[self._group[at]],
        )
        spot = self._spot[at]
        plain = self._supplies["quiet", spot].given(bare, row, self._board[at])
        if not self._bass:
            return plain
        remote = self._remote if self._has_remote[at] else []
        return replace(self._supplies["playing", spot].given(bare, row, self._board[at], *remote), quiet=plain)


class OnSpot(NamedTuple):
    """Verdict codes of each amplifier of the catalog at a spot."""

    row: Numbers
    step: Numbers
    """Required step of the alteration ladder; `NOWHERE` if it does not fit."""
    code: Numbers
    board: Numbers
    """As in `boards_on`."""


def on_spot(catalog: Catalog, place: Place) -> OnSpot:
    """Return the verdict codes of each amplifier at a spot, and its board."""
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
    return OnSpot(np.arange(len(parts)), step, np.where(step >= DRILLED, base, held), boards_on(catalog, opening))


def signatures(catalog: Catalog, *, bass: bool) -> tuple[list[AmplifierSignature], Numbers]:
    """Return the electrical classes of amplifiers, and each amplifier's index among them.

    Figures for bass count only if bass is wanted.
    """
    parts, fields = catalog.parts(SLOT), FIGURES | (FOR_BASS if bass else {})
    cells = {**parts.cells, **counted_columns(parts.cells, catalog.settings)}
    cells |= filter_columns(parts.cells, catalog.settings)
    first, number = distinct([each for name in fields.values() for each in row_keys(cells[name])], len(parts))
    kinds: dict[AmplifierSignature, int] = {}
    at = [kinds.setdefault(_signature(cells, fields, row), len(kinds)) for row in first.tolist()]
    return list(kinds), np.array(at, np.int64)[number]


def _signature(cells: Mapping[str, Column], fields: Mapping[str, str], row: int) -> AmplifierSignature:
    stated: dict[str, Any] = {name: cell(cells[figure], row) for name, figure in fields.items()}
    stated |= {name: int(stated[name]) for name in COUNTS if stated.get(name) is not None}
    return AmplifierSignature(**stated | {f"{name}_tol": tol_of(cells[name], row) for name in LEVELS})
