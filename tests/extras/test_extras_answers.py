"""Film and security in whole answers: lines, checks, cautions, undo, slots, and the limits that conflict."""

from __future__ import annotations

import json
from typing import Any

import pytest

from catalog_schema.answers import Alternative, Options, Package
from matcher.papers.cautions import cautions_of
from matcher.store.documents.saving import save_job
from matcher.store.readings.readings import add_reading
from tests.factories import (
    Bench,
    Row,
    amp_spot,
    amplifier,
    dash_opening,
    head_unit,
    job,
    part,
    plain,
    speaker,
    speaker_opening,
    vehicle,
)

PANES = [
    {"pane": "windshield", "vlt_pct": 80, "limit_pct": 75},
    {"pane": "doors", "vlt_pct": 80, "limit_pct": 28},
    {"pane": "tailgate", "vlt_pct": 80, "limit_pct": 28, "frameless": True},
]
FILM = part("film", part_id="film-35", vlt_pct=35, price=90)
LOCK = part("security", part_id="lock", covers=["forced_ignition"], effort="chore", standby_ma=0, price=30)
SIREN = part("security", part_id="siren", covers=["tow", "glass"], effort="none", standby_ma=16, price=120)
TRACKER = part(
    "security", part_id="tracker", covers=["tow", "forced_ignition"], standby_ma=6, price=170, own_battery=True
)


def lay(bench: Bench, *parts: Row, panes: list[Row] | None = None, zones: list[Row] | None = None) -> None:
    for family in ("head_unit", "speaker", "amplifier", "film", "security"):
        bench.con.execute(f"delete from {family}_rows")
    bench.lay(vehicle(panes=PANES if panes is None else panes, no_fasten=zones or []), *parts)


def options(bench: Bench, choose: list[str], routes: list[str] | None = None, **limits: Any) -> Options:
    document = job(choose=choose, security_routes=routes or [], limits={"alteration": "bolt_on"} | limits)
    save_job(bench.con, json.dumps(document, default=plain), "test")
    return bench.options("j1")


def test_a_film_goes_on_every_pane_whose_limit_it_keeps(bench: Bench) -> None:
    lay(bench, FILM)
    told = options(bench, ["film"])
    (package,) = told.packages
    line = next(line for line in package.lines if line.slot == "film")
    assert (line.part_id, line.covers, line.qty, line.price, line.alteration) == (
        "film-35",
        ["doors", "tailgate"],
        1,
        90,
        "bolt_in",
    )
    checks = [(check.about, check.verdict, check.have, check.need) for check in package.checks if check.unit == "%"]
    assert checks == [("doors", "fits", 28, 28), ("tailgate", "fits", 28, 28)]
    assert (package.verdict, package.reversible, package.criteria["original_look"]) == ("fits", True, 0)
    assert any(step.step.startswith("film film-35") for step in package.undo)
    (left,) = [caution for caution in told.cautions if "windshield" in caution]
    assert "film-35" in left
    assert [caution for caution in told.cautions if "no frame" in caution and "tailgate" in caution]


# The film that is wanted, in percent, and the one that is best of 20, 35 and 50: the nearest, else the cheapest.
@pytest.mark.parametrize(("wanted", "best"), [(None, "film-50"), (20, "film-20"), (30, "film-35"), (60, "film-50")])
def test_the_film_is_as_dark_as_the_customer_wants_it(bench: Bench, wanted: int | None, best: str) -> None:
    pane = {"pane": "doors", "vlt_pct": 80, "limit_pct": 10, "frameless": False}
    dark = part("film", part_id="film-20", vlt_pct=20, price=95)
    lay(bench, FILM, dark, part("film", part_id="film-50", vlt_pct=50, price=60), panes=[pane])
    document = job(choose=["film"], limits={"alteration": "bolt_on"}, film_vlt_pct=wanted)
    save_job(bench.con, json.dumps(document, default=plain), "test")
    told = bench.options("j1")
    assert [line.part_id for line in told.packages[0].lines if line.slot == "film"] == [best]
    assert any("has not been chosen" in caution for caution in told.cautions) == (wanted is None)


