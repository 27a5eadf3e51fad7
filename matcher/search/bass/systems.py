"""Every bass system of a job: drivers in boxes at its cargo spaces, priced and scored."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from matcher.rules.rule import FITS
from matcher.search.bass.boxes import Made, MadeShape, Pair, made_boxes, sweep_pairs, workshop
from matcher.search.bass.figures import BassSide, BassSystem, Boxed, Row, levels_of, nets_by_load, terms_of
from matcher.search.candidates.common import NO_ADAPTER, cost_of, points_of
from matcher.search.feeds.parts import Candidate, Cost, SpeakerSignature, cents
from matcher.search.fits.place import Place
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import BassPlace, JobQuestion
from matcher.search.scoring import Scoring
from matcher.settings import Settings
from matcher.store.connection import Connection

DRIVER = (
    "part_id",
    "price",
    "pack_of",
    "labour_h",
    "displaces_l",
    "outer_mm",
    "coils",
    "coil_ohm",
    "rms_w",
    "fs_hz",
    "qts",
    "qes",
    "vas_l",
    "sd_cm2",
    "xmax_mm",
)
BOX = ("part_id", "price", "pack_of", "labour_h", "net_l", "kind", "tuned_hz")


def bass_side(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, k: int) -> BassSide:
    """Every bass system for the job's cargo spaces."""
    systems = [one for place in question.bass for one in systems_at(sweeps, question, place, scoring)]
    return BassSide(systems, k, scoring.unknown(True), tuple(place.opening_id for place in question.bass))


def systems_at(sweeps: Sweeps, question: JobQuestion, bass: BassPlace, scoring: Scoring) -> Iterator[BassSystem]:
    """Drivers and boxes that go into one cargo space together."""
    place = Place("cargo", "enclosure", question.job.vehicle_id, bass.opening_id, bass.allowed)
    if not sweeps.may_hold(place):
        return
    drivers, boxes, made, pairs = sweeps.once((place, "bass"), lambda: _read(sweeps.con, place, sweeps.settings))
    shapes = dict(zip(made.drivers_of, made.shapes, strict=True))
    maker = _Maker(bass.opening_id, scoring, drivers, boxes, shapes)
    for pair in pairs:
        if _by_load_is_known(pair, drivers):
            yield maker.system(pair)


def _by_load_is_known(pair: Pair, drivers: dict[str, Row]) -> bool:
    """Whether there is a net for so many drivers with so many coils."""
    return bool(nets_by_load(pair.drivers, drivers[pair.driver_id]["coils"]))


def _read(con: Connection, place: Place, settings: Settings) -> tuple[dict[str, Row], dict[str, Row], Made, list[Pair]]:
    drivers, boxes = rows_of(con, "subwoofer", DRIVER), rows_of(con, "enclosure", BOX)
    made = made_boxes(list(drivers.values()), workshop(con, place, settings), settings)
    return drivers, boxes, made, sweep_pairs(con, place, made, settings)


def rows_of(con: Connection, family: str, columns: Sequence[str]) -> dict[str, Row]:
    """A family's parts by their name."""
    rows = con.execute(f"SELECT {', '.join(columns)} FROM {family} ORDER BY part_id").fetchall()
    return {row[0]: dict(zip(columns, row, strict=True)) for row in rows}


def with_points(one: Candidate) -> tuple[Candidate, int]:
    """A candidate with all its points: many systems share it."""
    return one, one.total_points


@dataclass
class _Maker:
    """Makes systems of pairs; what several share is made once."""

    opening_id: str
    scoring: Scoring
    drivers: dict[str, Row]
    boxes: dict[str, Row]
    shapes: dict[tuple[str, int], MadeShape]
    _made: dict[object, Any] = field(default_factory=dict)

    def system(self, pair: Pair) -> BassSystem:
        """One pair with what it costs, earns and gives."""
        row, shape = self.drivers[pair.driver_id], None
        if pair.box_id is None:
            shape = self.shapes[pair.driver_id, pair.drivers]
            boxed = Boxed("sealed", None if shape.net_l is None else Decimal(str(round(shape.net_l, 6))), None)
            box, box_points = with_points(self._made_box(pair, shape))
        else:
            bought = self.boxes[pair.box_id]
            boxed = Boxed(bought["kind"], bought["net_l"], bought["tuned_hz"])
            box, box_points = self._once(("box", pair.box_id), lambda: with_points(self._box(pair, bought)))
        key = (pair.driver_id, pair.drivers, pair.code)
        driver, points = self._once(key, lambda: with_points(self._driver(pair, row)))
        terms = self._once(pair.driver_id, lambda: terms_of(row))
        at_1w, travel = self._once((pair.driver_id, pair.drivers, boxed), lambda: levels_of(terms, pair.drivers, boxed))
        return BassSystem(
            driver=driver,
            box=box,
            drivers=pair.drivers,
            at_1w_cdb=at_1w,
            travel_cdb=travel,
            terms=terms,
            boxed=boxed,
            shape=shape,
            cents=driver.cents + box.cents,
            points=points + box_points,
            unsure=driver.unsure or box.unsure,
        )

    def _once(self, key: object, make: Any) -> Any:
        if key not in self._made:
            self._made[key] = make()
        return self._made[key]

    def _driver(self, pair: Pair, row: Row) -> Candidate:
        cost = cost_of(pair.drivers, (row["price"], row["pack_of"], row["labour_h"]), NO_ADAPTER, self.scoring)
        signature = SpeakerSignature(row["coil_ohm"], row["coils"], pair.drivers * row["rms_w"])
        return self._candidate("bass", pair.driver_id, pair.step, pair.code != FITS, cost, signature, look=False)

    def _box(self, pair: Pair, row: Row) -> Candidate:
        cost = cost_of(1, (row["price"], row["pack_of"], row["labour_h"]), NO_ADAPTER, self.scoring)
        return self._candidate("enclosure", pair.box_id, pair.step, pair.box_code != FITS, cost, None)

    def _made_box(self, pair: Pair, shape: MadeShape) -> Candidate:
        settings = self.scoring.settings
        boards = cents(Decimal(str(round(shape.area_m2, 6))) * settings["board_price_m2"])
        labour = cents(settings["made_box_labour_h"] * settings["labour_rate"])
        cost = Cost(1, 1, 0, boards, labour)
        return self._candidate("enclosure", None, pair.step, pair.box_code != FITS, cost, None)

    def _candidate(
        self,
        slot: str,
        part_id: str | None,
        step: int,
        unsure: bool,
        cost: Cost,
        signature: SpeakerSignature | None,
        *,
        look: bool = True,
    ) -> Candidate:
        return Candidate(
            slot=slot,
            opening_id=self.opening_id,
            part_id=part_id,
            step=step,
            unsure=unsure,
            cost=cost,
            points=points_of(self.scoring, step if look else 0, cost, unsure=unsure),
            signature=signature,
        )
