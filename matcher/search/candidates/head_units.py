"""Head units for the dash, priced and scored."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalog_schema.jobs import Job
from matcher.kernel.columns import columns_told
from matcher.kernel.distinct import Numbers, distinct
from matcher.rules.rule import FITS, NO
from matcher.search.candidates.common import KEPT, Filled, cost_of, microamps, original, points_at, points_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts
from matcher.search.feeds.parts import Candidate, HeadSignature
from matcher.search.fits.families import mountings_at, supply_code
from matcher.search.fits.feasible import Mountings
from matcher.search.fits.looks import Look
from matcher.search.fits.mounted import Fitted, cell, kept, money_of, tallies, tolerance
from matcher.search.fits.place import LOOSEST, Place
from matcher.search.fits.undominated import Merits
from matcher.search.fits.wanted import Wanted
from matcher.search.question import HEAD_UNIT, JobQuestion
from matcher.search.scoring import Scoring

SIGNATURE = ("amp_channels", "amp_w", "amp_min_ohm", "preouts", "preout_v")
COUNTED = frozenset({"amp_channels", "preouts"})
ORIGINAL_HEAD = HeadSignature(None, None, None, None, None)


def head_units(
    catalog: Catalog, question: JobQuestion, scoring: Scoring, matter: tuple[str, ...], look: Look
) -> Filled:
    """Head units for the dash opening, or the original where that stays; they are told apart by what matters."""
    if question.dash_id is None:
        return Filled([original(HEAD_UNIT, None, ORIGINAL_HEAD)], {(): KEPT})
    return _heads(catalog, question, scoring, wanted_of(question.job), matter, look, lacking=False)


def heads_lacking(
    catalog: Catalog, question: JobQuestion, scoring: Scoring, matter: tuple[str, ...], look: Look
) -> Filled:
    """Head units for which nothing speaks against the dash opening but a feature that they lack.

    They are told apart, and counted, by those of their features that matter.
    """
    wanted = replace(wanted_of(question.job), must=())
    return _heads(catalog, question, scoring, wanted, matter, look, lacking=True)


def _heads(
    catalog: Catalog,
    question: JobQuestion,
    scoring: Scoring,
    wanted: Wanted,
    matter: tuple[str, ...],
    look: Look,
    *,
    lacking: bool,
) -> Filled:
    supply = supply_code(catalog, question.job.vehicle_id)
    if supply == NO or question.dash_id is None:
        return Filled([], {})
    place = Place("dash", "head_unit", question.job.vehicle_id, question.dash_id, LOOSEST)
    kinds: HeadKinds = catalog.once(("head kinds", matter), lambda: HeadKinds(catalog.parts("head_unit"), matter))
    mountings = mountings_at(catalog, place, 1, look.k, wanted)
    allowed = mountings.taken <= question.dash_allowed
    if lacking:
        allowed &= kinds.lacks(set(question.job.limits.must or ()))[mountings.part]
    at = HeadsAt(kinds, mountings, supply)
    rows = np.flatnonzero(allowed)
    told = tallies(mountings, rows, at.sure, kinds.telling)
    found = list(kept(mountings, rows, at.merits(rows, scoring), look.k))
    found.sort(key=lambda one: (one.part, one.adapter["adapter_id"] or ""))
    return Filled(
        [at.candidate(one, question.dash_id, scoring) for one in found],
        {(kinds.tellings[number],): one for number, one in told.items()},
    )


@dataclass
class HeadKinds:
    """What head units are to the rest of the system, by part: their electrical class, and features that matter."""

    parts: Parts
    matter: tuple[str, ...]

    @cached_property
    def _by_features(self) -> tuple[list[tuple[str, ...] | None], Numbers]:
        return self.parts.lists("features"), self.parts.cells["features"].values

    @cached_property
    def tellings(self) -> list[tuple[str, ...] | None]:
        """Every set of features that matter; none where the features are not known."""
        return list(dict.fromkeys(map(self._told, self._by_features[0])))

    def _told(self, features: tuple[str, ...] | None) -> tuple[str, ...] | None:
        return None if features is None else tuple(sorted(set(features) & set(self.matter)))

    @cached_property
    def telling(self) -> Numbers:
        """By part: its place in `tellings`."""
        lists, number = self._by_features
        at = {telling: place for place, telling in enumerate(self.tellings)}
        return np.array([at[self._told(features)] for features in lists], np.int64)[number]

    def lacks(self, must: set[str]) -> NDArray[np.bool_]:
        """By part: whether its features are known and some of these are not among them."""
        lists, number = self._by_features
        return np.array([some is not None and not must <= set(some) for some in lists], np.bool_)[number]

    @cached_property
    def group(self) -> Numbers:
        """By part: the same number for all that are alike to whatever is asked."""
        columns = [column for name in SIGNATURE for column in columns_told(self.parts.cells[name])]
        return distinct([*columns, self.telling], len(self.parts)).number

    def features(self, row: int) -> frozenset[str] | None:
        """The features of a part."""
        lists, number = self._by_features
        some = lists[int(number[row])]
        return None if some is None else frozenset(some)

    def signature(self, row: int) -> HeadSignature:
        """A part as the rest of the system sees it."""
        figures: dict[str, Any] = {name: cell(self.parts.cells[name], row) for name in SIGNATURE}
        for name in COUNTED:
            figures[name] = None if figures[name] is None else int(figures[name])
        return HeadSignature(**figures, preout_v_tol=tolerance(self.parts.cells["preout_v"], row))


@dataclass
class HeadsAt:
    """The head units that go into a dash opening, in a vehicle of which the supply has been asked."""

    kinds: HeadKinds
    mountings: Mountings
    supply: int

    @property
    def sure(self) -> NDArray[np.bool_]:
        """By way in: whether nothing about it is left to measure."""
        return self.mountings.sure & (self.supply == FITS)

    def merits(self, rows: Numbers, scoring: Scoring) -> Merits:
        """What some of the ways in are held against each other by."""
        at, part, cells = self.mountings, self.mountings.part[rows], self.kinds.parts.cells
        drain, screen = (
            np.where(cells[name].known, cells[name].values, 0)[part] for name in ("standby_ma", "screen_in")
        )
        open_ = ~self.sure[rows] | ~np.asarray(cells["standby_ma"].known)[part]
        return Merits(
            group=self.kinds.group[part],
            part=part,
            points=scoring.screens(screen) + points_at(scoring, at.taken[rows], at.cents[rows], open_),
            cents=at.cents[rows],
            open=open_,
            name=at.names[rows],
            high=np.zeros(len(rows), np.int64),
            low=drain,
        )

    def candidate(self, one: Fitted, dash_id: str, scoring: Scoring) -> Candidate:
        """A head unit through an adapter, as a candidate."""
        parts, adapter, step = self.kinds.parts, one.adapter, int(self.mountings.taken[one.row])
        paid = (adapter["price"], adapter["pack_of"], adapter["labour_h"])
        cost = cost_of(1, money_of(parts, one.part), paid, scoring)
        standby_ma, screen_in = (cell(parts.cells[name], one.part) for name in ("standby_ma", "screen_in"))
        unsure = not self.sure[one.row]
        own = points_of(scoring, step, cost, unsure=unsure or standby_ma is None)
        return Candidate(
            slot=HEAD_UNIT,
            opening_id=dash_id,
            part_id=str(parts.part_ids[one.part]),
            adapter_id=adapter["adapter_id"],
            step=step,
            unsure=unsure,
            cost=cost,
            drain_ua=microamps(standby_ma),
            unsure_drain=standby_ma is None,
            points=(("screen", scoring.screen(screen_in)), *own),
            signature=self.kinds.signature(one.part),
            screen_in=screen_in,
            features=self.kinds.features(one.part),
        )


def wanted_of(job: Job) -> Wanted:
    """What a job asks of a head unit."""
    least = job.limits.screen_min_in
    return Wanted(None if least is None else least.value, tuple(job.limits.must or ()))
