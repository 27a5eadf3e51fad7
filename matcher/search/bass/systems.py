"""What there is for bass at the cargo spaces of a job: read once, then priced and scored."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from matcher.rules.rule import FITS
from matcher.search.bass.boxes import Made, MadeShape, made_boxes, workshop
from matcher.search.bass.figures import BassSystem, nets_by_load
from matcher.search.bass.levels import Boxed, DriverTerms, Row, levels_of, terms_of
from matcher.search.bass.mates import MadePair, Mates, Met, Stood, read_mates
from matcher.search.bass.shelves import BoxAt, Member, Shelf
from matcher.search.bass.side import BassSide
from matcher.search.bass.stock import Stock
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
    "size_in",
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


def bass_side(sweeps: Sweeps, question: JobQuestion, scoring: Scoring) -> BassSide:
    """Every bass system for the job's cargo spaces."""
    stocks = (stock_at(sweeps, question, place, scoring) for place in question.bass)
    return BassSide([stock for stock in stocks if stock is not None])


def stock_at(sweeps: Sweeps, question: JobQuestion, bass: BassPlace, scoring: Scoring) -> Stock | None:
    """Drivers and boxes that go into one cargo space together; none where nothing may be fastened there."""
    place = Place("cargo", "enclosure", question.job.vehicle_id, bass.opening_id, bass.allowed)
    if not sweeps.may_hold(place):
        return None
    goods = sweeps.once((place, "bass"), lambda: _read(sweeps.con, place, sweeps.settings))
    stock: Stock = sweeps.once((place, "bass", scoring.wishes), lambda: _Maker(bass.opening_id, scoring, goods).stock())
    return stock


Kind = tuple[Decimal, int]
"""Which boxes are on one shelf: for drivers of which size, and for how many."""


@dataclass(frozen=True)
class Goods:
    """What was read of a cargo space."""

    drivers: Mapping[str, Row]
    terms: Mapping[str, DriverTerms]
    mates: Mates
    made: Made
    sounds: Mapping[Kind, Mapping[Boxed, int]]
    """By shelf: its boxes as far as they differ in sound, by their position."""


def _read(con: Connection, place: Place, settings: Settings) -> Goods:
    drivers = rows_of(con, "subwoofer", DRIVER)
    made = made_boxes(list(drivers.values()), workshop(con, place, settings), settings)
    mates = read_mates(con, place, made, settings)
    terms = {part_id: terms_of(row) for part_id, row in drivers.items()}
    sounds: dict[Kind, dict[Boxed, int]] = {}
    for box in mates.boxes:
        shelf = sounds.setdefault((box.size_in, box.drivers), {})
        shelf.setdefault(boxed_of(box), len(shelf))
    return Goods(drivers, terms, mates, made, sounds)


def rows_of(con: Connection, family: str, columns: Sequence[str]) -> dict[str, Row]:
    """A family's parts by their name."""
    rows = con.execute(f"SELECT {', '.join(columns)} FROM {family} ORDER BY part_id").fetchall()
    return {row[0]: dict(zip(columns, row, strict=True)) for row in rows}


def boxed_of(box: Stood) -> Boxed:
    """A box of the catalog as far as sound goes."""
    return Boxed(box.kind, box.net_l, box.tuned_hz)


