"""Level controls: bought ones at their spot by hand, and an amplifier's own remote."""

from __future__ import annotations

import json
from typing import Any

import pytest

from catalog_schema.answers import Options
from matcher.kernel.explain import explain
from matcher.rules.rule import rule_named
from matcher.settings import DEFAULT_SETTINGS
from matcher.store.documents.saving import save_job
from tests.bass.cars import bass_amplifier, box, cargo_space, driver
from tests.extras.test_extras_accessories import accessory
from tests.factories import (
    Bench,
    Row,
    amp_spot,
    columns_from,
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

RULES = ("control.width", "control.height", "control.depth")
SIDES = {"control.width": "w_mm", "control.height": "h_mm", "control.depth": "d_mm"}

# spot, control, then: verdict, have, need, margin, tolerance
SIZES: list[tuple[Any, Any, tuple[Any, ...]]] = [
    (62, 60, ("fits", 62, 60, 2, 1.5)),
    (61.5, 60, ("fits", 61.5, 60, 1.5, 1.5)),
    (61, 60, ("measure", 61, 60, 1, 1.5)),
    (58, 60, ("no", 58, 60, -2, 1.5)),
    (None, 60, ("measure", None, 60, None, 1.5)),
    (62, None, ("measure", 62, None, None, 1.5)),
]


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize(("spot", "control", "expected"), SIZES)
def test_rule(rule: str, spot: Any, control: Any, expected: tuple[Any, ...]) -> None:
    side = SIDES[rule]
    rows = {"opening": {side: spot, f"{side}_tol": 1}, "part": {side: control, f"{side}_tol": 0.5}}
    ((check,),) = explain([rule_named(rule)], columns_from(rows), DEFAULT_SETTINGS)
    missing = [name for name, value in ((f"opening.{side}", spot), (f"part.{side}", control)) if value is None]
    assert numbers(check) == (*expected, missing)


def control_spot(**changes: Any) -> Row:
    own = {"opening_id": "lip", "kind": "control_spot", "label": "Trim lip", "w_mm": 62, "h_mm": 34, "d_mm": 48}
    return own | changes


def knob(**changes: Any) -> Row:
    own = {"kind": "level_control", "part_id": "knob", "w_mm": 58, "h_mm": 30, "d_mm": 44, "standby_ma": 0}
    return accessory("", None) | {"needs": []} | own | changes


SUPPLY = electrical(charge_a=300, charge_idle_a=200, base_load_a=10, battery_ah=70)
HEAD = head_unit(part_id="head", preouts=6, preout_v=2, standby_ma=1, amp_channels=4, amp_w=50, amp_min_ohm=4)


def options(bench: Bench, *parts: Row, spots: tuple[Row, ...] = (control_spot(),), **changes: Any) -> Options:
    for family in ("head_unit", "accessory", "amplifier", "speaker", "subwoofer", "enclosure"):
        bench.con.execute(f"delete from {family}_rows")
    zones = changes.pop("zones", [])
    car = vehicle(dash_opening(), speaker_opening(), amp_spot(), cargo_space(), *spots, electrical=SUPPLY)
    bench.lay(car | {"no_fasten": zones}, HEAD | {"features": ["radio"]}, speaker(), *parts)
    save_job(bench.con, json.dumps(job(**{"choose": ["head_unit", "door"]} | changes), default=plain), "test")
    return bench.options("j1", top=3)


MUST = {"limits": {"must": ["bass_level"]}}

# the controls of the catalog, the spots, then: what is bought and where (none: no package), the verdict
BOUGHT: list[tuple[list[Row], tuple[Row, ...], tuple[str, str] | None, str]] = [
    ([knob()], (control_spot(),), ("knob", "lip"), "fits"),
    # It gives a level of bass by what it is; what it gives besides is no matter.
    ([knob(gives=["bass_level"])], (control_spot(),), ("knob", "lip"), "fits"),
    ([knob(w_mm=60.5)], (control_spot(),), ("knob", "lip"), "fits"),
    ([knob(w_mm=61)], (control_spot(),), ("knob", "lip"), "measure"),
    ([knob(d_mm=None)], (control_spot(),), ("knob", "lip"), "measure"),
    ([knob()], (control_spot(d_mm=None),), ("knob", "lip"), "measure"),
    ([knob(w_mm=70)], (control_spot(),), None, ""),
    ([knob()], (), None, ""),
    # Of two spots the surer.
    ([knob()], (control_spot(w_mm=None), control_spot(opening_id="tray")), ("knob", "tray"), "fits"),
]


@pytest.mark.parametrize(("controls", "spots", "bought", "verdict"), BOUGHT)
def test_one_is_bought_where_it_goes_to_a_spot(
    bench: Bench, controls: list[Row], spots: tuple[Row, ...], bought: tuple[str, str] | None, verdict: str
) -> None:
    told = options(bench, *controls, spots=spots, **MUST)
    lines = [line for package in told.packages for line in package.lines if line.slot == "accessory"]
    assert [(line.part_id, line.opening_id) for line in lines[:1]] == ([] if bought is None else [bought])
    assert [package.verdict for package in told.packages[:1]] == ([] if bought is None else [verdict])


def test_nothing_is_held_where_nothing_may_be_fastened_nor_where_nothing_may_be_added(bench: Bench) -> None:
    assert options(bench, knob(), zones=[{"where": "Trim lip", "why": "an airbag"}], **MUST).packages == []
    strict = {"limits": {"must": ["bass_level"], "per_opening": {"lip": "bolt_in"}}}
    assert options(bench, knob(), **strict).packages == []


def test_the_price_of_forbidding_every_spot_is_known_beside_other_accessories(bench: Bench) -> None:
    kit = accessory("kit", ["radar"]) | {"price": 5, "needs": []}
    able = HEAD | {"part_id": "able", "features": ["bass_level"], "price": 900}
    closed = {"must": ["bass_level", "radar"], "alteration": "bolt_in"}
    told = options(bench, able, kit, knob(), limits=closed).packages[0]
    assert {line.part_id for line in told.lines} >= {"able", "kit"}
    (price,) = (one for one in bench.limits("j1").limits if one.limit == "alteration")
    assert price.costs and price.package is not None
    assert {line.part_id for line in price.package.lines} >= {"head", "kit", "knob"}


def test_the_price_of_forbidding_one_spot_is_given(bench: Bench) -> None:
    able = HEAD | {"part_id": "able", "features": ["bass_level"], "price": 900}
    closed = {"must": ["bass_level"], "per_opening": {"lip": "bolt_in"}}
    told = options(bench, able, knob(), limits=closed).packages[0]
    assert "able" in {line.part_id for line in told.lines}
    (price,) = (one for one in bench.limits("j1").limits if one.limit == "per_opening.lip")
    open_lip = options(bench, able, knob(), **MUST).packages[0]
    assert price.costs and price.package is not None
    assert (price.package.score, {line.part_id for line in price.package.lines}) == (
        open_lip.score,
        {line.part_id for line in open_lip.lines},
    )
    assert "knob" in {line.part_id for line in open_lip.lines}


def test_a_spot_that_may_be_used_is_no_limit(bench: Bench) -> None:
    options(bench, knob(), **MUST)
    assert "per_opening.lip" not in {one.limit for one in bench.limits("j1").limits}


def test_the_forbidden_spot_is_named_if_nothing_fits_elsewhere(bench: Bench) -> None:
    options(bench, knob(), limits={"must": ["bass_level"], "per_opening": {"lip": "bolt_in"}})
    told = bench.why("j1")
    ways = [{change.limit for change in way.changes} for way in told.relaxations]
    assert {"per_opening.lip"} in ways


def test_it_has_a_price_checks_and_a_way_back(bench: Bench) -> None:
    package = options(bench, knob(price=25), **MUST).packages[0]
    (line,) = (line for line in package.lines if line.slot == "accessory")
    assert (line.price, line.covers, line.alteration) == (25, ["bass_level"], "bolt_on")
    checks = {check.rule: check for check in package.checks if check.rule in RULES}
    assert numbers(checks["control.width"]) == ("fits", 62, 58, 4, 1.5, [])
    assert set(checks) == set(RULES)
    assert "accessory knob" in [step.step for step in package.undo]


BASS = (bass_amplifier(current_a=45, level_control=True), driver(qts=0.5), box())


def test_an_amplifier_that_plays_the_bass_brings_its_own_remote(bench: Bench) -> None:
    told = options(bench, *BASS, choose=["head_unit", "door", "bass"])
    package = told.packages[0]
    (line,) = (line for line in package.lines if line.slot == "level_control")
    assert (line.part_id, line.opening_id, line.price, line.label) == (None, "lip", 0, "the amplifier's own remote")
    assert [text for text in told.cautions if text.startswith("the remote of mono (lip)")]
    assert "level control (lip): the amplifier's own remote" in [step.step for step in package.undo]
    assert not [check for check in package.checks if check.rule in RULES]


@pytest.mark.parametrize(("able", "spots"), [(None, (control_spot(),)), (False, (control_spot(),)), (True, ())])
def test_without_one_or_without_a_spot_there_is_none(bench: Bench, able: bool | None, spots: tuple[Row, ...]) -> None:
    amp = BASS[0] | {"level_control": able}
    told = options(bench, amp, *BASS[1:], spots=spots, choose=["head_unit", "door", "bass"])
    assert told.packages
    assert all(line.slot != "level_control" for package in told.packages for line in package.lines)
