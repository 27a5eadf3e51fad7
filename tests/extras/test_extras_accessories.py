"""Accessories behind a head unit: their rule, their place in a package, and plain enumeration of small towns."""

from __future__ import annotations

import json
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations
from random import Random
from typing import Any, NamedTuple

import numpy as np
import pytest

from catalog_schema.answers import Options, Package
from catalog_schema.jobs import Job
from matcher.kernel.explain import explain
from matcher.rules.accessory import ACCESSORY
from matcher.rules.rule import rules_of
from matcher.search.candidates.accessories import needed_of, needs_codes, needs_columns
from matcher.search.catalog.catalog import Catalog
from matcher.search.options import JobRanking, rank
from matcher.settings import DEFAULT_SETTINGS
from matcher.shop.base import shop_settings
from matcher.store.database.kept_documents import stored_job
from matcher.store.documents.saving import save_job
from tests.factories import Bench, Row, dash_opening, head_unit, job, numbers, part, plain, vehicle
from tests.search.shops import every_package
from tests.soak import first

RULES = ("accessory.needs",)

# features of the head unit, needs of the accessory, then: verdict, have, need, margin, tolerance, missing
TABLE: list[tuple[list[str] | None, list[str] | None, tuple[Any, ...]]] = [
    (["camera_input", "radio"], ["camera_input"], ("fits", 1, 1, 0, 0, [])),
    (["camera_input", "port"], ["camera_input", "port"], ("fits", 2, 2, 0, 0, [])),
    (["camera_input"], ["camera_input", "port"], ("no", 1, 2, -1, 0, [])),
    ([], ["camera_input"], ("no", 0, 1, -1, 0, [])),
    # A word said twice is one need.
    (["port"], ["port", "port"], ("fits", 1, 1, 0, 0, [])),
    # What needs nothing works with anything, known or not.
    ([], [], ("fits", 0, 0, 0, 0, [])),
    (None, [], ("fits", 0, 0, 0, 0, [])),
    (None, ["camera_input"], ("measure", None, 1, None, 0, ["accessory.met"])),
    (["radio"], None, ("measure", None, None, None, 0, ["accessory.met", "accessory.count"])),
]


@pytest.mark.parametrize(("features", "needs", "expected"), TABLE)
def test_an_accessory_needs_features_of_the_head_unit(
    features: list[str] | None, needs: list[str] | None, expected: tuple[Any, ...]
) -> None:
    has, needed = None if features is None else tuple(features), needed_of("camera", needs)
    columns = needs_columns([has], [needed]).shaped(np.ravel)
    ((check,),) = explain(rules_of(ACCESSORY), columns, DEFAULT_SETTINGS)
    assert numbers(check) == expected


def test_all_needs_asked_together_are_as_each_by_itself() -> None:
    codes = {"no": 0, "measure": 2, "fits": 4}
    owned = [None if features is None else tuple(features) for features, *_ in TABLE]
    needed = [needed_of("camera", needs) for _, needs, _ in TABLE]
    told = needs_codes(owned, needed, DEFAULT_SETTINGS)
    for has, some, (*_, (verdict, *_)) in zip(owned, needed, TABLE, strict=True):
        assert told[has, some] == codes[verdict]


def test_a_line_driver_needs_no_line_output() -> None:
    assert needed_of("line_driver", ["line_output", "remote_lead"]) == ("remote_lead",)
    assert needed_of("camera", ["line_output"]) == ("line_output",)


def accessory(name: str, gives: list[str] | None, needs: list[str] | None = None, **changes: Any) -> Row:
    return part(
        "accessory", **{"part_id": name, "gives": gives, "needs": needs, "standby_ma": 0, "price": 40} | changes
    )


def unit(name: str = "unit", features: list[str] | None = None, **changes: Any) -> Row:
    return head_unit(**{"part_id": name, "features": features, "standby_ma": 5, "amp_channels": 0} | changes)


def lay(bench: Bench, *parts: Row) -> None:
    for family in ("head_unit", "accessory"):
        bench.con.execute(f"delete from {family}_rows")
    bench.lay(vehicle(dash_opening()), *parts)


def asked_for(must: list[str], **limits: Any) -> Row:
    return job(choose=["head_unit"], limits={"alteration": "bolt_on", "must": must} | limits)


def options(bench: Bench, must: list[str], **limits: Any) -> Options:
    save_job(bench.con, json.dumps(asked_for(must, **limits), default=plain), "test")
    return bench.options("j1")


CAMERA = accessory("camera", ["rear_view"], ["camera_input"], labour_h=1, standby_ma=2)
ANTENNA = accessory("antenna", ["antenna_feed"], [])
HARNESS = accessory("harness", ["plug_adapter"], [])
KNOB = accessory("knob", ["bass_level"], ["level_control_port"])


