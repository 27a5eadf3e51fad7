"""Small random catalogs whose parts go into one car in known ways, and random jobs on it.

How a part goes into an opening hangs on its figures alone, so each body below is asked of the shop
once; everything electric, every price and every wish is drawn anew for each town.
"""

from __future__ import annotations

import json
from dataclasses import fields
from decimal import Decimal
from functools import cached_property
from itertools import islice
from random import Random
from typing import Any

from catalog_schema.checks import Fit
from catalog_schema.jobs import LADDER, Job
from catalog_schema.nested import ORIGINALS
from matcher.rules.rule import FITS, rule_named
from matcher.search.catalog.catalog import Catalog
from matcher.search.options import JobRanking, rank, sum_limits
from matcher.search.packages import Found
from matcher.search.ranking import packages_of
from matcher.settings import Settings
from matcher.shop.base import shop_settings
from matcher.store.database.kept_documents import stored_job
from matcher.store.documents.saving import save_job
from tests.factories import (
    Bench,
    Row,
    adapter,
    amp_spot,
    amplifier,
    dash_kit,
    dash_opening,
    head_unit,
    oval_opening,
    oval_speaker,
    part,
    plain,
    speaker,
    speaker_opening,
    vehicle,
)
from tests.search.oracle import Town

METAL = {"w_mm": 172, "h_mm": 172, "material": "steel", "piece": "body"}
SPARE = {"w_mm": 182, "h_mm": 60, "material": "trim", "piece": "spare"}

CAR = [
    dash_opening(cut=SPARE),
    speaker_opening(opening_id="door", cut=METAL),
    oval_opening(opening_id="shelf", position="rear"),
    speaker_opening(opening_id="centre", count=1),
    amp_spot(opening_id="boot", w_mm=500),
    amp_spot(opening_id="seat"),
]
"""A dash with a spare surround, doors that could be cut, a shelf, one centre place, two spots."""

SUPPLY = {"charge_a": 200, "charge_idle_a": 180, "base_load_a": 30, "battery_ah": 70}
"""Charging that no amplifier of these towns exhausts: what it limits has tests of its own."""

HEADS: dict[str, Row] = {
    "flat": {},
    "deep": {"body_d_mm": 109},  # 1 mm to spare with 2 mm of tolerance
    "tall": {"body_h_mm": 58, "face_h_mm": 66},  # through the spare surround
    "heavy": {"mass_kg": 2},  # a strap, drilled
    "vast": {"body_w_mm": 250},
}
SPEAKERS: dict[str, Row] = {
    "plain": {},
    "large": {"cutout_w_mm": 165, "flange_w_mm": 180, "bolt_circle_mm": 156},  # metal cut
    "askew": {"bolt_circle_mm": 165},  # drilled
    "small": {"cutout_w_mm": 120, "flange_w_mm": 138, "bolt_circle_mm": 110},  # through the ring
    "deep": {"depth_mm": 66},  # 1 mm to spare with 1.5 mm of tolerance
    "dark": {"depth_mm": None},
}
AMPLIFIERS: dict[str, Row] = {
    "slim": {},
    "wide": {"w_mm": 400},  # the boot alone
    "dark": {"h_mm": None},
    "vast": {"w_mm": 900, "d_mm": 900},
}


def drawn_head(draw: Random) -> Row:
    return {
        "amp_channels": draw.choice([None, 0, 2, 4, 4, 4]),
        "amp_w": draw.choice([None, 15, 22.5, 30, 30]),
        "amp_min_ohm": draw.choice([None, 2, 2, 4, 4]),
        "preouts": draw.choice([None, 0, 1, 2, 4, 4, 4]),
        "preout_v": draw.choice([None, 2, 2, 2, 4]),
        "standby_ma": draw.choice([None, 1, 1, 1, 5]),
        "screen": draw.choice(["none", "flush", "flush", "flush"]),
        "screen_in": draw.choice([None, 6.2, 7, 9]),
        "features": draw.choice([None, [], ["radio"], ["radio", "mirror"], ["mirror", "radio"]]),
    }


def drawn_speaker(draw: Random) -> Row:
    return {
        "impedance_ohm": draw.choice([2, 3, 4, 4, 4, 6, 8]),
        "coils": draw.choice([1, 1, 1, 2, 2, 4]),
        "rms_w": draw.choice([20, 30, 30, 40, 50]),
        "sens_db": draw.choice([None, 88, 90, 90, 91.5]),
        "sens_basis": draw.choice([None, "1w", "1w", "2v83"]),
        "low_hz": draw.choice([None, 50, 60, 60, 200, 250]),
        "high_hz": draw.choice([None, 12_000, 18_000]),
        "sd_cm2": draw.choice([None, 80, 140, 900]),
        "pack_of": draw.choice([1, 1, 2]),
    }