@dataclass
class _Maker:
    """Prices and scores what was read; what several systems share is made once."""

    opening_id: str
    scoring: Scoring
    goods: Goods
    _made: dict[object, Any] = field(default_factory=dict)

    def _once(self, key: object, make: Callable[[], Any]) -> Any:
        if key not in self._made:
            self._made[key] = make()
        return self._made[key]

    def stock(self) -> Stock:
        """All that was read of the cargo space."""
        goods = self.goods
        shapes = dict(zip(goods.made.drivers_of, goods.made.shapes, strict=True))
        wired = (pair for pair in goods.mates.made if self._nets(pair.driver_id, pair.drivers))
        made = [self._made_system(pair, shapes[pair.driver_id, pair.drivers]) for pair in wired]
        shelves = {kind: self._shelf(*kind) for kind in goods.sounds}
        members = [member for met in goods.mates.met for member in self._members(met, shelves)]
        return Stock(self.opening_id, members, made)

    def _nets(self, part_id: str, drivers: int) -> bool:
        """Whether there is a net for so many drivers with so many coils."""
        return bool(nets_by_load(drivers, self.goods.drivers[part_id]["coils"]))

    def _shelf(self, size_in: Decimal, drivers: int) -> Shelf:
        sounds = self.goods.sounds[size_in, drivers]
        some = (one for one in self.goods.mates.boxes if (one.size_in, one.drivers) == (size_in, drivers))
        boxes = []
        for one in some:
            box = self._box(one)
            boxes.append(
                BoxAt(box.cents, one.part_id, box.total_points, box.unsure, one.place, sounds[boxed_of(one)], one)
            )
        return Shelf(self.opening_id, drivers, sorted(boxes, key=lambda box: box[:2]), list(sounds))

    def _members(self, met: Met, shelves: Mapping[Kind, Shelf]) -> Iterator[Member]:
        size_in = self.goods.drivers[met.driver_id]["size_in"]
        for (size, drivers), shelf in shelves.items():
            if size == size_in and shelf.meets(met.can) and self._nets(met.driver_id, drivers):
                driver = self._driver(met.driver_id, drivers, 0, False)
                yield Member(
                    part_id=met.driver_id,
                    shelf=shelf,
                    signature=self._signature(met.driver_id, drivers),
                    cents=driver.cents,
                    points=driver.total_points,
                    can=met.can,
                    sure=met.sure,
                    terms=self.goods.terms[met.driver_id],
                    make=self.bought,
                )

    def bought(self, member: Member, at: BoxAt, is_open: bool) -> BassSystem:
        """Drivers in a box of the catalog."""
        box = self._box(at.bought)
        driver = self._driver(member.part_id, member.shelf.drivers, box.step, is_open)
        return self._system(driver, box, member.part_id, member.shelf.drivers, member.shelf.sounds[at.sound], None)

    def _made_system(self, pair: MadePair, shape: MadeShape) -> BassSystem:
        """Drivers in a box made to measure."""
        net_l = None if shape.net_l is None else Decimal(str(round(shape.net_l, 6)))
        driver = self._driver(pair.driver_id, pair.drivers, pair.step, pair.code != FITS)
        box = self._made_box(pair, shape)
        return self._system(driver, box, pair.driver_id, pair.drivers, Boxed("sealed", net_l, None), shape)

    def _system(
        self,
        driver: Candidate,
        box: Candidate,
        part_id: str,
        drivers: int,
        boxed: Boxed,
        shape: MadeShape | None,
    ) -> BassSystem:
        terms = self.goods.terms[part_id]
        at_1w, travel = self._once((part_id, drivers, boxed), lambda: levels_of(terms, drivers, boxed))
        return BassSystem(
            driver=driver,
            box=box,
            drivers=drivers,
            at_1w_cdb=at_1w,
            travel_cdb=travel,
            terms=terms,
            boxed=boxed,
            shape=shape,
            cents=driver.cents + box.cents,
            points=driver.total_points + box.total_points,
            unsure=driver.unsure or box.unsure,
        )

    def _driver(self, part_id: str, drivers: int, step: int, unsure: bool) -> Candidate:
        key = (part_id, drivers, step, unsure)
        candidate: Candidate = self._once(key, lambda: self._new_driver(*key))
        return candidate

    def _new_driver(self, part_id: str, drivers: int, step: int, unsure: bool) -> Candidate:
        row = self.goods.drivers[part_id]
        cost = cost_of(drivers, (row["price"], row["pack_of"], row["labour_h"]), NO_ADAPTER, self.scoring)
        signature = self._signature(part_id, drivers)
        return self._candidate("bass", part_id, step, unsure, cost, signature, look=False)

    def _signature(self, part_id: str, drivers: int) -> SpeakerSignature:
        row = self.goods.drivers[part_id]
        key = (row["coil_ohm"], row["coils"], drivers, row["rms_w"])
        signature: SpeakerSignature = self._once(key, lambda: SpeakerSignature(*key[:2], drivers * row["rms_w"]))
        return signature

    def _box(self, box: Stood) -> Candidate:
        def make() -> Candidate:
            cost = cost_of(1, (box.price, box.pack_of, box.labour_h), NO_ADAPTER, self.scoring)
            return self._candidate("enclosure", box.part_id, box.step, box.code != FITS, cost, None)

        candidate: Candidate = self._once(("box", box.part_id), make)
        return candidate

    def _made_box(self, pair: MadePair, shape: MadeShape) -> Candidate:
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
