"""Loudspeakers for a place, priced and scored."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any

import numpy as np

from catalog_schema.jobs import Wishes
from matcher.kernel.columns import columns_told, word_of
from matcher.kernel.distinct import Numbers, distinct
from matcher.search.candidates.common import KEPT, Filled, cost_of, original, points_at, points_of
from matcher.search.candidates.table import CandidateTable, MadeWhenAsked, Tabled
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts, cell, money_of
from matcher.search.feeds.parts import Candidate, Candidates, SpeakerSignature
from matcher.search.fits.families import mountings_at
from matcher.search.fits.feasible import Mountings
from matcher.search.fits.mounted import Fitted, kept, tallies
from matcher.search.fits.place import LOOSEST, Look, Place
from matcher.search.fits.undominated import Merits
from matcher.search.question import JobQuestion, SpeakerPlace
from matcher.search.scoring import NOT_KNOWN, Scoring, level_at_1w_cdb

SIGNATURE = ("impedance_ohm", "coils", "rms_w")
SOUND = ("sens_db", "sens_basis", "impedance_ohm")


def speakers(catalog: Catalog, question: JobQuestion, place: SpeakerPlace, scoring: Scoring, look: Look) -> Filled:
    """Loudspeakers for a place within its step, or the original where that stays."""
    if place.kept:
        signature = SpeakerSignature(place.factory_ohm, 1, None, original=True)
        return Filled(Candidates([original("speaker", place.opening_id, signature)]), {signature: KEPT})
    at = speakers_at(catalog, question, place, look.k)
    rows = np.flatnonzero(at.mountings.taken <= place.allowed)
    told = tallies(at.mountings, rows, at.mountings.sure, at.sound.signature)
    found = kept(at.mountings, rows, at.merits(rows, scoring), look.k)
    signatures = at.sound.signatures
    return Filled(Tabled(at.table(found, place, scoring)), {signatures[number]: one for number, one in told.items()})


def speakers_at(catalog: Catalog, question: JobQuestion, place: SpeakerPlace, k: int) -> SpeakersAt:
    """What goes into an opening, whatever it alters: trade-offs and what-ifs ask beyond the step that is allowed."""
    opening = Place("speaker", "speaker", question.job.vehicle_id, place.opening_id, LOOSEST)
    sound: Sound = catalog.once("sound", lambda: Sound(catalog.parts("speaker")))
    return SpeakersAt(sound, mountings_at(catalog, opening, place.count, k))


@dataclass
class Sound:
    """What loudspeakers are to their feed, by part: their electrical class, their level, their reach."""

    parts: Parts
    _low_points: dict[Wishes, Numbers] = field(default_factory=dict)

    @cached_property
    def _alike(self) -> tuple[Numbers, Numbers]:
        coils = self.parts.cells["coils"]
        columns = [column for name in SIGNATURE if name != "coils" for column in self._told(name)]
        columns.append(np.where(coils.known, coils.values, 1_000_000))
        return distinct(columns, len(self.parts))

    def _told(self, name: str) -> list[Numbers]:
        return columns_told(self.parts.cells[name])

    @property
    def signature(self) -> Numbers:
        """By part: its place in `signatures`."""
        return self._alike[1]

    @cached_property
    def signatures(self) -> list[SpeakerSignature]:
        """Every electrical class of them."""
        return [self.signature_of(row) for row in self._alike[0].tolist()]

    def signature_of(self, row: int) -> SpeakerSignature:
        """The electrical class of a part."""
        impedance_ohm, coils, rms_w = (cell(self.parts.cells[name], row) for name in SIGNATURE)
        return SpeakerSignature(impedance_ohm, int(coils or 1), rms_w)

    @cached_property
    def level(self) -> Numbers:
        """By part: its level at 1 W in hundredths of a decibel; `NOT_KNOWN` where that is not known."""
        first, number = distinct([column for name in SOUND for column in self._told(name)], len(self.parts))
        levels = (self.level_of(row) for row in first.tolist())
        return np.array([NOT_KNOWN if level is None else level for level in levels], np.int64)[number]

    def level_of(self, row: int) -> int | None:
        """The level of a part at 1 W."""
        return level_at_1w_cdb(self.cell("sens_db", row), self.word("sens_basis", row), self.cell("impedance_ohm", row))

    @cached_property
    def _reach(self) -> tuple[Numbers, Numbers]:
        return distinct(self._told("low_hz"), len(self.parts))

    @property
    def reach(self) -> Numbers:
        """By part: a number for its lower end, the same for all that reach as low."""
        return self._reach[1]

    def low_points(self, scoring: Scoring) -> Numbers:
        """By part: the points for how low it reaches, worked out once for the same wishes."""
        if scoring.wishes not in self._low_points:
            first, number = self._reach
            points = np.array([scoring.low(self.cell("low_hz", row)) for row in first.tolist()], np.int64)
            self._low_points[scoring.wishes] = points[number]
        return self._low_points[scoring.wishes]

    def cell(self, name: str, row: int) -> Decimal | None:
        """A figure of a part."""
        found: Decimal | None = cell(self.parts.cells[name], row)
        return found

    def word(self, name: str, row: int) -> str | None:
        """A word of a part."""
        column = self.parts.cells[name]
        return word_of(column.values[row]) if column.values[row] >= 0 else None


@dataclass
class SpeakersAt:
    """The loudspeakers that go into an opening."""

    sound: Sound
    mountings: Mountings

    def merits(self, rows: Numbers, scoring: Scoring) -> Merits:
        """What some of the ways in are held against each other by."""
        at, part = self.mountings, self.mountings.part[rows]
        open_ = ~at.sure[rows]
        weight = scoring.settings["points_level"] * scoring.wishes.loudness
        return Merits(
            group=self.sound.signature[part],
            part=part,
            points=self.sound.low_points(scoring)[part] + points_at(scoring, at.taken[rows], at.cents[rows], open_),
            cents=at.cents[rows],
            open=open_,
            name=at.names[rows],
            high=np.maximum(self.sound.level[part], -1),
            low=np.zeros(len(rows), np.int64),
            doubt=scoring.unknown(True),
            mix=float(weight),
        )

    def table(self, found: Fitted, place: SpeakerPlace, scoring: Scoring) -> CandidateTable:
        """Loudspeakers, each through an adapter, as the ranking reads them."""
        at, sound, part = self.mountings, self.sound, found.part
        kinds, group = np.unique(sound.signature[part], return_inverse=True)
        unsure = ~at.sure[found.row]
        return CandidateTable(
            points=sound.low_points(scoring)[part] + points_at(scoring, at.taken[found.row], found.cents, unsure),
            cents=found.cents,
            uses=None,
            doubt=unsure,
            open=unsure,
            group=group.reshape(-1),
            classes=[sound.signatures[kind] for kind in kinds.tolist()],
            level=sound.level[part],
            goods=part,
            candidates=MadeWhenAsked(len(part), lambda one: self.candidate(*found.at(one), place, scoring)),
        )

    def candidate(self, row: int, adapter: dict[str, Any], place: SpeakerPlace, scoring: Scoring) -> Candidate:
        """A way in through an adapter, as a candidate."""
        sound, part, step = self.sound, int(self.mountings.part[row]), int(self.mountings.taken[row])
        unsure = not self.mountings.sure[row]
        cost = cost_of(place.count, money_of(sound.parts, part), adapter, scoring)
        low_hz = sound.cell("low_hz", part)
        return Candidate(
            slot="speaker",
            opening_id=place.opening_id,
            part_id=str(sound.parts.part_ids[part]),
            adapter_id=adapter["adapter_id"],
            step=step,
            unsure=unsure,
            cost=cost,
            points=(("bass", scoring.low(low_hz)), *points_of(scoring, step, cost, unsure=unsure)),
            signature=sound.signatures[sound.signature[part]],
            level_cdb=sound.level_of(part),
            low_hz=low_hz,
        )
