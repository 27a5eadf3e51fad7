"""What amplifiers draw, the cable each brings, the charging they share: by hand, then all against all."""

from __future__ import annotations

import json
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from catalog_schema.answers import Options
from matcher.search.candidates.amplifiers import amplifiers
from matcher.search.candidates.draws import draw_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.question import question_of
from matcher.search.scoring import Scoring
from matcher.settings import DEFAULT_SETTINGS
from matcher.store.database.kept_documents import stored_job
from matcher.store.documents.saving import save_job
from tests.factories import (
    Bench,
    Row,
    amp_spot,
    amplifier,
    dash_opening,
    electrical,
    head_unit,
    job,
    part,
    plain,
    speaker,
    speaker_opening,
    vehicle,
)
from tests.soak import first

AMPLIFIER: Row = {
    "full_channels": 4,
    "full_w_4ohm": 50,
    "full_w_2ohm": None,
    "bass_channels": 0,
    "bass_w_4ohm": None,
    "bass_w_2ohm": None,
    "bass_w_1ohm": None,
    "power_basis": "rms",
    "class": "d",
    "current_a": None,
    "fuse_a": None,
    "full_bridged_w_4ohm": None,
}
BASS = {"bass_channels": 1, "bass_w_4ohm": 200, "bass_w_1ohm": 400}

# what differs, whether bass is asked for, then: full sine and music in mA, fuse in A, fields that are wanting
DRAWS: list[tuple[Row, bool, tuple[Any, ...]]] = [
    ({}, False, (17361, 2170, 20, ())),  # 4 x 50 W over 0.8 and 14.4 V; an eighth on music
    ({"class": "ab"}, False, (25253, 8928, 30, ())),  # over 0.55; the root of an eighth on music
    ({"full_w_2ohm": 90}, False, (31250, 3906, 35, ())),  # what it may give at most
    ({"full_w_4ohm": 57.6}, False, (20000, 2500, 20, ())),  # a fuse of just the demand
    (
        {"current_a": 16},
        False,
        (17361, 2170, 20, ()),
    ),  # 16 A may give 218.9 W: the power counts, the claim does not cap
    ({"current_a": 30}, False, (17361, 2170, 20, ())),
    ({"current_a": 10}, False, (11875, 1484, 15, ())),  # 10 A x 14.4 V x 0.95: 136.8 W count
    ({"current_a": 3}, False, (None, None, None, ("fuse_a",))),  # 200 W on 3 A: neither is believed
    ({"current_a": 3, "fuse_a": 25}, False, (17361, 2170, 25, ())),  # its own fuse tells which is false
    ({"current_a": 3, "fuse_a": 40}, False, (17361, 2170, 40, ())),  # not under the amplifier's own fuse
    ({"full_w_4ohm": 300, "class": "ab", "fuse_a": 30}, False, (47100, 16652, 50, ())),  # 33 A x 14.4 V x 0.785
    ({"class": None, "current_a": 16}, False, (16000, None, 20, ("class",))),  # what music takes hangs on the class
    ({"class": None, "fuse_a": 25}, False, (25000, None, 25, ("class",))),
    ({"class": None}, False, (None, None, None, ("current_a", "class"))),
    ({"power_basis": "peak"}, False, (None, None, None, ("current_a", "full_w_4ohm"))),
    ({"power_basis": "peak", "current_a": 16}, False, (16000, 2000, 20, ())),
    ({"power_basis": "peak", "current_a": 16, "fuse_a": 25}, False, (25000, 3125, 25, ())),  # the larger of the two
    (BASS, False, (17361, 2170, 20, ())),  # nobody plays bass on it
    (BASS, True, (52083, 13744, 60, ())),  # a third of 34.722 A and an eighth of 17.361 A
    (BASS | {"current_a": 31.25}, True, (37109, 9793, 40, ())),  # 427.5 W together, in the proportion claimed
    (BASS | {"power_basis": "peak", "current_a": 30}, True, (30000, 10000, 30, ())),
    ({}, True, (17361, 5787, 20, ())),  # it has no channels for bass, so it may play it with all it has
    ({"class": "ab"}, True, (25253, 14580, 30, ())),
    ({"full_channels": 0}, False, (0, 0, 1, ())),
    ({"current_a": 600, "full_w_4ohm": 2000}, False, (694444, 86806, None, ())),  # no such fuse
]


@pytest.mark.parametrize(("changed", "bass", "expected"), DRAWS)
def test_current_of_an_amplifier(changed: Row, bass: bool, expected: tuple[Any, ...]) -> None:
    figures = {name: exact(cell) for name, cell in (AMPLIFIER | changed).items()}
    draw = draw_of(figures, bass, Decimal(5), DEFAULT_SETTINGS)
    assert (draw.full_ma, draw.music_ma, draw.fuse_a, draw.wants) == expected