def test_without_a_limit_nothing_says_that_film_is_allowed(bench: Bench) -> None:
    lay(bench, FILM, panes=[PANES[1], {"pane": "rear", "vlt_pct": 80}])
    told = options(bench, ["film"])
    (package,) = told.packages
    assert (package.verdict, package.measure) == ("measure", ["vehicle:tern.panes.rear.limit_pct"])
    assert any("no limit is entered" in caution and caution.endswith("rear") for caution in told.cautions)
    add_reading(bench.con, "vehicle:tern", "panes.rear.limit_pct", 20)
    told = options(bench, ["film"])
    assert [(package.verdict, package.measure) for package in told.packages] == [("fits", [])]
    bench.con.execute("delete from reading")


@pytest.mark.parametrize(
    ("panes", "reason"), [([PANES[0]], "nearest film-35 on windshield, short by 47 %"), ([], "names no pane")]
)
def test_a_film_for_no_pane_is_a_conflict_of_its_own(bench: Bench, panes: list[Row], reason: str) -> None:
    lay(bench, FILM, panes=panes)
    told = options(bench, ["film"])
    assert (told.packages, [conflict.limits for conflict in told.conflicts]) == ([], [["film wanted"]])
    (slot,) = [slot for slot in told.slots if slot.slot == "film"]
    assert (slot.fits, slot.measure, slot.no) == (0, 0, 1)
    assert any(reason in told_reason for told_reason in slot.reasons)


def layers(package: Package | Alternative) -> list[tuple[str | None, list[str]]]:
    """The security parts, each with the routes that it covers."""
    return [(line.part_id, line.covers) for line in package.lines if line.slot == "security"]


def test_layers_cover_every_wanted_route_together(bench: Bench) -> None:
    lay(bench, LOCK, SIREN, TRACKER)
    told = options(bench, ["security"], ["forced_ignition", "tow"])
    (best,) = told.packages
    assert [layers(best), *map(layers, best.alternatives)] == [
        [("tracker", ["forced_ignition", "tow"])],
        [("lock", ["forced_ignition"]), ("siren", ["tow"])],
    ]
    (check,) = [check for check in best.checks if check.rule == "security.routes"]
    assert (check.verdict, check.have, check.need) == ("fits", 2, 2)
    assert [step.step for step in best.undo] == ["security tracker"]
    assert told.considered == 2
    says = "\n".join(told.cautions)
    assert "hot wiring, broken glass, equipment taken" in says  # what none of the chosen layers covers
    assert "tracker has a battery of its own" in says


def test_layers_that_each_cover_one_route_say_what_they_ask_of_the_owner(bench: Bench) -> None:
    lay(bench, LOCK, SIREN)
    told = options(bench, ["security"], ["forced_ignition", "tow"])
    (package,) = told.packages
    assert layers(package) == [("lock", ["forced_ignition"]), ("siren", ["tow"])]
    assert package.criteria["original_look"] == -90  # a chore, by a wish of 3
    says = "\n".join(told.cautions)
    assert "hot wiring, equipment taken" in says
    assert "lock has to be set by hand, a chore every day" in says and "often left off" in says


def test_open_routes_are_those_of_a_package_and_printed_with_it_only(bench: Bench) -> None:
    """They were worked out over all listed packages, so each one seemed to cover what another one did."""
    lay(bench, LOCK, SIREN | {"covers": ["forced_ignition", "glass"]})
    document = job(choose=["security"], security_routes=["forced_ignition"], tiers=[50, 150], limits={"budget": 200})
    save_job(bench.con, json.dumps(document, default=plain), "test")
    told = bench.options("j1")
    cheap, better = (tier.package.lines for tier in told.tiers if tier.package)
    open_to = {
        "lock": "with lock, nothing stands in the way of: hot wiring, towing or lifting, broken glass, equipment taken",
        "siren": "with siren, nothing stands in the way of: hot wiring, towing or lifting, equipment taken",
    }
    for lines, said in (([cheap], ["lock"]), ([better], ["siren"]), ([cheap, better], ["siren", "lock"])):
        printed = cautions_of("handover-owner", told.cautions, lines)
        assert [one for one in printed if "stands in the way" in one] == [open_to[layer] for layer in said]


@pytest.mark.parametrize(
    ("covers", "cuts", "warned"),
    [("hot_wire", True, True), ("hot_wire", False, False), ("hot_wire", None, True), ("tow", None, False)],
)
def test_only_a_cut_out_is_warned_of_circuits(bench: Bench, covers: str, cuts: bool | None, warned: bool) -> None:
    """A tracker, a siren and a wheel bar were warned of it, too."""
    lay(bench, LOCK | {"covers": [covers], "cuts_circuit": cuts})
    told = options(bench, ["security"], [covers])
    assert any("lock must never interrupt a circuit" in caution for caution in told.cautions) == warned


