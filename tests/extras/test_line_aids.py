"""Line drivers and line output converters: what they make of a head unit's outputs, and where one is bought."""

from __future__ import annotations

import json
from typing import Any

import pytest

from catalog_schema.answers import Alternative, Options, Package
from matcher.search.candidates.line_aids import aid_signature
from matcher.store.documents.saving import save_job
from tests.extras.test_extras_accessories import accessory
from tests.factories import (
    Bench,
    Row,
    amp_spot,
    amplifier,
    dash_opening,
    electrical,
    head_unit,
    job,
    numbers,
    plain,
    speaker,
    speaker_opening,
    vehicle,
)

SUPPLY = electrical(charge_a=200, charge_idle_a=150, base_load_a=20, battery_ah=70)
UNIT = head_unit(part_id="unit", preouts=4, preout_v=2, standby_ma=1, amp_channels=0, features=["radio"])
BARE = UNIT | {"preouts": 0, "preout_v": None, "amp_channels": 4, "amp_w": 2, "amp_min_ohm": 4}
AMP = amplifier(part_id="amp", input_min_v=4, input_max_v=6, high_level_in=False, standby_ma=1, current_a=20)
MEEK = AMP | {"input_min_v": 0.2}


def driver(level: str | None = "line_8v", **changes: Any) -> Row:
    gives = None if level is None else [level]
    own = {"kind": "line_driver", "needs": ["line_output"], "standby_ma": 3, "labour_h": 1, "part_id": "driver"}
    return accessory("", gives) | own | changes


def converter(*gives: str, **changes: Any) -> Row:
    own = {"kind": "line_output_converter", "standby_ma": 2}
    return accessory("converter", list(gives), ["speaker_output"], **own | changes)


def options(bench: Bench, *parts: Row, top: int = 5, **changes: Any) -> Options:
    for family in ("head_unit", "accessory", "amplifier", "speaker"):
        bench.con.execute(f"delete from {family}_rows")
    bench.lay(vehicle(dash_opening(), speaker_opening(), amp_spot(), electrical=SUPPLY), speaker(), *parts)
    save_job(bench.con, json.dumps(job(**changes), default=plain), "test")
    return bench.options("j1", top=top)


def bought(package: Package | Alternative) -> list[str | None]:
    return [line.part_id for line in package.lines if line.slot == "accessory"]


# the words that it gives, then the most volts that it can be set to
LEVELS = [
    (["line_8v"], "8"),
    (["line_output", "line_2.5v"], "2.5"),
    (["line_2v", "line_4v"], "4"),
    (["line_output"], None),
    (["line_v", "outline_4v", "line_4vv"], None),
    ([], None),
    (None, None),
]


@pytest.mark.parametrize(("gives", "volts"), LEVELS)
def test_the_level_stands_in_what_it_gives(gives: list[str] | None, volts: str | None) -> None:
    words = None if gives is None else tuple(gives)
    greatest = aid_signature("line_driver", words or ()).greatest_v
    assert (None if greatest is None else str(greatest)) == volts


# head unit, amplifier, accessory; what is bought, the verdict, what is to be measured
BOUGHT: list[tuple[Row, Row, Row, list[str], str, list[str]]] = [
    # 2 V into an amplifier that wants 4 V: lifted it reaches its full power; the level is set between the two.
    (UNIT, AMP, driver(), ["driver"], "fits", []),
    (UNIT, AMP, driver("line_4v"), ["driver"], "fits", []),
    (UNIT, AMP, driver("line_output"), ["driver"], "measure", ["part:driver.gives"]),
    (UNIT, AMP, driver(None), ["driver"], "measure", ["part:driver.gives"]),
    (UNIT, AMP, driver(needs=None), ["driver"], "measure", ["part:driver.needs"]),
    (UNIT | {"preout_v": None}, MEEK, driver(), [], "measure", ["part:unit.preout_v"]),
    # What betters nothing is not bought.
    (UNIT, MEEK, driver(), [], "fits", []),
    # No line output, and no input that takes a loudspeaker's.
    (BARE, MEEK, converter("line_2v"), ["converter"], "fits", []),
    (BARE, AMP, converter("line_4v"), ["converter"], "fits", []),
    (BARE, MEEK, converter("line_output"), ["converter"], "measure", ["part:converter.gives"]),
    (BARE | {"amp_channels": None}, MEEK, converter("line_2v"), ["converter"], "measure", ["part:unit.amp_channels"]),
    (BARE, MEEK | {"high_level_in": True}, converter("line_2v"), [], "fits", []),
    # One line output alone feeds no pair: what is said of none holds of it.
    (BARE | {"preouts": 1, "preout_v": 2}, MEEK, converter("line_2v"), ["converter"], "fits", []),
    (BARE | {"preouts": 1, "preout_v": 9}, MEEK | {"high_level_in": True}, converter("line_2v"), [], "fits", []),
]


