"""The board that an amplifier stands on: its rules by hand, which one is bought, and what the shop makes."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from catalog_schema.answers import Line, Options, Package
from matcher.answers.boards import board_checks
from matcher.kernel.explain import explain
from matcher.rules.rule import rule_named
from matcher.search.candidates.amplifiers import amplifiers
from matcher.search.candidates.boards import board_of, made_board
from matcher.search.catalog.catalog import Catalog
from matcher.search.packages import PackageCandidate
from matcher.search.question import question_of
from matcher.search.scoring import Scoring
from matcher.settings import DEFAULT_SETTINGS
from matcher.store.database.kept_documents import stored_job
from matcher.store.documents.saving import save_job
from tests.bass.cars import bass_amplifier, box, cargo_space, driver
from tests.extras.test_extras_accessories import accessory
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

RULES = ("board.spot_width", "board.spot_depth", "board.width", "board.height", "board.over")

# rule, spot, board, amplifier, then: verdict, have, need, margin, tolerance, missing
SPOT, BOARD, AMP = {"w_mm": 300, "h_mm": 120, "d_mm": 250}, {"w_mm": 280, "h_mm": 220, "d_mm": 18}, (200, 50, 150)
TABLE: list[tuple[str, Row, Row, tuple[Any, ...], tuple[Any, ...]]] = [
    ("board.spot_width", {}, {}, AMP, ("fits", 300, 280, 20, 1.5, [])),
    ("board.spot_width", {"w_mm": 281.5}, {}, AMP, ("fits", 281.5, 280, 1.5, 1.5, [])),
    ("board.spot_width", {"w_mm": 281}, {}, AMP, ("measure", 281, 280, 1, 1.5, [])),
    ("board.spot_width", {"w_mm": 278}, {}, AMP, ("no", 278, 280, -2, 1.5, [])),
    ("board.spot_width", {}, {"w_mm": 220, "h_mm": 280}, AMP, ("fits", 300, 280, 20, 1.5, [])),
    ("board.spot_width", {"w_mm": None}, {}, AMP, ("measure", None, None, None, 1.5, ["opening.w_mm"])),
    ("board.spot_depth", {"d_mm": 221.5}, {}, AMP, ("fits", 221.5, 220, 1.5, 1.5, [])),
    ("board.spot_depth", {"d_mm": 218}, {}, AMP, ("no", 218, 220, -2, 1.5, [])),
    ("board.spot_depth", {}, {"h_mm": None}, AMP, ("measure", 250, None, None, 1.5, ["board.h_mm"])),
    ("board.width", {}, {"w_mm": 251}, AMP, ("fits", 251, 250, 1, 1, [])),
    ("board.width", {}, {"w_mm": 250.5}, AMP, ("measure", 250.5, 250, 0.5, 1, [])),
    ("board.width", {}, {"w_mm": 248}, AMP, ("no", 248, 250, -2, 1, [])),
    ("board.width", {}, {"w_mm": 280}, (150, 50, 200), ("fits", 280, 250, 30, 1, [])),
    ("board.height", {}, {"h_mm": 201}, AMP, ("fits", 201, 200, 1, 1, [])),
    ("board.height", {}, {"h_mm": 198}, AMP, ("no", 198, 200, -2, 1, [])),
    ("board.height", {}, {}, (200, 50, None), ("measure", 220, None, None, 1, ["part.d_mm"])),
    ("board.over", {}, {}, AMP, ("fits", 120, 118, 2, 2, [])),
    ("board.over", {}, {"d_mm": 19}, AMP, ("measure", 120, 119, 1, 2, [])),
    ("board.over", {}, {"d_mm": 23}, AMP, ("no", 120, 123, -3, 2, [])),
    ("board.over", {}, {"d_mm": None}, AMP, ("measure", 120, None, None, 2, ["board.d_mm"])),
]


@pytest.mark.parametrize(("rule", "spot", "board", "sides", "expected"), TABLE)
def test_rule(rule: str, spot: Row, board: Row, sides: tuple[Any, ...], expected: tuple[Any, ...]) -> None:
    things = (SPOT | spot, BOARD | board, dict(zip(("w_mm", "h_mm", "d_mm"), sides, strict=True)))
    tols = {"opening": 1, "board": 0.5, "part": 0.5}
    rows = {
        name: thing | {f"{side}_tol": tols[name] for side in thing} for name, thing in zip(tols, things, strict=True)
    }
    ((check,),) = explain([rule_named(rule)], columns_from(rows), DEFAULT_SETTINGS)
    found = numbers(check)
    if expected[3] is None:
        assert (found[0], found[3], found[5]) == (expected[0], None, expected[5])
    else:
        assert found == expected


SUPPLY = electrical(charge_a=300, charge_idle_a=200, base_load_a=10, battery_ah=70)
HEAD = head_unit(part_id="head", preouts=6, preout_v=2, standby_ma=1, amp_channels=0)
ONE = amplifier(part_id="amp", input_min_v=0.2, input_max_v=5, standby_ma=1, current_a=10, h_mm=50)


def board(name: str = "plank", price: int = 20, **changes: Any) -> Row:
    own = {"kind": "board", "part_id": name, "price": price, "labour_h": 1}
    return accessory("", ["amp_board"]) | own | BOARD | changes


def options(bench: Bench, *parts: Row, spots: tuple[Row, ...] = (amp_spot(),), bass: bool = False) -> Options:
    for family in ("head_unit", "accessory", "amplifier", "speaker", "subwoofer", "enclosure"):
        bench.con.execute(f"delete from {family}_rows")
    places = [dash_opening(), speaker_opening(), *spots, *([cargo_space()] if bass else [])]
    bench.lay(vehicle(*places, electrical=SUPPLY), HEAD, speaker(), *parts)
    document = job(choose=["head_unit", "door", *(["bass"] if bass else [])])
    save_job(bench.con, json.dumps(document, default=plain), "test")
    return bench.options("j1", top=3)


def boards(package: Package) -> list[Line]:
    return [line for line in package.lines if line.slot == "board"]


# the boards of the catalog, then the one that is bought; none: the shop makes it
BOUGHT: list[tuple[list[Row], str | None]] = [
    ([], None),
    ([board()], "plank"),
    ([board("dear", 30), board("cheap", 20)], "cheap"),
    ([board("b"), board("a")], "a"),
    # What is cheaper but not sure is not bought, and a board that nobody has measured leaves nothing to measure.
    ([board(), board("near", 5, w_mm=250.5)], "plank"),
    ([board(w_mm=250.5)], None),
    ([board(w_mm=None)], None),
    ([board(d_mm=None)], None),
    ([board(w_mm=251, h_mm=201)], "plank"),
    ([board(w_mm=298.5, h_mm=248.5)], "plank"),
    ([board(w_mm=299)], None),
    # A larger one that costs more never stands in for the cheaper one, nor a thicker one.
    ([board("large", 25, w_mm=290, h_mm=240), board()], "plank"),
    ([board("thick", 10, d_mm=21), board("thin", 20, d_mm=18)], "thin"),
    ([board("small", 10, w_mm=240), board("large", 20, w_mm=290)], "large"),
    ([board(kind="floor")], None),
]


@pytest.mark.parametrize(("catalog", "bought"), BOUGHT)
def test_the_cheapest_that_surely_does_is_bought_else_the_shop_makes_one(
    bench: Bench, catalog: list[Row], bought: str | None
) -> None:
    package = options(bench, ONE, *catalog).packages[0]
    (line,) = boards(package)
    assert (line.part_id, line.opening_id, line.alteration) == (bought, "seat", "bolt_on")
    assert package.verdict == "fits"
    rules = {check.rule: check.verdict for check in package.checks if check.rule.startswith("board.")}
    assert set(rules.values()) == ({"fits"} if bought else set())
    assert len(rules) == (5 if bought else 0)
    assert (line.label == "made by the shop") == (bought is None)


def test_it_has_a_price_hours_and_a_way_back(bench: Bench) -> None:
    bench.set("labour_rate", 60)
    try:
        package = options(bench, ONE, board()).packages[0]
    finally:
        bench.con.execute("delete from setting")
    bare = options(bench, ONE).packages[0]
    assert (package.price.parts - bare.price.parts, package.price.labour) == (20, 60)
    steps = [step.step for step in package.undo]
    assert steps.index("amplifier amp on its board (seat)") < steps.index("board plank (seat)")
    (back,) = (step for step in package.undo if step.step == "board plank (seat)")
    assert back.undo == "the board comes out, its bolts go back where they were" and back.keeps


def test_one_that_the_shop_makes_costs_what_the_shop_says(bench: Bench) -> None:
    unpriced = options(bench, ONE)
    assert [text for text in unpriced.cautions if "made_board_price" in text]
    for name, value in (("made_board_price", 12), ("made_board_labour_h", 2), ("labour_rate", 30)):
        bench.set(name, value)
    try:
        priced = options(bench, ONE)
    finally:
        bench.con.execute("delete from setting")
    assert priced.packages[0].price.total - unpriced.packages[0].price.total == 72
    assert not [text for text in priced.cautions if "made_board_price" in text]
    assert [step.undo for step in priced.packages[0].undo if step.step == "board made by the shop (seat)"]


WEAK = {"full_channels": 2, "full_bridged_w_4ohm": 10, "full_bridged_min_ohm": 4, "bass_channels": 0}
PAIR = (ONE | WEAK, bass_amplifier(current_a=40, h_mm=50), driver(qts=0.5), box())


def test_two_amplifiers_on_one_spot_stand_on_one_board_that_the_shop_makes(bench: Bench) -> None:
    told = options(bench, *PAIR, board(), spots=(amp_spot(w_mm=500),), bass=True)
    package = told.packages[0]
    assert {line.slot for line in package.lines} >= {"amplifier", "bass_amplifier"}
    (line,) = boards(package)
    assert (line.part_id, line.opening_id) == (None, "seat")


def test_on_two_spots_each_has_its_own(bench: Bench) -> None:
    narrow = amp_spot(opening_id="boot", w_mm=281)
    package = options(bench, *PAIR, board(), spots=(amp_spot(w_mm=300), narrow), bass=True).packages[0]
    assert {line.opening_id: line.part_id for line in boards(package)} == {"seat": "plank", "boot": None}


def test_the_board_bought_is_that_of_plain_enumeration(bench: Bench) -> None:
    """Many boards against many amplifiers, each pair asked as a package asks it."""
    sides = (210, 251, 280, 300)
    boards = [
        board(f"p{w}x{h}x{d}", int(w + h - 3 * d), w_mm=w, h_mm=h, d_mm=d)
        for w in sides
        for h in (199, 201, 230)
        for d in (9, 18)
    ]
    parts = [ONE | {"part_id": f"a{w}x{h}", "w_mm": w, "h_mm": h} for w in (150, 158.5, 200, 228) for h in (42, 50, 60)]
    options(bench, *parts, *boards)
    catalog = Catalog(bench.con, DEFAULT_SETTINGS)
    question = question_of(catalog, stored_job(bench.con, "j1"))
    scoring = Scoring(question.job.wishes, DEFAULT_SETTINGS)
    prices = sorted((row["price"], row["part_id"]) for row in boards)
    bought = set()
    rows = catalog.parts("accessory")
    for one in amplifiers(catalog, question, scoring).candidates:
        holds = (
            name
            for price, name in prices
            for tried in [_fitted(one, board_of(catalog, rows.row(name), "seat", scoring))]
            if all(check.verdict == "fits" for check in board_checks(catalog, question, [tried]))
        )
        (found,) = (each.part_id for each in one.along)
        assert found == next(holds, made_board(catalog, "seat", scoring).part_id)
        bought.add(found)
    assert None in bought and len(bought) > 3


def _fitted(one: Any, held: Any) -> PackageCandidate:
    return PackageCandidate(replace(one, along=(held,)))
