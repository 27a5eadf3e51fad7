"""The places of a share and their interfaces (spots) as columns, for the evaluation of sheets.

Rules that do not read the part are evaluated once per place; the fit of an adapter, once per hole.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import groupby
from typing import Any, NamedTuple

import numpy as np

from catalog_schema.ladder import LADDER
from matcher.kernel.alike import alike
from matcher.kernel.columns import Columns, columns_of, word_code
from matcher.kernel.distinct import DistinctSets, distinct
from matcher.kernel.evaluate import Evaluation
from matcher.rules.rule import NO
from matcher.rules.step import ALLOWED
from matcher.search.catalog.parts import Parts
from matcher.search.catalog.vehicle import subject_columns
from matcher.search.fits.feasible import RuleGroup
from matcher.search.fits.holes import Holes, adapter_interfaces, bare_interfaces, holes_of, joined
from matcher.search.fits.interfaces import lifted, prices
from matcher.search.fits.place import BOARD_STEP, DRILLED
from matcher.search.matrix.kinds import KindRules, read_of
from matcher.search.matrix.places import COVERS, held_columns
from matcher.search.matrix.verdicts import (
    DOUBT,
    LIMIT,
    WORD,
    NumberedOutcomes,
    Numbers,
    RowVerdicts,
    no_verdicts,
    verdicts_of,
    worst_of,
)
from matcher.settings import Settings
from matcher.store.database.connection import Connection, records

BARE = -1
"""Number of no adapter."""
GIVEN = ("mouth", "opening")
AT_ONCE = 1_000_000
"""Number of adapters in holes evaluated at once."""


class Spot(NamedTuple):
    """An interface of a place, with the ranks of its outcomes."""

    step: int
    adapter_no: int
    given: tuple[int, ...]
    """Index of its figure set on each sheet."""
    firm: int
    """Outcome of vehicle, place and adapter."""
    lifted: int
    """Outcome of the adapter's bolt holes, which drilling lifts."""
    beyond: int
    """Outcome if its step is more than allowed."""


class PlaceClass(NamedTuple):
    """An opening that represents all equal ones."""

    place_no: int
    closed: int | None
    """First rule that refuses every part there."""
    ways: list[list[Spot]]
    """Spots of each mounting, as found and as cut: first without an adapter, then the cheapest first."""


class InterfaceRows(NamedTuple):
    """Interfaces of some places, one row each."""

    place: Numbers
    adapter_no: Numbers
    step: Numbers
    is_cut: Numbers
    columns: Columns
    """Subject ``mouth``."""
    firm: RowVerdicts
    lifted: RowVerdicts


