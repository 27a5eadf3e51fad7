"""Head units for the dash, priced and scored."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from catalog_schema.jobs import Job
from matcher.kernel.columns import Column, row_keys
from matcher.kernel.distinct import DistinctSets, Numbers, distinct
from matcher.rules.package import AT_REST
from matcher.rules.rule import FITS, NO
from matcher.search.candidates.common import cost_of, microamps, points_at, points_of
from matcher.search.candidates.table import Alternative, CandidateTable, MadeWhenAsked, table_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts, cell, money_of, tol_of
from matcher.search.feeds.filtering import filter_columns
from matcher.search.feeds.parts import Candidate, HeadSignature, is_incomplete
from matcher.search.fits.families import HeadUnitWish, mountings_at, supply_code
from matcher.search.fits.feasible import Mountings
from matcher.search.fits.mounted import FittedParts, Merits, Tally, kept, tallies
from matcher.search.fits.place import LOOSEST, CandidatePass, Place, is_allowed
from matcher.search.question import HEAD_UNIT, JobQuestion
from matcher.search.scoring import NOT_KNOWN, Scoring
from matcher.settings import Settings

SIGNATURE = ("amp_channels", "amp_w", "amp_min_ohm", "preouts", "preout_v")
COUNTED = frozenset({"amp_channels", "preouts"})
NO_SETS: Sequence[Alternative] = ((),)
Features = tuple[str, ...]


def head_cells(parts: Parts, settings: Settings, *, bass: bool) -> dict[str, Column]:
    """Figures that determine the electrical class of a head unit."""
    return {name: parts.cells[name] for name in SIGNATURE} | (filter_columns(parts.cells, settings) if bass else {})


class HeadGroup(NamedTuple):
    """Head units, each combined with one of some sets of accessories."""

    table: CandidateTable
    features: Numbers
    """Index into `lists`, by row of the table."""
    lists: Sequence[Features | None]
    """Every list of features; None: unknown."""
    sets: Sequence[Alternative] = NO_SETS

    def some(self, rows: Any) -> HeadGroup:
        """Return some of the head units, by a mask or by rows."""
        return self._replace(table=self.table.some(rows), features=self.features[rows])


class HeadUnits(Sequence[Candidate]):
    """The head units of a job as one sequence: each combined with each of its sets of accessories."""

    def __init__(self, groups: Sequence[HeadGroup]) -> None:
        self.groups = groups
        self.made: dict[object, Any] = {}

    def __len__(self) -> int:
        return sum(len(group.table) * len(group.sets) for group in self.groups)

    def __iter__(self) -> Iterator[Candidate]:
        for group in self.groups:
            for one, some in product(group.table.candidates, group.sets):
                yield replace(one, along=some) if some else one

    def __getitem__(self, at: Any) -> Any:
        return list(self)[at]


def head_groups(heads: Sequence[Candidate]) -> Sequence[HeadGroup]:
    """Return the groups of a job's head units, or of some candidates with their accessories."""
    if isinstance(heads, HeadUnits):
        return heads.groups
    lists = [None if one.features is None else tuple(one.features) for one in heads]
    return [HeadGroup(table_of(heads), np.arange(len(heads)), lists)]


def heads_at(
    catalog: Catalog,
    question: JobQuestion,
    scoring: Scoring,
    matter: Features,
    look: CandidatePass,
    *,
    lacking: bool = False,
) -> HeadsAt | None:
    """Return head units for the dash opening by their relevant features; None if there are none.

    Parameters
    ----------
    lacking
        Whether to return only those rejected solely for a missing feature.
    """
    supply, wanted = supply_code(catalog, question.job.vehicle_id), wanted_of(question.job)
    if supply == NO or question.dash_id is None:
        return None
    place = Place("dash", "head_unit", question.job.vehicle_id, question.dash_id, LOOSEST)
    kinds = head_kinds(catalog, matter, bass=bool(question.bass_names))
    mountings = mountings_at(catalog, place, 1, replace(wanted, must=()) if lacking else wanted)
    allowed = is_allowed(mountings.taken, question.dash_allowed)
    if lacking:
        allowed &= kinds.lacks(set(wanted.must))[mountings.part]
    return HeadsAt(kinds, mountings, np.flatnonzero(allowed), supply, question.dash_id, scoring, look)