def test_unknown_coverage_of_a_layer_is_to_be_clarified(bench: Bench) -> None:
    lay(bench, LOCK | {"covers": None})
    (package,) = options(bench, [], ["tow"]).packages
    assert (package.verdict, package.measure) == ("measure", ["part:lock.covers"])


# what is chosen, the routes, limits, then the smallest conflicts
CONFLICTS: list[tuple[list[str], list[str], Row, list[list[str]]]] = [
    (["security"], ["equipment"], {}, [["routes of theft covered: equipment"]]),
    (
        ["security"],
        ["tow", "glass"],
        {"at_rest_ma": 10},
        [["routes of theft covered: tow, glass", "standby drain at most 10 mA"]],
    ),
    (["security"], [], {"budget": 20}, [["security wanted", "budget of 20"]]),
    (
        ["film", "security"],
        ["tow"],
        {"budget": 100},
        [["routes of theft covered: tow", "budget of 100"], ["film wanted", "security wanted", "budget of 100"]],
    ),
    (
        ["film", "security"],
        ["tow"],
        {"budget": 200},
        [["film wanted", "routes of theft covered: tow", "budget of 200"]],
    ),
]


@pytest.mark.parametrize(("choose", "routes", "limits", "conflicts"), CONFLICTS)
def test_conflicts_name_film_layers_and_routes(
    bench: Bench, choose: list[str], routes: list[str], limits: Row, conflicts: list[list[str]]
) -> None:
    lay(bench, FILM, LOCK, SIREN, TRACKER)
    told = options(bench, choose, routes, **limits)
    assert (told.packages, [conflict.limits for conflict in told.conflicts]) == ([], conflicts)


def test_zones_travel_with_the_answer(bench: Bench) -> None:
    lay(bench, FILM, zones=[{"where": "left sill", "why": "brake lines"}])
    assert [caution for caution in options(bench, ["film"]).cautions if "left sill: brake lines" in caution]


# the spot, the alteration allowed, then whether an amplifier is chosen, and the package's step
SPOTS = [
    ({}, [], "bolt_on", "bolt_on"),
    ({"fasten": "no"}, [], "hidden_cut", None),
    ({"fasten": "no"}, [], "drilled", "drilled"),
    ({"air": "shut in"}, [], "metal_cut", None),
    ({}, [{"where": "Under the seat"}], "metal_cut", None),
]


@pytest.mark.parametrize(("spot", "zones", "step", "taken"), SPOTS)
def test_an_amplifier_is_chosen_where_its_spot_holds_it(
    bench: Bench, spot: Row, zones: list[Row], step: str, taken: str | None
) -> None:
    head = head_unit(amp_channels=0, preouts=4, preout_v=2, standby_ma=1)
    amp = amplifier(input_min_v=0.2, input_max_v=4, standby_ma=1, current_a=20)
    lay(bench, head, speaker(), amp)
    car = vehicle(dash_opening(), speaker_opening(), amp_spot(**spot), no_fasten=zones)
    car["electrical"] |= {"charge_a": 65, "charge_idle_a": 60, "base_load_a": 26, "battery_ah": 70}
    bench.lay(car)
    told = options(bench, ["head_unit", "door"], alteration=step)
    assert [package.alteration for package in told.packages] == ([taken] if taken else [])
    for package in told.packages:
        assert package.reversible == (taken != "drilled")
        assert any("cannot be undone" in step.undo for step in package.undo) == (taken == "drilled")


# hours to fit the film, an hour's price, then: labor, and the parts whose hours are open
HOURS = [(2, 40, 80, []), (0, 40, 0, []), (None, 40, 0, ["film-35"]), (None, 0, 0, [])]


@pytest.mark.parametrize(("hours", "rate", "labour", "parts"), HOURS)
def test_hours_that_nobody_has_stated_are_not_passed_off_as_none(
    bench: Bench, hours: int | None, rate: int, labour: int, parts: list[str]
) -> None:
    lay(bench, FILM | {"labour_h": hours})
    bench.set("labour_rate", rate)
    try:
        told = options(bench, ["film"])
    finally:
        bench.con.execute("delete from setting")
    (package,) = told.packages
    assert (package.price.labour, package.price.labour_open) == (labour, parts)
    assert any("hours to fit are not known" in caution for caution in told.cautions) == bool(parts)