@dataclass
class Spots:
    """The places of one kind in a share, with their evaluation."""

    con: Connection
    asking: KindRules
    step: int
    every: bool
    adapters: Parts | None
    """Adapters to try, if any."""
    settings: Settings

    @cached_property
    def _openings(self) -> list[dict[str, Any]]:
        read = f"SELECT place_no, opening.*, {COVERS} AS covers FROM opening_{self.asking.kind} AS opening"
        here = f"JOIN place USING (vehicle_id, opening_id) WHERE place.kind = '{self.asking.kind}' AND represents"
        return records(self.con, f"{read} {here} ORDER BY place_no")

    @cached_property
    def _columns(self) -> Columns:
        zone = columns_of("zone", [{"covers": row["covers"]} for row in self._openings])
        return subject_columns("opening", self._openings, self.settings) | zone

    @cached_property
    def _vehicles(self) -> Columns:
        """Vehicle of each place."""
        read = held_columns(self.con, "vehicle", "vehicle", (one.field for one in read_of("vehicle", *self.asking.own)))
        here = "FROM vehicle WHERE vehicle_id IN (SELECT vehicle_id FROM place)"
        rows = {
            row["vehicle_id"]: row for row in records(self.con, f"SELECT {', '.join(['vehicle_id', *read])} {here}")
        }
        return subject_columns("vehicle", [rows[row["vehicle_id"]] for row in self._openings], self.settings)

    @cached_property
    def things(self) -> list[Columns | None]:
        """Things that must stay reachable, by distinct list."""
        return [subject_columns("keep", some, self.settings) if some else None for some in self._listed[0]]

    @cached_property
    def _listed(self) -> tuple[list[list[dict[str, Any]]], list[int]]:
        """The distinct lists of things, and the index of each place's list."""
        read = "SELECT place_no, k.* EXCLUDE (vehicle_id, opening_id, name) FROM keep_clear AS k"
        rows = records(
            self.con, f"{read} JOIN place USING (vehicle_id, opening_id) WHERE represents ORDER BY place_no, k.position"
        )
        beside: dict[int, list[dict[str, Any]]] = {row["place_no"]: [] for row in self._openings}
        for row in rows:
            beside.get(row.pop("place_no"), []).append(row)
        numbers: dict[str, int] = {}
        at = [numbers.setdefault(repr(some), len(numbers)) for some in beside.values()]
        first = dict(zip(reversed(at), reversed(beside.values()), strict=True))
        return [first[number] for number in range(len(numbers))], at

    @cached_property
    def rows(self) -> InterfaceRows:
        """Every spot within the allowed step, or all if every pair is reported."""
        many = len(self._openings)
        if not self.asking.plates:
            same, none = np.full(many, BOARD_STEP), np.full(many, BARE)
            return InterfaceRows(
                np.arange(many), none, same, np.zeros(many, np.bool_), Columns({}), *[no_verdicts(many)] * 2
            )
        holes = holes_of(self.asking.kind, self._columns)
        found = [self._bare(holes)]
        if self.adapters is not None:
            made_for, step = self.adapters.cells["for"], max(1, AT_ONCE // len(holes))
            plates = np.flatnonzero(made_for.values == word_code(self.asking.kind))
            found += [
                self._plated(self.adapters, plates[first : first + step], holes)
                for first in range(0, len(plates), step)
            ]
        return reduce(_under, found)

    def _bare(self, holes: Holes) -> InterfaceRows:
        at = np.flatnonzero(np.full(len(holes), self.every) | (holes.step <= self.step) | ~holes.is_cut)
        bare, mouths = np.full(len(at), BARE), bare_interfaces(holes).take(at)
        return InterfaceRows(
            holes.opening[at], bare, holes.step[at], holes.is_cut[at], mouths, *[no_verdicts(len(at))] * 2
        )

    def _plated(self, adapters: Parts, some: Numbers, holes: Holes) -> InterfaceRows:
        """Some adapters in holes that they may fit."""
        plates, every, shape = adapters.subject("adapter").take(some), self.asking.plates, (len(some), len(holes))
        at = Evaluation(plates.down() | holes.columns.across(), self.settings)
        verdicts = [verdicts_of(lifted(every, by_drill), self.asking.rules, at, shape) for by_drill in (False, True)]
        step = np.broadcast_to(np.maximum(holes.step, BOARD_STEP), shape)
        near = (verdicts[0].key // WORD != NO) & ((step <= self.step) | self.every)
        if not self.every and self.step < DRILLED:
            near &= verdicts[1].key // WORD != NO
        plate, hole = np.nonzero(near)
        mouths = adapter_interfaces(holes.columns.take(hole), plates.take(plate), len(plate))
        firm, loose = (one.take(near) for one in verdicts)
        return InterfaceRows(holes.opening[hole], some[plate], step[near], holes.is_cut[hole], mouths, firm, loose)

    @cached_property
    def sets(self) -> list[DistinctSets]:
        """Distinct figure sets of the spots, by sheet."""
        return [self._sets(sheet) for sheet in self.asking.sheets]

    def _sets(self, sheet: RuleGroup) -> DistinctSets:
        if self.asking.is_hung(sheet):
            return DistinctSets(np.arange(len(self.things)), np.array(self._listed[1], np.int64)[self.rows.place])
        rows = len(self.rows.place)
        return alike(sheet.rules, GIVEN, Evaluation(self._there(np.arange(rows)), self.settings), rows)

    def given(self, sheet: int) -> Columns:
        """Figures of each set of a sheet."""
        return self._there(self.sets[sheet].first)

    def _there(self, rows: Numbers) -> Columns:
        """Interfaces and their openings, one row each."""
        return self.rows.columns.take(rows) | self._columns.take(self.rows.place[rows])

    @cached_property
    def _own(self) -> RowVerdicts:
        """Outcome of each place for any part."""
        at = Evaluation(self._columns | self._vehicles, self.settings)
        return verdicts_of(self.asking.own, self.asking.rules, at, (len(self._openings),))

    def numbers(self, outcomes: NumberedOutcomes) -> Numbers:
        """Outcomes of each interface as in `Spot`, by number, shape (interfaces, 3)."""
        rows, steps = self.rows, np.arange(len(LADDER))
        ways = columns_of("way", [{"step": step} for step in steps.tolist()])
        at = Evaluation(columns_of("asked", [{"step": self.step}]) | ways, self.settings)
        limit = verdicts_of([ALLOWED], self.asking.rules, at, (len(LADDER),))
        either = zip(limit, no_verdicts(len(LADDER)), strict=True)
        beyond = RowVerdicts(*(np.where(steps > self.step, *each) for each in either))
        firm = worst_of(self._own.take(rows.place), rows.firm)
        return np.stack([outcomes.numbers(one) for one in (firm, rows.lifted, beyond.take(rows.step))], axis=1)

    def places(self, ranks: Numbers) -> Iterator[PlaceClass]:
        """Return the places with their mountings; of adapters with equal dimensions and outcomes only the cheapest.

        Parameters
        ----------
        ranks
            Ranks of the outcomes in `numbers`.
        """
        rows, cents = self.rows, self._cents()
        codes = [verdicts.key // WORD for verdicts in (rows.firm, rows.lifted)]
        alike = distinct([rows.step, *codes, *(one.number for one in self.sets)], len(rows.place)).number
        order = np.lexsort((rows.is_cut, rows.adapter_no, cents, rows.adapter_no > BARE, rows.place))
        ends = np.searchsorted(rows.place[order], np.arange(len(self._openings) + 1))
        is_beyond = not self.asking.plates and self.step < BOARD_STEP
        given = np.stack([one.number for one in self.sets], axis=1)
        for place, (row, first) in enumerate(zip(self._openings, self._own.first.tolist(), strict=True)):
            ways: dict[tuple[int, ...], list[Spot]] = {}
            here = order[ends[place] : ends[place + 1]].tolist()
            for adapter_no, each in groupby(here, key=lambda spot: int(rows.adapter_no[spot])):
                some = list(each)
                spots = [
                    Spot(int(rows.step[one]), adapter_no, tuple(given[one].tolist()), *ranks[one].tolist())
                    for one in some
                ]
                ways.setdefault(tuple(alike[some].tolist()), spots)
            closed = LIMIT if is_beyond else first if first < DOUBT else None
            yield PlaceClass(row["place_no"], closed, list(ways.values()))

    def _cents(self) -> Numbers:
        """Price of each spot's adapter there, with its labor."""
        rows = self.rows
        cents = np.zeros(len(rows.place), np.int64)
        if self.adapters is None or not self.asking.plates:
            return cents
        pieces = np.array([row.get("count") or 2 if self.asking.kind == "speaker" else 1 for row in self._openings])
        for count in np.unique(pieces).tolist():
            some = (pieces[rows.place] == count) & (rows.adapter_no > BARE)
            cents[some] = prices(self.adapters, count, self.settings)[rows.adapter_no[some]]
        return cents


def _under(first: InterfaceRows, other: InterfaceRows) -> InterfaceRows:
    """Stack rows."""
    columns = Columns({name: joined(column, other.columns[name]) for name, column in first.columns.items()})
    place, adapter_no, step, is_cut = (np.concatenate(each) for each in zip(first[:4], other[:4], strict=True))
    both = (first.firm, other.firm), (first.lifted, other.lifted)
    firm, loose = (RowVerdicts(*map(np.concatenate, zip(*each, strict=True))) for each in both)
    return InterfaceRows(place, adapter_no, step, is_cut, columns, firm, loose)