def head_kinds(catalog: Catalog, matter: Features, *, bass: bool) -> HeadKinds:
    """Electrical class of each head unit, and its relevant features."""

    def find() -> HeadKinds:
        parts = catalog.parts("head_unit")
        return HeadKinds(parts, matter, head_cells(parts, catalog.settings, bass=bass))

    kinds: HeadKinds = catalog.once(("head kinds", matter, bass), find)
    return kinds


@dataclass
class HeadKinds:
    """Electrical class of each head unit, and its relevant features."""

    parts: Parts
    matter: Features
    cells: Mapping[str, Column]
    """Figures of the classes, including filters if bass is wanted."""

    @cached_property
    def lists(self) -> list[Features | None]:
        """Every list of features; None if unknown."""
        return self.parts.lists("features")

    @property
    def listed(self) -> Numbers:
        """Index into `lists`, by part."""
        found: Numbers = self.parts.cells["features"].values
        return found

    @cached_property
    def tellings(self) -> list[Features | None]:
        """Every set of relevant features; None if the features are unknown."""
        return list(dict.fromkeys(map(self._told, self.lists)))

    def _told(self, features: Features | None) -> Features | None:
        return None if features is None else tuple(sorted(set(features) & set(self.matter)))

    @cached_property
    def telling(self) -> Numbers:
        """Index into `tellings`, by part."""
        return self._of_list(lambda features: self.tellings.index(self._told(features)))

    def lacks(self, must: set[str]) -> NDArray[np.bool_]:
        """Return whether each part's features are known and some of these are missing."""
        return self._of_list(lambda features: features is not None and not must <= set(features)).astype(np.bool_)

    def _of_list(self, told: Callable[[Features | None], int]) -> Numbers:
        return np.array([told(features) for features in self.lists], np.int64)[self.listed]

    @cached_property
    def alike(self) -> DistinctSets:
        """Head units of one electrical class."""
        columns = [column for one in self.cells.values() for column in row_keys(one)]
        return distinct(columns, len(self.parts))

    @cached_property
    def signatures(self) -> list[HeadSignature]:
        """Every electrical class."""
        return [self._signature(row) for row in self.alike.first.tolist()]

    @cached_property
    def is_incomplete(self) -> NDArray[np.bool_]:
        """Whether a figure of each class is unknown or inexact."""
        return np.array([is_incomplete(one) for one in self.signatures], np.bool_)

    def _signature(self, row: int) -> HeadSignature:
        figures: dict[str, Any] = {name: cell(one, row) for name, one in self.cells.items()}
        for name in COUNTED:
            figures[name] = None if figures[name] is None else int(figures[name])
        return HeadSignature(**figures, preout_v_tol=tol_of(self.parts.cells["preout_v"], row))