def exact(cell: Any) -> Any:
    return Decimal(str(cell)) if isinstance(cell, int | float) else cell


# run in m, full sine in A, then least area of copper and of copper-clad aluminum, mm2
CABLES = [
    (5, "20.8333333", "8.92", "14.26"),  # the drop rules: 2 x 20.83 x 5 x 0.02139 / 0.5
    (10, "20.8333333", "17.83", "28.52"),
    (Decimal("0.5"), "20.8333333", "1.31", "2.09"),  # what carries the fuse of 25 A rules: 16 AWG
    (5, "41.6666667", "17.83", "28.52"),
]


@pytest.mark.parametrize(("run_m", "current_a", "copper", "cca"), CABLES)
def test_the_area_that_a_cable_needs(run_m: Any, current_a: str, copper: str, cca: str) -> None:
    figures = {name: exact(cell) for name, cell in AMPLIFIER.items()}
    figures |= {"class": None, "current_a": Decimal(current_a)}
    draw = draw_of(figures, False, Decimal(run_m), DEFAULT_SETTINGS)
    assert (draw.copper_mm2, draw.cca_mm2) == (Decimal(copper), Decimal(cca))


def test_no_run_no_area() -> None:
    figures = {name: exact(cell) for name, cell in AMPLIFIER.items()}
    draw = draw_of(figures, False, None, DEFAULT_SETTINGS)
    assert (draw.full_ma, draw.fuse_a, draw.copper_mm2, draw.cca_mm2) == (17361, 20, None, None)


SUPPLY = electrical(charge_a=65, charge_idle_a=32, base_load_a=26, battery_ah=55)
RUNS = {"battery_to_cargo_m": 5}
HEAD = head_unit(preouts=4, preout_v=2, standby_ma=1, amp_channels=0)
AMP = amplifier(input_min_v=0.2, input_max_v=4, standby_ma=1, price=200) | {"class": "d"}
SPEAKER = speaker()


def lay_car(bench: Bench, *parts: Row, runs: Row = RUNS, **electrical: Any) -> None:
    for family in ("head_unit", "speaker", "amplifier", "cable"):
        bench.con.execute(f"delete from {family}_rows")
    car = vehicle(dash_opening(), speaker_opening(), amp_spot(), electrical=SUPPLY | electrical, runs=runs)
    bench.lay(car, HEAD, SPEAKER, *parts)


def options(bench: Bench, top: int = 5, **changes: Any) -> Options:
    save_job(bench.con, json.dumps(job(**changes), default=plain), "test")
    return bench.options("j1", top=top)


def cable(name: str, price: float, **changes: Any) -> Row:
    return part("cable", part_id=name, price=price, **changes)


GOOD = cable("good", 40, area_mm2=10, length_m=5)

# cables for sale, then the one that comes along, and its price
CHOSEN: list[tuple[list[Row], str | None, float]] = [
    ([GOOD], "good", 40),
    ([GOOD, cable("thin", 10, area_mm2=6)], "good", 40),
    ([GOOD, cable("just", 30, area_mm2=7.43)], "just", 30),
    ([GOOD, cable("short", 10, area_mm2=10, length_m=4.9)], "good", 40),
    ([GOOD, cable("clad", 10, area_mm2=10, conductor="cca")], "good", 40),
    ([GOOD, cable("clad", 10, area_mm2=16, conductor="cca")], "clad", 10),
    ([GOOD, cable("weak", 10, area_mm2=10, rated_a=15)], "good", 40),
    ([GOOD, cable("rated", 10, area_mm2=10, rated_a=20)], "rated", 10),
    ([GOOD, cable("a-twin", 40, area_mm2=10)], "a-twin", 40),
    ([GOOD, cable("dark", 10, area_mm2=10, conductor=None)], "good", 40),  # what is sure comes first
    ([cable("dark", 10, area_mm2=10, conductor=None)], "dark", 10),
    ([cable("thin", 10, area_mm2=6)], None, 0),
    ([], None, 0),
]