def parts_of(package: Package) -> list[tuple[str, str | None]]:
    return [(line.slot, line.part_id) for line in package.lines]


def test_a_camera_gives_the_view_that_the_unit_lacks(bench: Bench) -> None:
    lay(bench, unit(features=["radio", "camera_input"]), unit("deaf", ["radio"]), CAMERA)
    told = options(bench, ["radio", "rear_view"])
    (package,) = told.packages
    assert parts_of(package) == [("head_unit", "unit"), ("accessory", "camera")]
    assert (package.verdict, told.considered) == ("fits", 1)
    assert [package.price.parts, package.price.labour] == [140, DEFAULT_SETTINGS["labour_rate"]]
    checks = {check.rule: check for check in package.checks}
    assert numbers(checks["limit.must"]) == ("fits", 2, 2, 0, 0, [])
    assert (numbers(checks["accessory.needs"]), checks["accessory.needs"].about) == (("fits", 1, 1, 0, 0, []), "camera")
    assert checks["supply.at_rest"].need == 7
    assert [line.covers for line in package.lines] == [[], ["rear_view"]]
    (camera,) = (step for step in package.undo if step.step == "accessory camera")
    assert camera.undo.startswith("unplug it, ")


def test_unknown_needs_of_an_accessory_are_to_be_clarified(bench: Bench) -> None:
    lay(bench, unit(features=["radio"]), accessory("camera", ["rear_view"], None, standby_ma=None))
    (package,) = options(bench, ["rear_view"]).packages
    assert (package.verdict, package.measure) == ("measure", ["part:camera.standby_ma", "part:camera.needs"])


def test_a_unit_of_unknown_features_stands_by_itself(bench: Bench) -> None:
    lay(bench, unit(features=None), accessory("camera", ["rear_view"], []))
    (package,) = options(bench, ["rear_view"]).packages
    assert (parts_of(package), package.measure) == ([("head_unit", "unit")], ["part:unit.features"])


@pytest.mark.parametrize("must", [[], ["radio"]])
def test_a_unit_that_has_everything_takes_none(bench: Bench, must: list[str]) -> None:
    alone = [unit(features=["radio", "camera_input"]), unit("other", ["radio"], price=120)]
    lay(bench, *alone)
    before = options(bench, must)
    lay(bench, *alone, CAMERA)
    after = options(bench, must)
    assert (before.packages, before.considered) == (after.packages, after.considered)


# what must be there, limits, then the smallest conflicts
CONFLICTS: list[tuple[list[str], Row, list[list[str]]]] = [
    (["rear_view", "dab"], {}, [["head unit wanted", "dab required"]]),
    # There is a thing that gives it, and nothing that the thing would work with.
    (["bass_level"], {}, [["head unit wanted", "bass level required"]]),
    # Any two may come from accessories, but not three.
    (
        ["rear_view", "antenna_feed", "plug_adapter"],
        {},
        [["head unit wanted", "rear view required", "antenna feed required", "plug adapter required"]],
    ),
    (["rear_view"], {"budget": 139}, [["head unit wanted", "budget of 139", "rear view required"]]),
    (["rear_view"], {"at_rest_ma": 6}, [["head unit wanted", "rear view required", "standby drain at most 6 mA"]]),
]


@pytest.mark.parametrize(("must", "limits", "conflicts"), CONFLICTS)
def test_conflicts_name_what_no_accessory_gives_within_the_limits(
    bench: Bench, must: list[str], limits: Row, conflicts: list[list[str]]
) -> None:
    lay(bench, unit(features=["camera_input"]), CAMERA | {"labour_h": None}, ANTENNA, HARNESS, KNOB)
    told = options(bench, must, **limits)
    assert (told.packages, [conflict.limits for conflict in told.conflicts]) == ([], conflicts)


FEATURES = ("a", "b", "c", "d")
PORTS = ("p", "q")
NAMES = ("n", "n b", "nb", "n!", "m", "mn", "z")
"""Names of which one begins as another, with signs that stand before the letters."""


class Choice(NamedTuple):
    """A head unit with its accessories."""

    points: int
    cents: int
    names: tuple[str, tuple[str, ...]]
    drain: Fraction
    sure: bool

    @property
    def order(self) -> tuple[int, int, tuple[str, tuple[str, ...]]]:
        return (-self.points, self.cents, self.names)