@dataclass
class HeadsAt:
    """The head units that fit a dash opening, with the verdict of the vehicle's supply."""

    kinds: HeadKinds
    mountings: Mountings
    rows: Numbers
    """Allowed mountings."""
    supply: int
    dash_id: str
    scoring: Scoring
    look: CandidatePass

    @property
    def _code(self) -> Numbers:
        """Verdict code of each mounting."""
        return np.minimum(self.mountings.code, self.supply)

    @cached_property
    def tallies(self) -> dict[Features | None, Tally]:
        """Number of head units by relevant features."""
        told = tallies(self.mountings, self.rows, self._code == FITS, self.kinds.telling)
        return {self.kinds.tellings[number]: one for number, one in told.items()}

    def group(self) -> HeadGroup:
        """Return all relevant head units."""
        found = kept(self.mountings, self.rows, self._merits(), self.look)
        return HeadGroup(self._table(found), self.kinds.listed[found.part], self.kinds.lists)

    def _merits(self) -> Merits:
        """Figures by which the feasible mountings are compared."""
        at, rows, part = self.mountings, self.rows, self.mountings.part[self.rows]
        alike = distinct([self.kinds.alike.number, self.kinds.telling], len(self.kinds.parts)).number
        points, drain, open_ = self._told(part, rows, at.cents[rows])
        return Merits(
            group=alike[part],
            part=part,
            points=points,
            cents=at.cents[rows],
            open=self._is_open[part] | (at.code[rows] != FITS) if self.look.hoping else open_,
            name=at.names[rows],
            high=np.zeros(len(rows), np.int64),
            low=drain,
        )

    @cached_property
    def _is_open(self) -> NDArray[np.bool_]:
        """Whether each part's standby drain, or a figure of its class, is unknown."""
        drain = np.asarray(self.kinds.parts.cells["standby_ma"].known)
        return ~drain | self.kinds.is_incomplete[self.kinds.alike.number]

    def _told(self, part: Numbers, row: Numbers, cents: Numbers) -> tuple[Numbers, Numbers, NDArray[np.bool_]]:
        """Points, standby drain in microamperes, and whether anything is open."""
        drain, screen = (self.kinds.parts.cells[name] for name in ("standby_ma", "screen_in"))
        code = np.minimum(self._code[row], np.where(drain.known, FITS, AT_REST.measure)[part])
        inches = np.where(screen.known, screen.values, 0)[part]
        points = self.scoring.screens(inches) + points_at(self.scoring, self.mountings.taken[row], cents, code)
        return points, (np.where(drain.known, drain.values, 0) // 1000)[part], code != FITS

    def _table(self, found: FittedParts) -> CandidateTable:
        """Head units, each through an adapter, as the ranking reads them."""
        points, drain, open_ = self._told(found.part, found.row, found.cents)
        classes, group = np.unique(self.kinds.alike.number[found.part], return_inverse=True)
        nothing = np.zeros(len(drain), np.int64)
        return CandidateTable(
            points=points,
            cents=found.cents,
            uses=np.stack([drain, nothing, nothing], axis=1) if drain.any() else None,
            code=self._code[found.row],
            open=open_,
            group=group.reshape(-1),
            classes=[self.kinds.signatures[one] for one in classes.tolist()],
            level=np.full(len(drain), NOT_KNOWN, np.int64),
            goods=found.part,
            cause=found.cause,
            ids=found.ids(self.kinds.parts.part_ids, self.mountings),
            candidates=MadeWhenAsked(len(drain), lambda at: self._candidate(found.row[at], found.adapter[at])),
        )

    def _candidate(self, row: int, adapter: int) -> Candidate:
        """A mounting through an adapter as a candidate."""
        parts, scoring = self.kinds.parts, self.scoring
        part, step = int(self.mountings.part[row]), int(self.mountings.taken[row])
        cost = cost_of(1, money_of(parts, part), self.mountings.interfaces.sold(adapter), scoring, self.mountings.kit)
        standby_ma, screen_in = (cell(parts.cells[name], part) for name in ("standby_ma", "screen_in"))
        code, features = int(self._code[row]), self.kinds.lists[int(self.kinds.listed[part])]
        own = points_of(scoring, step, cost, min(code, FITS if standby_ma is not None else AT_REST.measure))
        return Candidate(
            slot=HEAD_UNIT,
            opening_id=self.dash_id,
            part_id=str(parts.part_ids[part]),
            adapter_id=self.mountings.interfaces.adapter_id(adapter),
            step=step,
            code=code,
            cost=cost,
            drain_ua=microamps(standby_ma),
            unsure_drain=standby_ma is None,
            points=(("screen", scoring.screen(screen_in)), *own),
            signature=self.kinds.signatures[self.kinds.alike.number[part]],
            screen_in=screen_in,
            features=None if features is None else frozenset(features),
            kit=self.mountings.kit,
        )


def wanted_of(job: Job) -> HeadUnitWish:
    """Requirements of a job for a head unit."""
    least = job.limits.screen_min_in
    return HeadUnitWish(None if least is None else least.value, tuple(job.limits.must or ()))
