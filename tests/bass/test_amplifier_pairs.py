"""Two amplifiers on one spot: both and the air beside them, by hand."""

from __future__ import annotations

import json
from decimal import Decimal
from itertools import product
from random import Random
from typing import Any

import numpy as np
import pytest

from catalog_schema.answers import Options
from catalog_schema.jobs import Wishes
from matcher.kernel.columns import columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.explain import explain
from matcher.kernel.verdicts import worst
from matcher.rules.amp_pair import PAIR
from matcher.rules.rule import NO, rule_named, rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.choices import ENDLESS, Slot
from matcher.search.feeds.parts import ROOM
from matcher.search.rooms import IMPOSSIBLE, NO_ROOM, Rooms
from matcher.search.scoring import Scoring
from matcher.settings import DEFAULT_SETTINGS
from matcher.store.documents.saving import save_job
from tests.bass.cars import bass_amplifier, box, cargo_space, driver
from tests.factories import (
    Bench,
    Row,
    amp_spot,
    amplifier,
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
from tests.supposed import supposed

RULES = ("amplifier.pair_along", "amplifier.pair_across", "amplifier.pair_across_second")

# rule, the pair as it stands, then: verdict, have, need, margin, tolerance, missing; 25 mm at each side of each
TABLE: list[tuple[str, Row, tuple[Any, ...]]] = [
    ("amplifier.pair_along", {"along": 480, "first_along": 200, "second_along": 200}, ("fits", 480, 475, 5, 2, [])),
    ("amplifier.pair_along", {"along": 477, "first_along": 200, "second_along": 200}, ("fits", 477, 475, 2, 2, [])),
    ("amplifier.pair_along", {"along": 476, "first_along": 200, "second_along": 200}, ("measure", 476, 475, 1, 2, [])),
    ("amplifier.pair_along", {"along": 472, "first_along": 200, "second_along": 200}, ("no", 472, 475, -3, 2, [])),
    (
        "amplifier.pair_along",
        {"along": 500, "first_along": 200, "second_along": None},
        ("measure", 500, None, None, 2, ["pair.second_along_mm"]),
    ),
    ("amplifier.pair_across", {"across": 201.5, "first_across": 150}, ("fits", 201.5, 200, 1.5, 1.5, [])),
    ("amplifier.pair_across", {"across": 198, "first_across": 150}, ("no", 198, 200, -2, 1.5, [])),
    (
        "amplifier.pair_across",
        {"across": None, "first_across": 150},
        ("measure", None, 200, None, 1.5, ["pair.across_mm"]),
    ),
    ("amplifier.pair_across_second", {"across": 201.5, "second_across": 150}, ("fits", 201.5, 200, 1.5, 1.5, [])),
    ("amplifier.pair_across_second", {"across": 198, "second_across": 150}, ("no", 198, 200, -2, 1.5, [])),
    (
        "amplifier.pair_across_second",
        {"across": 300, "second_across": None},
        ("measure", 300, None, None, 1.5, ["pair.second_across_mm"]),
    ),
]


@pytest.mark.parametrize(("rule", "figures", "expected"), TABLE)
def test_rule(rule: str, figures: Row, expected: tuple[Any, ...]) -> None:
    names = [f"{name}{which}" for which in ("along", "across") for name in ("", "first_", "second_")]
    row = {f"{name}_mm": figures.get(name) for name in names}
    row |= {f"{name}_mm_tol": 0.5 if "_" in name else 1 for name in names}
    ((check,),) = explain([rule_named(rule)], columns_from({"pair": row}), DEFAULT_SETTINGS)
    assert numbers(check) == expected


ELECTRICAL = electrical(charge_a=300, charge_idle_a=200, base_load_a=10, battery_ah=70)
HEAD = head_unit(part_id="head", preouts=6, preout_v=2, standby_ma=1, amp_channels=0)
WEAK = {"full_channels": 2, "full_bridged_w_4ohm": 10, "full_bridged_min_ohm": 4, "bass_channels": 0}
"""What drives a pair of loudspeakers and no bass."""
TWO = amplifier(part_id="pair", input_min_v=0.2, input_max_v=5, standby_ma=1, current_a=10, **WEAK)
MONO = bass_amplifier(current_a=40)
"""What drives the bass: 40 A at 14.4 V are more than the 500 W it claims."""
PARTS = (HEAD, TWO, MONO, speaker(), driver(qts=0.5), box())


def options(bench: Bench, spot: Row, *changed: Row, spots: int = 1) -> Options:
    for family in ("head_unit", "accessory", "amplifier", "speaker", "subwoofer", "enclosure"):
        bench.con.execute(f"delete from {family}_rows")
    places = [amp_spot(**spot), amp_spot(opening_id="boot")][:spots]
    car = vehicle(dash_opening(), speaker_opening(), *places, cargo_space(), electrical=ELECTRICAL)
    bench.lay(car, *PARTS, *changed)
    save_job(bench.con, json.dumps(job(choose=["head_unit", "door", "bass"]), default=plain), "test")
    return bench.options("j1", top=3)


# the spot, the amplifiers as they differ, then: the verdict (none: no package), along what, what is to be measured
PAIRS: list[tuple[Row, list[Row], str | None, tuple[Any, ...] | None, list[str]]] = [
    # 200 and 200 by 150 with three times 25: 475 along the width.
    ({"w_mm": 500, "d_mm": 240}, [], "fits", ("fits", 500, 475, 25, 2, []), []),
    ({"w_mm": 477, "d_mm": 240}, [], "fits", ("fits", 477, 475, 2, 2, []), []),
    (
        {"w_mm": 476, "d_mm": 240},
        [],
        "measure",
        ("measure", 476, 475, 1, 2, []),
        ["opening:tern/seat.w_mm", "part:pair.w_mm", "part:mono.w_mm"],
    ),
    ({"w_mm": 472, "d_mm": 240}, [], None, None, []),
    # Turned they take 150 each: 375, and 250 across.
    ({"w_mm": 400, "d_mm": 260}, [], "fits", ("fits", 400, 375, 25, 2, []), []),
    ({"w_mm": 376, "d_mm": 300}, [], "measure", None, ["opening:tern/seat.w_mm", "part:pair.d_mm", "part:mono.d_mm"]),
    # One behind the other, along the depth: 375 of 400.
    ({"w_mm": 260, "d_mm": 400}, [], "fits", ("fits", 400, 375, 25, 2, []), []),
    # One as it comes, one turned: 200 and 150 and 75; the turned one needs 250 across.
    ({"w_mm": 430, "d_mm": 260}, [TWO | {"d_mm": 208}], "fits", ("fits", 430, 425, 5, 2, []), []),
    ({"w_mm": 500, "d_mm": 240}, [MONO | {"w_mm": 230}], None, None, []),
    ({"w_mm": 500, "d_mm": 240}, [MONO | {"w_mm": 225}], "measure", ("measure", 500, 500, 0, 2, []), []),
]


@pytest.mark.parametrize(("spot", "changed", "verdict", "along", "measure"), PAIRS)
def test_two_amplifiers_share_a_spot_that_holds_both(
    bench: Bench, spot: Row, changed: list[Row], verdict: str | None, along: tuple[Any, ...] | None, measure: list[str]
) -> None:
    told = options(bench, spot, *changed)
    if verdict is None:
        assert told.packages == [] and told.conflicts
        return
    package = told.packages[0]
    places = {line.slot: line.opening_id for line in package.lines if line.slot.endswith("amplifier")}
    assert places == {"amplifier": "seat", "bass_amplifier": "seat"}
    checks = {check.rule: check for check in package.checks if check.rule in RULES}
    assert set(checks) == set(RULES)
    if along is not None:
        assert numbers(checks["amplifier.pair_along"]) == along
    assert package.verdict == verdict
    assert set(measure) <= set(package.measure)


def test_an_unknown_figure_of_one_amplifier_makes_the_pair_measure(bench: Bench) -> None:
    package = options(bench, {"w_mm": 500, "d_mm": 240}, MONO | {"w_mm": None}).packages[0]
    checks = {check.rule: check for check in package.checks if check.rule in RULES}
    # As it comes it may be 223.5 wide: 500 less 200, three times 25 and 1.5 of both. Turned it would go across to 189.
    assert checks["amplifier.pair_along"].missing == ["part:mono.w_mm"]
    assert checks["amplifier.pair_along"].fits_up_to == 223.5
    assert {check.verdict for name, check in checks.items() if name != "amplifier.pair_along"} == {"fits"}


# the spot, the figure that is missing, and the value up to which both stand there
DECIDED: list[tuple[Row, str, float]] = [
    ({"w_mm": 500, "d_mm": 240}, "part:mono.w_mm", 223.5),  # as it comes, along the width
    ({"w_mm": 430, "d_mm": 300}, "part:mono.w_mm", 249),  # turned, across: 300 less twice 25 and 1 of the tape
]


@pytest.mark.parametrize(("spot", "figure", "value"), DECIDED)
def test_the_deciding_value_is_given_for_a_pair_with_one_missing_side(
    bench: Bench, spot: Row, figure: str, value: float
) -> None:
    package = options(bench, spot, MONO | {"w_mm": None}).packages[0]
    (check,) = (check for check in package.checks if check.rule in RULES and check.missing)
    assert (check.missing, check.fits_up_to) == ([figure], value)
    for wide, is_known in ((value, True), (value + 0.5, False)):
        with supposed(bench.con, {figure: Decimal(str(wide))}):
            found = bench.options("j1", top=3).packages[0]
        pair = [check.verdict for check in found.checks if check.rule in RULES]
        assert (pair == ["fits"] * 3) == is_known


def test_measure_tells_the_side_of_a_pair_that_decides(bench: Bench) -> None:
    options(bench, {"w_mm": 500, "d_mm": 240}, MONO | {"w_mm": None})
    told = {one.figure: one for one in bench.measure("j1").figures}
    assert told["part:mono.w_mm"].fits_up_to == 223.5


def test_two_of_a_kind_may_share_a_spot(bench: Bench) -> None:
    both = TWO | {"full_bridged_w_4ohm": 200, "current_a": 20}
    told = options(bench, {"w_mm": 500, "d_mm": 240}, both)
    pairs = [{line.part_id for line in package.lines if line.slot.endswith("amplifier")} for package in told.packages]
    assert {"pair"} in pairs and {"pair", "mono"} in pairs


def test_with_a_spot_for_each_nothing_is_asked_of_a_pair(bench: Bench) -> None:
    package = options(bench, {"w_mm": 300}, spots=2).packages[0]
    assert not [check for check in package.checks if check.rule in RULES]
    assert {line.opening_id for line in package.lines if line.slot.endswith("amplifier")} == {"seat", "boot"}


LYING = list(product((True, False), repeat=3))
"""Along the width or not; the one, and the other, as it comes or turned."""


def best_of_all_ways(spot: Row, one: Row, other: Row) -> int:
    rows = []
    for by_width, *straight in LYING:
        row = dict(zip(("along_mm", "across_mm"), sides(spot, by_width), strict=True))
        for which, thing, lies in zip(("first", "second"), (one, other), straight, strict=True):
            row |= dict(zip((f"{which}_along_mm", f"{which}_across_mm"), sides(thing, by_width == lies), strict=True))
        tols = {f"{name}_tol": Decimal("0.5" if name.startswith(("first", "second")) else "1") for name in row}
        rows.append(row | tols)
    return int(worst(rules_of(PAIR), Evaluation(columns_of("pair", rows), DEFAULT_SETTINGS)).max())


def sides(thing: Row, straight: bool) -> tuple[Any, ...]:
    found = (thing["w_mm"], thing["d_mm"])
    return found if straight else found[::-1]


@pytest.mark.parametrize("seed", range(4))
def test_limits_on_a_sum_say_of_every_pair_what_the_rules_say(bench: Bench, seed: int) -> None:
    draw = Random(seed)
    spot = {"w_mm": draw.choice([430, 476, 500, None]), "d_mm": draw.choice([202, 260, 380])}
    sizes = [(draw.choice([150, 200, 201.5, None]), draw.choice([98, 150, 151, None])) for _ in range(8)]
    amps = [TWO | {"part_id": f"a{at}", "w_mm": w, "d_mm": d} for at, (w, d) in enumerate(sizes)]
    bench.con.execute("delete from amplifier_rows")
    bench.lay(vehicle(dash_opening(), amp_spot(**spot)), *amps)
    catalog, named = Catalog(bench.con, DEFAULT_SETTINGS), {row["part_id"]: row for row in amps}
    rooms, names = Rooms(catalog, Scoring(Wishes(), DEFAULT_SETTINGS), "tern"), np.array(sorted(named), object)
    ways = list(rooms.ways("seat", names, sure=False))
    for (first, one), (second, other) in product(enumerate(names), repeat=2):
        codes = [way.code for way in ways if way.first[first] + way.second[second] <= ROOM]
        assert max(codes, default=NO) == best_of_all_ways(spot, named[one], named[other]), (one, other)


def test_room_on_a_shared_spot_is_less_than_an_empty_choice_takes() -> None:
    """The least of a slot hid its room: why an amplifier is left out was searched for minutes."""
    most = NO_ROOM + ROOM - IMPOSSIBLE
    points = np.zeros(1, np.int64)
    assert Slot(points, points, np.array([[0, 0, most]]), "second").least_uses.tolist() == [0, 0, most]
    assert most < ENDLESS