@pytest.mark.parametrize(("cables", "name", "price"), CHOSEN)
def test_the_cheapest_cable_that_carries_it_comes_along(
    bench: Bench, cables: list[Row], name: str | None, price: float
) -> None:
    lay_car(bench, AMP, *cables)
    told = options(bench)
    (package,) = told.packages
    lines = {line.slot: line for line in package.lines}
    assert (lines["cable"].part_id if "cable" in lines else None) == name
    assert package.price.total - package.price.kit == 500 + price == sum(line.price for line in package.lines)
    assert any(item.kind == "cable" for item in package.kit) == (name is None)
    assert [line.slot for line in package.lines] == [
        "head_unit",
        "speaker",
        "board",
        "amplifier",
        *(["cable"] if name else []),
    ]
    asked = [check.rule for check in package.checks if check.rule.startswith("supply.cable")]
    assert asked[:2] == (["supply.cable_area", "supply.cable_length"] if name else [])
    assert package.verdict == ("measure" if name == "dark" else "fits")
    assert any(step.step == f"supply cable {name}" for step in package.undo) == bool(name)
    assert any("no cable of the catalog" in caution for caution in told.cautions) == (name is None)


def test_the_supply_of_a_package(bench: Bench) -> None:
    lay_car(bench, AMP, GOOD)
    (package,) = options(bench).packages
    supply = package.supply
    assert supply is not None
    assert (supply.full_a, supply.music_a, supply.fuse_a, supply.fuse_color) == (
        Decimal("17.361"),
        Decimal("2.17"),
        20,
        "yellow",
    )
    assert (supply.spare_a, supply.idle_spare_a, supply.cable_mm2) == (Decimal("36.8"), Decimal("3.8"), 10)
    assert (supply.standby_ma, supply.days_at_rest) == (
        2,
        Decimal("17.6"),
    )  # 22 Ah over 2 mA and the car's own 50 mA, and 24 h
    assert (supply.idle_battery_min, supply.off_battery_min) == (None, Decimal("608.3"))
    assert supply.fuse_within_mm == 450


def test_no_amplifier_no_supply(bench: Bench) -> None:
    lay_car(bench)
    bench.lay(head_unit(amp_channels=4, amp_w=50, amp_min_ohm=4, standby_ma=1), speaker(rms_w=25))
    (package,) = options(bench).packages
    assert package.supply is None
    assert not [check for check in package.checks if check.rule == "supply.charging"]


def test_a_catalog_without_amplifiers_or_cables_has_none_for_a_spot(bench: Bench) -> None:
    lay_car(bench)
    options(bench)
    catalog = Catalog(bench.con, DEFAULT_SETTINGS)
    question = question_of(catalog, stored_job(bench.con, "j1"))
    assert not amplifiers(catalog, question, Scoring(question.job.wishes, DEFAULT_SETTINGS)).candidates


# the vehicle's figures, then the verdict of supply.charging and what is missing; None: no such package
CHARGING: list[tuple[Row, str | None, list[str]]] = [
    # 2.17 A on music; a current that states no tolerance is good to 5 %
    ({"charge_a": 32, "base_load_a": 26}, "fits", []),  # 6 A over, good to 2.9 A
    ({"charge_a": 31.02, "base_load_a": 26}, "measure", []),  # 5.02 A over, good to 2.851 A: 1 mA too little
    ({"charge_a": {"value": 28.17, "tol": 0}, "base_load_a": {"value": 26, "tol": 0}}, "fits", []),
    ({"charge_a": {"value": 28.169, "tol": 0}, "base_load_a": {"value": 26, "tol": 0}}, None, []),
    ({"charge_a": 28.17, "base_load_a": 26}, "measure", []),
    ({"charge_a": 20, "base_load_a": 26}, None, []),
    ({"charge_a": {"value": 28, "tol": 1}, "base_load_a": {"value": 26, "tol": 0}}, "measure", []),
    ({"charge_a": {"value": 30, "tol": 1}, "base_load_a": {"value": 26, "tol": 0}}, "fits", []),
    ({"charge_a": None}, "measure", ["vehicle:tern.charge_a"]),
    ({"base_load_a": None}, "measure", ["vehicle:tern.base_load_a"]),
]


@pytest.mark.parametrize(("electrical", "verdict", "missing"), CHARGING)
def test_no_more_on_music_than_charging_has_over(
    bench: Bench, electrical: Row, verdict: str | None, missing: list[str]
) -> None:
    lay_car(bench, AMP, GOOD, **electrical)
    told = options(bench).packages
    if verdict is None:
        assert told == []
        return
    (package,) = told
    (check,) = [check for check in package.checks if check.rule == "supply.charging"]
    assert (check.verdict, check.missing, package.verdict) == (verdict, missing, verdict)