def drawn_amplifier(draw: Random) -> Row:
    return {
        "full_channels": draw.choice([2, 4, 4, 6]),
        "full_w_4ohm": draw.choice([None, 30, 40, 40, 50]),
        "full_w_2ohm": draw.choice([None, 40, 60, 60, 80]),
        "full_min_ohm": draw.choice([None, 1, 2, 2, 4]),
        "full_bridged_w_4ohm": draw.choice([None, 30, 40, 60]),
        "full_bridged_min_ohm": draw.choice([None, 3, 4]),
        "power_basis": draw.choice(["rms", "rms", "cta2006", "peak", None]),
        "input_min_v": draw.choice([None, 0.2, 0.2, 2, 2.5]),
        "input_max_v": draw.choice([None, 2, 4, 4, 5]),
        "high_level_in": draw.choice([None, True, False]),
        "standby_ma": draw.choice([None, 0, 0, 10, 30]),
        "current_a": 40,  # no power is bounded by it: that has tests of its own
    }


def drawn_original(draw: Random, kind: str) -> Row:
    """The factory equipment of an opening."""
    drawn = {"dash": drawn_head, "speaker": drawn_speaker, "amp_spot": drawn_amplifier}[kind](draw)
    return {one.name: drawn[one.name] for one in fields(ORIGINALS[kind]) if one.name in drawn}


def drawn_aid(draw: Random) -> Row:
    return {
        "kind": draw.choice(["line_driver", "line_output_converter"]),
        "gives": draw.choice([["line_output"], ["line_2v"], ["line_output", "line_2.5v"], ["line_8v"]]),
        "needs": draw.choice([None, [], ["line_output"], ["speaker_output"], ["mirror", "line_output"]]),
        "standby_ma": draw.choice([None, 0, 0, 10]),
    }


def priced(draw: Random) -> Row:
    """Few prices, so that ties are common."""
    return {"price": draw.choice([20, 30, 30, 45.55, 60]), "labour_h": draw.choice([None, 0, 0.5, 1.25])}


class Store(Bench):
    """A shop in memory whose towns come and go; what each body does at each opening is asked once."""

    def __init__(self) -> None:
        super().__init__()
        self.con.execute("set threads = 1")  # a handful of rows is done before a second thread has started
        self._alone: dict[tuple[object, ...], tuple[int, int] | None] = {}
        self._bodies: dict[str, tuple[str, str, int | None]] = {}

    def settle(self, seed: int, times: int = 1) -> Settled:
        """A random catalog and car in place of what was there; of so many times the usual parts."""
        draw = Random(seed)
        car = draw.choice(["negative"] * 5 + [None])
        openings = [dict(row) for row in CAR]
        for row in openings:
            if row["kind"] == "speaker":
                row["factory_ohm"] = draw.choice([None, 4, 4, 8])
            if draw.random() < 0.5:
                row["original"] = drawn_original(draw, row["kind"])
        parts = list(self._parts(draw, times))
        draw.shuffle(parts)
        self.lay_town(parts, openings, ground=car, labour_rate=draw.choice([None, 40]))
        return Settled(self, parts, openings, car)

    def lay_town(
        self,
        parts: list[Row],
        openings: list[Row],
        ground: str | None = "negative",
        labour_rate: Decimal | int | None = None,
        **supply: int,
    ) -> Settled:
        """A catalog and a car in place of what was there."""
        self.clear()
        self.lay(*parts, vehicle(*openings, electrical=SUPPLY | {"system_v": 12, "ground": ground} | supply))
        self.set("place_weight.rear", 1)  # the oracles know no other; what a place weighs has tests of its own
        if labour_rate is not None:
            self.set("labour_rate", labour_rate)
        return Settled(self, parts, openings, ground)

    def clear(self) -> None:
        for (name,) in self.con.execute("select table_name from duckdb_tables()").fetchall():
            self.con.execute(f'delete from "{name}"')

    def _parts(self, draw: Random, times: int) -> Any:
        families = (
            ("head_unit", head_unit, HEADS, drawn_head, (2, 4)),
            ("amplifier", amplifier, AMPLIFIERS, drawn_amplifier, (1, 3)),
            ("speaker", speaker, SPEAKERS, drawn_speaker, (3, 5)),
        )
        for family, make, bodies, electric, (least, most) in families:
            for number in range(times * draw.randint(least, most) if draw.random() < 0.95 else 0):
                body = draw.choice([*bodies, *list(bodies)[:1] * 3])
                own = bodies[body] | electric(draw) | priced(draw)
                yield self._named(make(**own | {"part_id": f"{family[0]}{number}"}), body)
        for number in range(times * draw.choice([0, 1, 2, 2])):
            own = drawn_speaker(draw) | priced(draw)
            yield self._named(oval_speaker(**own | {"part_id": f"o{number}"}), "oval")
        if draw.random() < 0.6:
            yield self._named(adapter(**priced(draw) | {"part_id": "ring", "pack_of": draw.choice([1, 2])}), "ring")
        for number in range(draw.choice([0, 0, 1, 2])):
            own = drawn_aid(draw) | priced(draw)
            yield part("accessory", **own | {"part_id": draw.choice(["ai!", "aid", "b"]) + str(number)})
        if draw.random() < 0.3:
            yield self._named(dash_kit(**priced(draw)), "kit")

    def _named(self, row: Row, body: str) -> Row:
        self._bodies[row["part_id"]] = (row["family"], body, row.get("coils"))
        return row

    def alone(self, ground: str | None, place: str, row: Row, through: Row | None) -> tuple[int, int] | None:
        """How a part goes in by itself: its least step, and the worst that is said of it; none where it never goes."""
        kind = next(opening["kind"] for opening in CAR if opening["opening_id"] == place)
        if through is not None and through["for"] != kind:
            return None
        family, body, coils = self._bodies[row["part_id"]]
        hangs_on = coils if place == "centre" else None if family == "speaker" else ground
        key = (hangs_on, place, family, body, through["part_id"] if through else None)
        if key not in self._alone:
            name = through["part_id"] if through else None
            fit = self.fit(row["part_id"], f"tern/{place}", adapter=name, alteration=LADDER[-1])
            fit = fit if name or fit.without is None else fit.without  # by itself, through no adapter
            step = None if fit.alteration is None else LADDER.index(fit.alteration)
            self._alone[key] = None if step is None else (step, code_of(fit))
        return self._alone[key]


