"""Loudspeakers for a place, priced and scored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property

import numpy as np

from catalog_schema.jobs import Wishes
from matcher.formulas.air import AIR, HEARING_PA
from matcher.formulas.relations import pressure_pa
from matcher.kernel.columns import Column, row_keys, word_of
from matcher.kernel.distinct import Numbers, distinct
from matcher.kernel.exact import MICRO, both, floating
from matcher.rules.rule import FITS
from matcher.search.candidates.common import SlotCandidates, cost_of, points_at, points_of
from matcher.search.candidates.table import CandidateTable, MadeWhenAsked, Tabled
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts, cell, money_of
from matcher.search.feeds.parts import BOUNDLESS, Candidate, SpeakerSignature
from matcher.search.fits.families import mountings_at
from matcher.search.fits.feasible import Mountings
from matcher.search.fits.mounted import FittedParts, Merits, kept, tallies
from matcher.search.fits.place import LOOSEST, CandidatePass, Place, is_allowed
from matcher.search.question import JobQuestion, SpeakerPlace
from matcher.search.scoring import NOT_KNOWN, Scoring, level_at_1w_cdb

SIGNATURE = ("impedance_ohm", "coils", "rms_w")
SOUND = ("sens_db", "sens_basis", "impedance_ohm")
BAND, CONE = ("low_hz", "high_hz"), ("sd_cm2", "xmax_mm", "low_hz")


def speakers(
    catalog: Catalog, question: JobQuestion, place: SpeakerPlace, scoring: Scoring, look: CandidatePass
) -> SlotCandidates:
    """Return loudspeakers for a place within its allowed step."""
    scoring = at_place(scoring, place)
    at = speakers_at(catalog, question, place)
    rows = np.flatnonzero(is_allowed(at.mountings.taken, place.allowed))
    counts = tallies(at.mountings, rows, at.mountings.code == FITS, at.sound.signature)
    found = kept(at.mountings, rows, at.merits(rows, scoring), look)
    signatures = at.sound.signatures
    return SlotCandidates(
        Tabled(at.table(found, place, scoring)), {signatures[number]: one for number, one in counts.items()}
    )


def at_place(scoring: Scoring, place: SpeakerPlace) -> Scoring:
    """Return the points of the loudspeakers of a place."""
    return scoring.at_place(is_rear=place.is_rear, over_bass=place.over_bass)


def speakers_at(catalog: Catalog, question: JobQuestion, place: SpeakerPlace) -> SpeakersAt:
    """Return loudspeakers for an opening at any alteration, for trade-offs and what-ifs beyond the allowed step."""
    opening = Place("speaker", "speaker", question.job.vehicle_id, place.opening_id, LOOSEST)
    sound: Sound = catalog.once("sound", lambda: Sound(catalog.parts("speaker")))
    return SpeakersAt(sound, mountings_at(catalog, opening, place.count))


@dataclass
class Sound:
    """Electrical class, level and range of each loudspeaker."""

    parts: Parts
    _band_points: dict[tuple[Wishes, Decimal, bool], Numbers] = field(default_factory=dict)
    _travels: dict[bool, Numbers] = field(default_factory=dict)

    @cached_property
    def _alike(self) -> tuple[Numbers, Numbers]:
        coils = self.parts.cells["coils"]
        columns = [column for name in SIGNATURE if name != "coils" for column in self._keys(name)]
        columns.append(np.where(coils.known, coils.values, 1_000_000))
        return distinct(columns, len(self.parts))

    def _keys(self, name: str) -> list[Numbers]:
        return row_keys(self.parts.cells[name])

    @property
    def signature(self) -> Numbers:
        """Index into `signatures`, by part."""
        return self._alike[1]

    @cached_property
    def signatures(self) -> list[SpeakerSignature]:
        """Every electrical class of them."""
        return [self.signature_of(row) for row in self._alike[0].tolist()]

    def signature_of(self, row: int) -> SpeakerSignature:
        """Return the electrical class of a part."""
        impedance_ohm, coils, rms_w = (cell(self.parts.cells[name], row) for name in SIGNATURE)
        return SpeakerSignature(impedance_ohm, int(coils or 1), rms_w)

    @cached_property
    def level(self) -> Numbers:
        """Level of each part at 1 W in hundredths of a decibel; `NOT_KNOWN` if unknown."""
        first, number = distinct([column for name in SOUND for column in self._keys(name)], len(self.parts))
        levels = (self.level_of(row) for row in first.tolist())
        return np.array([NOT_KNOWN if level is None else level for level in levels], np.int64)[number]

    def level_of(self, row: int) -> int | None:
        """Return the level of a part at 1 W."""
        return level_at_1w_cdb(self.cell("sens_db", row), self.word("sens_basis", row), self.cell("impedance_ohm", row))

    @cached_property
    def _bands(self) -> tuple[Numbers, Numbers]:
        return distinct([column for name in BAND for column in self._keys(name)], len(self.parts))

    @property
    def band(self) -> Numbers:
        """Number of each part's band, equal for equal lower and upper ends."""
        return self._bands[1]

    def band_points(self, scoring: Scoring) -> Numbers:
        """Return the points for the range of each part, cached by wishes."""
        key = scoring.wishes, scoring.place_weight, scoring.over_bass
        if key not in self._band_points:
            first, number = self._bands
            bands = ((self.cell("low_hz", row), self.cell("high_hz", row)) for row in first.tolist())
            points = np.array([scoring.low(low) + scoring.treble(high) for low, high in bands], np.int64)
            self._band_points[key] = points[number]
        return self._band_points[key]

    def travel(self, scoring: Scoring) -> Numbers:
        """Level limit of each part by travel at its high-pass, in hundredths of a decibel.

        `BOUNDLESS` if area or travel is unknown, or if its rated power gives less.
        """
        if scoring.over_bass not in self._travels:
            first, number = distinct([column for name in CONE for column in self._keys(name)], len(self.parts))
            travel = travel_levels(self.parts.cells, first, scoring)[number]
            self._travels[scoring.over_bass] = np.where(travel < self._loudest, travel, BOUNDLESS)
        return self._travels[scoring.over_bass]

    @cached_property
    def _loudest(self) -> Numbers:
        """Level of each part at its rated power; `BOUNDLESS` if unknown."""
        rated = self.parts.cells["rms_w"]
        is_known = np.asarray(rated.known) & (rated.values > 0) & (self.level > NOT_KNOWN)
        gain = np.rint(1000 * np.log10(np.where(is_known, rated.values, MICRO) / MICRO)).astype(np.int64)
        return np.where(is_known, self.level + gain, BOUNDLESS)

    def cell(self, name: str, row: int) -> Decimal | None:
        """A figure of a part."""
        found: Decimal | None = cell(self.parts.cells[name], row)
        return found

    def word(self, name: str, row: int) -> str | None:
        """A word of a part."""
        column = self.parts.cells[name]
        return word_of(column.values[row]) if column.values[row] >= 0 else None