def drawn_town(draw: Random) -> list[Row]:
    heads = [
        unit(
            name,
            draw.choice([None, *[draw.sample(FEATURES + PORTS, draw.randint(0, 5)) for _ in range(6)]]),
            price=draw.choice([100, 120, 120]),
            standby_ma=draw.choice([None, 1, 5, 5]),
        )
        for name in draw.sample(NAMES, draw.randint(1, 6))
    ]
    return heads + [
        accessory(
            f"{name}.",
            draw.choice([None, *[draw.sample(FEATURES, draw.randint(0, 2)) for _ in range(6)]]),
            draw.choice([None, *[draw.sample(PORTS, draw.randint(0, 2)) for _ in range(4)]]),
            price=draw.choice([10, 20, 20, 30.5]),
            standby_ma=draw.choice([None, 0, 0, 4]),
        )
        for name in draw.sample(NAMES, draw.randint(0, 7))
    ]


def needs_met(has: set[str], row: Row) -> bool | None:
    return None if row["needs"] is None else set(row["needs"]) <= has


def choices(rows: list[Row], wanted: Job) -> Iterator[Choice]:
    """Every head unit alone where that may do, else with every smallest set of one or two accessories."""
    must, some = set(wanted.limits.must or ()), [row for row in rows if row["family"] == "accessory"]
    for head in (row for row in rows if row["family"] == "head_unit"):
        if head["features"] is None or must <= set(head["features"]):
            yield chosen(head, (), wanted, bool(must) and head["features"] is None)
            continue
        has = set(head["features"])
        useful = [row for row in some if row["gives"] is not None and needs_met(has, row) is not False]
        for size in (1, 2):
            for group in combinations(useful, size):
                if does(group, must - has) and not any(
                    does(fewer, must - has) for fewer in combinations(group, size - 1)
                ):
                    yield chosen(head, group, wanted, False)


def does(some: tuple[Row, ...], missing: set[str]) -> bool:
    return missing <= {feature for row in some for feature in row["gives"]}


def chosen(head: Row, some: tuple[Row, ...], wanted: Job, dark: bool) -> Choice:
    """Points by the defaults: 0.1 for a unit of money; 400, 150 or 30 for the riskiest that is open about a part."""
    rows = (head, *some)
    lost = [
        40_000 if row is head and dark else 15_000 if row is not head and row["needs"] is None else 3_000 * resting
        for row in rows
        for resting in [row["standby_ma"] is None]
    ]
    money = sum(round(Fraction(str(row["price"])) * 10) * wanted.wishes.price for row in rows)
    return Choice(
        -money - sum(lost),
        sum(round(row["price"] * 100) for row in rows),
        (head["part_id"], tuple(sorted(row["part_id"] for row in some))),
        sum((Fraction(row["standby_ma"] or 0) for row in rows), Fraction(0)),
        not any(lost),
    )


def ranked(bench: Bench, document: Row, top: int) -> tuple[JobRanking, Job]:
    save_job(bench.con, json.dumps(document, default=plain), "test")
    wanted = stored_job(bench.con, document["job_id"])
    return rank(Catalog(bench.con, shop_settings(bench.con)), wanted, top), wanted


def names_of(found: Any) -> tuple[str, tuple[str, ...]]:
    (head,) = (one.candidate for one in found.fitted)
    return head.part_id, tuple(one.part_id for one in head.along)


def drawn_job(draw: Random) -> Row:
    limits: Row = {"at_rest_ma": draw.choice([4, 6, 50]), "budget": draw.choice([None, 130, 150.5])}
    document = asked_for(draw.sample(FEATURES, draw.randint(0, 3)), **limits)
    return document | {"wishes": {"price": draw.randint(0, 5), "original_look": 0, "screen": 0}}


@pytest.mark.parametrize("seed", first(4, [10, 12, *range(10), 11, *range(13, 24)]))
def test_packages_are_those_of_plain_enumeration(bench: Bench, seed: int) -> None:
    draw = Random(seed)
    rows = drawn_town(draw)
    lay(bench, *rows)
    for _ in range(4):
        document, top = drawn_job(draw), draw.choice([1, 2, 3, 50])
        got, wanted = ranked(bench, document, top)
        every, limits = list(choices(rows, wanted)), wanted.limits
        most = limits.at_rest_ma.value if limits.at_rest_ma else 50
        kept = [one for one in every if one.drain <= most]
        kept = sorted(
            (one for one in kept if limits.budget is None or one.cents <= limits.budget * 100),
            key=lambda one: one.order,
        )
        assert [(one.points, one.cents, names_of(one)) for one in every_package(got, top)] == [
            (one.points, one.cents, one.names) for one in kept[:top]
        ], document
        sure = next((one for one in kept if one.sure), None)
        assert (got.sure and (got.sure.points, names_of(got.sure))) == (sure and (sure.points, sure.names))
        assert got.considered == len(every)