@pytest.mark.parametrize(("unit", "amp", "aid", "names", "verdict", "measure"), BOUGHT)
def test_it_is_bought_where_it_betters_the_line(
    bench: Bench, unit: Row, amp: Row, aid: Row, names: list[str], verdict: str, measure: list[str]
) -> None:
    (package,) = options(bench, unit, amp, aid).packages
    assert (bought(package), package.verdict, package.measure) == (names, verdict, measure)


# head unit, amplifier, accessory: nothing can be fitted
HELPLESS = [
    (UNIT, AMP, driver("line_3.9v")),
    (UNIT, AMP, driver(needs=["line_output", "remote_lead"])),
    (UNIT | {"preout_v": 7}, AMP, driver()),  # lifting cannot lower
    (BARE, MEEK, driver()),  # there is nothing to lift
    (BARE | {"amp_channels": 0}, MEEK, converter("line_2v")),
    (BARE, AMP, converter("line_2v")),
]


@pytest.mark.parametrize(("unit", "amp", "aid"), HELPLESS)
def test_there_is_no_package_where_it_does_not_help(bench: Bench, unit: Row, amp: Row, aid: Row) -> None:
    told = options(bench, unit, amp, aid)
    assert told.packages == [] and told.conflicts


def test_it_is_a_line_of_its_own_with_all_that_belongs_to_it(bench: Bench) -> None:
    bench.set("labour_rate", 60)
    try:
        told = options(bench, UNIT, AMP, driver())
    finally:
        bench.con.execute("delete from setting")
    (package,) = told.packages
    (line,) = (line for line in package.lines if line.slot == "accessory")
    assert (line.part_id, line.qty, line.price, line.covers) == ("driver", 1, 100, ["line_8v"])
    assert (package.price.parts, package.price.labour) == (440, 60)
    checks = {check.rule: check for check in package.checks if check.rule.startswith(("line_level", "accessory"))}
    assert numbers(checks["line_level.least"]) == ("fits", 8, 4, 4, 0, [])
    assert numbers(checks["line_level.most"]) == ("fits", 6, 2, 4, 0, [])
    assert numbers(checks["accessory.needs"]) == ("fits", 0, 0, 0, 0, [])
    assert package.supply is not None and package.supply.standby_ma == 5
    assert "accessory driver" in [step.step for step in package.undo]
    # By the head unit alone, or on a pair or bridged pairs of the amplifier, with the driver and without.
    assert told.considered == 5


def test_a_remote_lead_of_the_head_unit_serves_a_line_driver(bench: Bench) -> None:
    remote = driver(needs=["line_output", "remote_lead"])
    (package,) = options(bench, UNIT | {"features": ["remote_lead"]}, AMP, remote).packages
    assert bought(package) == ["driver"]
    (package,) = options(bench, UNIT | {"features": None}, AMP, remote).packages
    assert (package.verdict, package.measure) == ("measure", ["part:driver.needs"])


def test_the_cheapest_of_those_that_do_comes_first(bench: Bench) -> None:
    rivals = [driver(part_id=name, price=price) for name, price in (("dear", 90), ("cheap", 20))]
    wishes = {"price": 3}
    told = options(bench, UNIT, AMP, *rivals, driver("line_3v", part_id="weak", price=1), wishes=wishes)
    (package,) = told.packages
    assert [bought(package), *map(bought, package.alternatives)] == [["cheap"], ["dear"]]


def test_drain_at_rest_counts_with_it(bench: Bench) -> None:
    assert options(bench, UNIT, AMP, driver(), limits={"at_rest_ma": 5}).packages
    assert not options(bench, UNIT, AMP, driver(), limits={"at_rest_ma": 4}).packages


# the tolerance stated with 2 V, against the amplifier's least input: the verdict, what is to be measured more closely
STATED: list[tuple[float | None, float, str, list[str]]] = [
    (None, 2, "fits", []),
    (0.1, 1.9, "fits", []),
    (0.1, 2, "measure", ["part:unit.preout_v"]),
    (0.1, 2.1, "measure", ["part:unit.preout_v"]),
]


@pytest.mark.parametrize(("tol", "least", "verdict", "measure"), STATED)
def test_a_stated_tolerance_of_volts_counts(
    bench: Bench, tol: float | None, least: float, verdict: str, measure: list[str]
) -> None:
    (package,) = options(bench, UNIT | {"preout_v_tol": tol}, AMP | {"input_min_v": least}).packages
    assert (package.verdict, package.measure) == (verdict, measure)
    assert options(bench, UNIT | {"preout_v_tol": 0.1}, AMP | {"input_min_v": 2.11}).packages == []