def code_of(fit: Fit) -> int:
    """The riskiest of a fit's open checks; a fit of which nothing is open fits."""
    return min((rule_named(check.rule).measure for check in fit.checks if check.verdict == "measure"), default=FITS)


class Settled:
    """One town in its store, and the questions asked of it."""

    def __init__(self, store: Store, parts: list[Row], openings: list[Row], ground: str | None) -> None:
        self.store, self.parts, self.openings, self.ground = store, parts, openings, ground
        self.settings: Settings = shop_settings(store.con)
        self.catalog = Catalog(store.con, self.settings)

    @cached_property
    def town(self) -> Town:
        return Town(self.parts, self.openings, self.settings, lambda *asked: self.store.alone(self.ground, *asked))

    def job(self, document: Row) -> Job:
        """A job taken in as its file would be."""
        save_job(self.store.con, json.dumps(document, default=plain), "test")
        return stored_job(self.store.con, document["job_id"])

    def rank(self, job: Job, top: int) -> JobRanking:
        return rank(self.catalog, job, top)


def every_package(got: JobRanking, top: int) -> list[Found]:
    """The first packages of a ranking, those that share their main goods too."""
    question = got.question
    return list(islice(packages_of(got.field, sum_limits(question, question.job.limits.budget)), top))


def drawn_job(draw: Random, steps: list[str], **changes: Any) -> Row:
    """A job on two or three places of the car."""
    places = draw.sample(["door", "door", "door", "shelf", "shelf", "centre"], draw.choice([1, 1, 2, 2, 2, 3]))
    places = list(dict.fromkeys(places))
    keep = [place for place in places if draw.random() < 0.15]
    choose = [place for place in places if place not in keep] + (["head_unit"] if draw.random() < 0.85 else [])
    keep += ["boot"] if draw.random() < 0.2 else []
    limits: Row = {"alteration": draw.choice(steps)}
    if draw.random() < 0.2:
        limits["per_opening"] = {draw.choice([*places, "dash", "seat"]): draw.choice(steps)}
    if draw.random() < 0.15:
        limits |= draw.choice([{"screen_min_in": 7}, {"must": ["radio", "mirror"]}])
    if draw.random() < 0.2:
        limits["at_rest_ma"] = draw.choice([1, 11, 31])
    wishes = {name: draw.randint(0, 5) for name in ("loudness", "bass", "screen", "original_look", "price")}
    document = {"job_id": "j1", "vehicle_id": "tern", "limits": limits, "keep": keep, "wishes": wishes}
    return document | {"choose": choose or ["seat"]} | changes