@pytest.mark.parametrize(
    ("amp", "cables", "runs", "missing"),
    [
        ({"class": None}, [GOOD], RUNS, ["part:amplifier-1.current_a", "part:amplifier-1.class"]),
        ({}, [GOOD], {}, ["vehicle:tern.battery_to_cargo_m"]),
        ({}, [], {}, []),
        ({}, [cable("dark", 10, area_mm2=10, conductor=None)], RUNS, ["part:dark.conductor"]),
    ],
)
def test_an_unknown_figure_is_measured_and_named(
    bench: Bench, amp: Row, cables: list[Row], runs: Row, missing: list[str]
) -> None:
    lay_car(bench, AMP | amp, *cables, runs=runs)
    (package,) = options(bench).packages
    assert (package.verdict, package.measure) == ("measure" if missing else "fits", missing)


def drawn_amplifier(draw: Random, number: int) -> Row:
    own = {"class": draw.choice([None, "d", "ab"]), "current_a": draw.choice([None, 10, 20.8, 40])}
    power = {"full_w_4ohm": draw.choice([40, 45, 50]), "price": draw.choice([100, 150, 150])}
    return AMP | own | power | {"part_id": f"amp{number}"}


@pytest.mark.parametrize("seed", first(4, range(20)))
def test_amplifiers_with_cable_and_charging_are_those_of_plain_enumeration(bench: Bench, seed: int) -> None:
    draw = Random(seed)
    amps = [drawn_amplifier(draw, number) for number in range(5)]
    cables = [
        cable(
            f"c{number}",
            draw.choice([20, 30, 30, 45]),
            area_mm2=draw.choice([None, 6, 7.43, 10, 16, 25]),
            length_m=draw.choice([None, 4, 5, 8]),
            conductor=draw.choice([None, "copper", "copper", "cca"]),
            rated_a=draw.choice([None, None, 20, 25, 60]),
        )
        for number in range(4)
    ]
    charge = draw.choice([27, 28.2, 29.5, 34, 65])
    exact = {"charge_a": {"value": charge, "tol": 0}, "base_load_a": {"value": 26, "tol": 0}}
    lay_car(bench, *amps, *cables, **exact)
    told = options(bench, top=50)
    want = {name: money for row in amps for name, money in [enumerated(row, cables, charge - 26)] if money is not None}
    got = {
        next(line.part_id for line in package.lines if line.slot == "amplifier"): (
            package.price.total - package.price.kit,
            next((line.part_id for line in package.lines if line.slot == "cable"), None),
            package.verdict,
        )
        for package in told.packages
    }
    assert got == want
    scores = [(-package.score, package.price.total) for package in told.packages]
    assert [score for score, _ in scores] == sorted(score for score, _ in scores)


def enumerated(row: Row, cables: list[Row], over_a: float) -> tuple[str, tuple[Decimal, str | None, str] | None]:
    """An amplifier with the first of its cables, by plain arithmetic; none where charging refuses it."""
    kind, stated, watts = row["class"], row["current_a"], row["full_w_4ohm"] * 4
    if kind is None and not stated:
        return row["part_id"], (Decimal(300 + row["price"]), None, "measure")
    bound = stated * 14.4 * {"d": 0.95, "ab": 0.785}[kind] if kind and stated else watts
    full = min(watts, bound) / {"d": 0.8, "ab": 0.55}[kind] / 14.4 if kind else stated
    music = {"d": full / 8, "ab": full / 8**0.5, None: 0}[kind]
    if round(music * 1000) > round(over_a * 1000, 6):
        return row["part_id"], None
    fuse = next(size for size in (7.5, 10, 15, 20, 25, 30, 35, 40, 50) if size >= full)
    ohm_mm2 = 0.017241 * 1.02 * (1 + 0.00393 * 55)
    area = 2 * full * 5 * ohm_mm2 / 0.5  # a fuse of 40 A wants 3.31 mm2 at most: over 5 m the drop always rules
    able = [(verdict, one) for one in cables if (verdict := carries(one, area, fuse)) != "no"]
    music_verdict = "fits" if kind else "measure"
    if not able:
        return row["part_id"], (Decimal(300 + row["price"]), None, music_verdict)
    verdict, best = min(able, key=lambda pair: (pair[0] != "fits", pair[1]["price"], pair[1]["part_id"]))
    return row["part_id"], (
        Decimal(300 + row["price"] + best["price"]),
        best["part_id"],
        min(verdict, music_verdict, key="measure fits".index),
    )


def carries(one: Row, area: float, fuse: float) -> str:
    """What may be said of a cable for an amplifier."""
    if (one["length_m"] is not None and one["length_m"] < 5) or (one["rated_a"] is not None and one["rated_a"] < fuse):
        return "no"
    if one["area_mm2"] is None or one["conductor"] is None:
        return "measure"
    if one["area_mm2"] < area * {"copper": 1, "cca": 1.6}[one["conductor"]]:
        return "no"
    return "measure" if one["length_m"] is None else "fits"