def travel_levels(cells: Mapping[str, Column], rows: Numbers, scoring: Scoring) -> Numbers:
    """Level limit of some rows by travel at their high-pass, by `output.travel_level_db`; `BOUNDLESS` if unknown."""
    area, travel, low = (cells[name] for name in CONE)
    plays = [scoring.high_pass_hz(cell(low, row)) for row in rows.tolist()]
    peak_l = floating(area.values[rows]) * floating(travel.values[rows]) * 1e-4
    both_known = np.broadcast_to(both(area.known, travel.known), area.values.shape)
    is_known = both_known[rows] & (peak_l > 0)
    pressure = pressure_pa(np.where(is_known, peak_l, 1), np.array(plays, np.float64), AIR.rho_kg_m3)
    return np.where(is_known, np.rint(2000 * np.log10(pressure / HEARING_PA)), BOUNDLESS).astype(np.int64)


@dataclass
class SpeakersAt:
    """The loudspeakers that fit an opening."""

    sound: Sound
    mountings: Mountings

    def merits(self, rows: Numbers, scoring: Scoring) -> Merits:
        """Figures by which some of the feasible mountings are compared."""
        at, part = self.mountings, self.mountings.part[rows]
        code = at.code[rows]
        weight = scoring.settings["points_level"] * scoring.wishes.loudness * scoring.place_weight
        return Merits(
            group=self.sound.signature[part],
            part=part,
            points=self.sound.band_points(scoring)[part] + points_at(scoring, at.taken[rows], at.cents[rows], code),
            cents=at.cents[rows],
            open=code != FITS,
            name=at.names[rows],
            high=np.maximum(self.sound.level[part], -1),
            low=-self.sound.travel(scoring)[part],
            lost=replace(scoring, hopeful=False).losses[code],
            mix=float(weight),
        )

    def table(self, found: FittedParts, place: SpeakerPlace, scoring: Scoring) -> CandidateTable:
        """Loudspeakers, each through an adapter, as the ranking reads them."""
        at, sound, part = self.mountings, self.sound, found.part
        kinds, group = np.unique(sound.signature[part], return_inverse=True)
        code = at.code[found.row]
        return CandidateTable(
            points=sound.band_points(scoring)[part] + points_at(scoring, at.taken[found.row], found.cents, code),
            cents=found.cents,
            uses=None,
            code=code,
            open=code != FITS,
            group=group.reshape(-1),
            classes=[sound.signatures[kind] for kind in kinds.tolist()],
            level=sound.level[part],
            travel=sound.travel(scoring)[part],
            goods=part,
            cause=found.cause,
            ids=found.ids(sound.parts.part_ids, at),
            candidates=MadeWhenAsked(
                len(part), lambda one: self.candidate(found.row[one], found.adapter[one], place, scoring)
            ),
        )

    def candidate(self, row: int, adapter: int, place: SpeakerPlace, scoring: Scoring) -> Candidate:
        """A mounting through an adapter as a candidate."""
        sound, part, step = self.sound, int(self.mountings.part[row]), int(self.mountings.taken[row])
        code = int(self.mountings.code[row])
        sold, through = money_of(sound.parts, part), self.mountings.interfaces.sold(adapter)
        cost = cost_of(place.count, sold, through, scoring, self.mountings.kit)
        low_hz, high_hz = (sound.cell(name, part) for name in BAND)
        heard = (("bass", scoring.low(low_hz)), ("loudness", scoring.treble(high_hz)))
        return Candidate(
            slot="speaker",
            opening_id=place.opening_id,
            part_id=str(sound.parts.part_ids[part]),
            adapter_id=self.mountings.interfaces.adapter_id(adapter),
            step=step,
            code=code,
            cost=cost,
            points=(*heard, *points_of(scoring, step, cost, code)),
            signature=sound.signatures[sound.signature[part]],
            level_cdb=sound.level_of(part),
            travel_cdb=int(sound.travel(scoring)[part]),
            low_hz=low_hz,
            high_hz=high_hz,
            kit=self.mountings.kit,
        )
