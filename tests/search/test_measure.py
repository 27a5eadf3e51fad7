"""What to measure first: the deciding value of a figure, and who wins on either side of it."""

from __future__ import annotations

import json
import random
import time
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import count
from typing import Any

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from catalog_schema.answers import Options
from catalog_schema.schemas import read_schema
from catalog_schema.whys import MeasureFirst
from matcher.answers.sides import Sides, is_no_better
from matcher.commands.show_reasons import show_measure
from matcher.kernel.columns import Column, Columns
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import MICRO
from matcher.kernel.verdicts import worst
from matcher.rules.amp_board import BOARD
from matcher.rules.cargo import CARGO
from matcher.rules.dash import DASH
from matcher.rules.mount import BOARD_ON_SPOT
from matcher.rules.rule import Rule, every_rule, figures_of
from matcher.rules.speaker import SPEAKER
from matcher.rules.terms import FigureTerm, read_by
from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.enumeration import SumLimits
from matcher.search.field import RankingField
from matcher.search.packages import Found
from matcher.search.ranking import best_of
from matcher.search.what_if import forced
from matcher.search.what_if.unmeasured import NEEDED, ONE_WAY
from matcher.settings import DEFAULT_SETTINGS
from matcher.store.documents.saving import save_job
from matcher.store.readings.subjects import split_figure
from tests.factories import Bench, Row, check_of, dash_opening, head_unit, job, speaker, speaker_opening, vehicle
from tests.search.findings import Values, pivotal, winner
from tests.soak import first
from tests.supposed import supposed

UNIT = head_unit(amp_channels=4, amp_w=40, amp_min_ohm=4, preouts=0, standby_ma=5, screen="flush")
LOUD = speaker(part_id="loud", sens_db=94, sens_basis="1w")
PLAIN = speaker(part_id="plain", sens_db=90, sens_basis="1w")


@pytest.fixture
def shop() -> Iterator[Bench]:
    made = Bench()
    yield made
    made.con.close()


def asked(shop: Bench, *parts: Row, door: Row | None = None, **document: Any) -> MeasureFirst:
    """What is to be measured for a job on a car with these doors."""
    shop.lay(UNIT, *parts, vehicle(dash_opening(), speaker_opening(**door or {})))
    save_job(shop.con, json.dumps(job(**document)), "test")
    told = shop.measure("j1")
    Draft202012Validator(read_schema("measure")).validate(told.to_dict())
    return told


def with_figure(shop: Bench, figure: str, value: object) -> Options:
    """The job's options, were a figure read so."""
    with supposed(shop.con, {figure: value}):
        return shop.options("j1")


# the part, the opening, the rule that wants a figure, the deciding value and its side
DECIDED: list[tuple[Row, Row, str, str, float]] = [
    ({"depth_mm": None}, {}, "speaker.depth", "fits_up_to", 66),  # 70 less 3 to fixed metal, less 1 of the tape
    ({}, {"depth_mm": None}, "speaker.depth", "fits_from", 63.5),
    ({"cutout_w_mm": None}, {}, "speaker.hole_width", "fits_up_to", 144),
]


@pytest.mark.parametrize(("part", "door", "rule", "side", "value"), DECIDED)
def test_a_missing_figure_is_told_with_the_value_that_decides(
    shop: Bench, part: Row, door: Row, rule: str, side: str, value: float
) -> None:
    check = check_of(shop.ask(speaker(**part), speaker_opening(**door)), rule)
    decided = getattr(check, side)
    assert (check.verdict, float(decided)) == ("measure", value)
    (name,) = check.missing
    subject = "part:speaker-1" if name.startswith("part") else "opening:tern/door"
    beyond = decided + (Decimal("0.01") if side == "fits_up_to" else Decimal("-0.01"))
    for at, verdict in ((decided, "fits"), (beyond, "measure")):  # exactly on it, and a hair beyond
        with supposed(shop.con, {f"{subject}.{name.partition('.')[2]}": at}):
            assert check_of(shop.fit("speaker-1", "tern/door"), rule).verdict == verdict


def test_two_missing_figures_leave_no_value_to_decide(shop: Bench) -> None:
    check = check_of(shop.ask(speaker(depth_mm=None), speaker_opening(depth_mm=None)), "speaker.depth")
    assert (check.fits_from, check.fits_up_to, len(check.missing)) == (None, None, 2)


def test_an_unknown_depth_is_told_with_who_wins_on_either_side(shop: Bench) -> None:
    told = asked(shop, PLAIN, LOUD | {"depth_mm": None})
    (one,) = told.figures
    assert (one.figure, one.fits_up_to, one.is_missing, told.complete) == (
        "part:loud.depth_mm",
        Decimal(66),
        True,
        True,
    )
    assert one.fits_up_to is not None
    for value, brief in ((one.fits_up_to, one.inside), (one.fits_up_to + 3, one.outside)):
        best = with_figure(shop, one.figure, value).packages[0]
        assert brief is not None
        assert (brief.score, [line.part_id for line in brief.lines]) == (
            best.score,
            [line.part_id for line in best.lines],
        )
    assert one.outside is not None and told.best is not None
    assert one.points == one.inside.score - min(one.outside.score, told.best.score) > 0
    assert one.enter == "boltback reading add part:loud depth_mm VALUE"


def test_a_figure_of_the_opening_decides_for_all_its_parts(shop: Bench) -> None:
    deep = LOUD | {"depth_mm": 80, "part_id": "deep"}
    told = asked(shop, PLAIN, deep, door={"depth_mm": None})
    (one,) = told.figures
    assert one.figure == "opening:tern/door.depth_mm" and one.fits_from is not None
    assert [line.part_id for line in one.inside.lines] == ["head_unit-1", "deep"]
    best = with_figure(shop, one.figure, one.fits_from).packages[0]
    assert [line.part_id for line in best.lines] == ["head_unit-1", "deep"]


@pytest.mark.parametrize("value", [1, 40, 60, 66, 90])
def test_a_figure_that_cannot_change_the_winner_is_not_listed(shop: Bench, value: int) -> None:
    hopeless = speaker(part_id="dull", sens_db=60, sens_basis="1w", price=900, depth_mm=None)
    told = asked(shop, PLAIN, hopeless)
    assert (told.figures, told.complete) == ([], True)
    assert told.best is not None and told.best == told.sure
    best = with_figure(shop, "part:dull.depth_mm", value).packages[0]
    assert [line.part_id for line in best.lines] == ["head_unit-1", "plain"]


def test_a_loose_figure_is_told_with_how_closely_it_decides(shop: Bench) -> None:
    """The loud one has 1 mm to spare and 1.5 of tolerance: its depth, known to 0.0, would leave the tape's 1.0."""
    told = asked(shop, PLAIN, LOUD | {"depth_mm": 66})
    loose = {one.figure: one for one in told.figures}
    one = loose["opening:tern/door.depth_mm"]
    assert (one.is_missing, one.fits_from, one.within) == (False, Decimal("69.5"), Decimal("0.5"))
    assert [line.part_id for line in one.inside.lines] == ["head_unit-1", "loud"]


def test_exactly_at_the_deciding_value_the_winner_is_another_one_than_a_hair_beyond(shop: Bench) -> None:
    told = asked(shop, PLAIN, LOUD | {"depth_mm": None})
    (one,) = told.figures
    assert one.fits_up_to == 66
    assert winner(shop, {one.figure: Decimal("66")}) == ["head_unit-1", "loud"]
    assert winner(shop, {one.figure: Decimal("66.01")}) == ["head_unit-1", "plain"]


@dataclass(frozen=True)
class Unknown:
    """Figures of a small shop that nobody has taken, each with values on either side of all that decide."""

    parts: list[Row]
    door: Row
    values: Values


DEPTHS = (50, 58, 63, 65)
"""In an opening of 70 all of them surely fit."""


def drawn(seed: int) -> Unknown:
    """A shop of three loudspeakers, of which some depths or cut-outs are not known, or the opening is not."""
    rng, parts, values = random.Random(seed), list[Row](), dict[str, list[Decimal]]()
    open_door = rng.random() < 0.3
    for name in ("a", "b", "c"):
        part = speaker(part_id=name, sens_db=rng.choice([88, 90, 94]), sens_basis="1w", depth_mm=rng.choice(DEPTHS))
        if rng.random() < 0.6:
            field = rng.choice(["cutout_w_mm"] if open_door else ["cutout_w_mm", "depth_mm"])
            part[field], edge = None, {"cutout_w_mm": 144, "depth_mm": 66}[field]
            values[f"part:{name}.{field}"] = [Decimal(edge - 20), Decimal(edge), Decimal(edge + 5)]
        parts.append(part)
    if open_door:
        values[DOOR] = [Decimal(20), *(Decimal(deep) + Decimal("3.5") for deep in DEPTHS)]
    return Unknown(parts, {"depth_mm": None} if open_door else {}, values)


@pytest.mark.parametrize("seed", first(3, range(8)))
def test_the_figures_that_can_change_the_winner_are_those_that_trying_all_of_them_finds(shop: Bench, seed: int) -> None:
    """Figures of parts for an opening that is not measured count once it is."""
    unknown = drawn(seed)
    told = asked(shop, *unknown.parts, door=unknown.door)
    changing = pivotal(shop, unknown.values)
    assert told.complete and told.not_weighed == []
    assert told.unmeasured == (["door"] if unknown.door else [])
    assert told.best is not None
    won = tuple(f"part:{line.part_id}." for line in told.best.lines)
    assert {one.figure for one in told.figures} == {
        name for name in changing if name == DOOR or not unknown.door or name.startswith(won)
    }
    for depth in unknown.values.get(DOOR, []):
        known = {name: values for name, values in unknown.values.items() if name != DOOR}
        told = asked(shop, *unknown.parts, door={"depth_mm": {"value": str(depth), "tol": 0}})
        assert {one.figure for one in told.figures} == pivotal(shop, known)


DOOR = "opening:tern/door.depth_mm"


def test_where_it_is_ended_early_it_says_what_may_be_missed(shop: Bench) -> None:
    open_ones = [speaker(part_id=name, sens_db=94, sens_basis="1w", depth_mm=None) for name in ("x", "y", "z")]
    shop.lay(UNIT, PLAIN, *open_ones, vehicle(dash_opening(), speaker_opening()))
    save_job(shop.con, json.dumps(job()), "test")
    whole, some = shop.measure("j1"), shop.measure("j1", looks=1)
    assert (whole.complete, len(whole.figures), whole.most_missed) == (True, 3, None)
    assert (some.complete, len(some.figures)) == (False, 1)
    assert some.most_missed is not None and some.most_missed >= max(one.inside.score for one in whole.figures)


def test_no_time_at_all_ends_before_a_best_package(shop: Bench) -> None:
    asked(shop, PLAIN, LOUD | {"depth_mm": None})
    told = shop.measure("j1", seconds=0)
    assert (told.best, told.complete, told.figures, told.most_missed) == (None, False, [], None)
    assert "before the best package was certain" in told.says
    Draft202012Validator(read_schema("measure")).validate(told.to_dict())


@pytest.mark.parametrize("figures", [0, 1])
def test_where_time_is_over_in_the_midst_it_tells_what_it_found(
    shop: Bench, monkeypatch: pytest.MonkeyPatch, figures: int
) -> None:
    """While the first figure is weighed, and while the second is; on its bad side a part fits nowhere."""
    open_ones = [speaker(part_id=name, sens_db=94, sens_basis="1w", depth_mm=None) for name in ("x", "y", "z")]
    whole, left = asked(shop, PLAIN, *open_ones), count()

    def ended(field: RankingField, limits: SumLimits, budget: SearchBudget, floor: int) -> Found | None:
        if next(left) >= figures:
            budget.until = time.monotonic()
        return best_of(field, limits, budget, floor)

    monkeypatch.setattr(forced, "best_of", ended)
    told = shop.measure("j1", seconds=60)
    assert (told.complete, len(told.figures), whole.complete, len(whole.figures)) == (False, figures, True, 3)
    assert told.most_missed is not None
    assert told.most_missed >= max(one.inside.score for one in whole.figures if one not in told.figures)
    assert "ended early" in told.says and shop.readings.all() == []
    Draft202012Validator(read_schema("measure")).validate(told.to_dict())


def test_what_was_supposed_is_forgotten(shop: Bench) -> None:
    asked(shop, PLAIN, LOUD | {"depth_mm": None})
    before = shop.options("j1").packages
    assert with_figure(shop, "part:loud.depth_mm", 10).packages != before
    assert shop.options("j1").packages == before
    assert shop.readings.all() == []


def test_what_to_measure_is_printed_with_how_to_enter_it(shop: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    show_measure(asked(shop, PLAIN, LOUD | {"depth_mm": None}))
    printed = capsys.readouterr().out
    assert "loud, mounting depth: " in printed and "66 mm or less: " in printed
    assert "boltback reading add part:loud depth_mm VALUE" in printed


def read_at(kind: str) -> set[str]:
    """The rules' scopes at a kind of opening."""
    return {"dash": {DASH}, "speaker": {SPEAKER}, "amp_spot": {BOARD, BOARD_ON_SPOT}, "cargo": {CARGO}}[kind]


@pytest.mark.parametrize("kind", NEEDED)
def test_of_a_figure_that_is_one_way_every_part_needs_enough_and_no_rule_wants_less(kind: str) -> None:
    def is_one_way(one: FigureTerm) -> bool:
        return one.subject == "opening" and one.field in ONE_WAY[kind]

    rules = [rule for rule in every_rule() if rule.scope in read_at(kind)]
    needed = {one.field for rule in rules if rule.when is None for one in rule.have.figures() if is_one_way(one)}
    assert ONE_WAY[kind] <= needed <= NEEDED[kind]
    assert not any(map(is_one_way, read_by(*(rule.when for rule in rules if rule.when is not None))))
    if any(map(is_one_way, (one for rule in rules for one in rule.need.figures()))):  # how a part lies, or is turned
        for scope in read_at(kind):
            sized = tuple(rule for rule in rules if rule.scope == scope and any(map(is_one_way, figures_of((rule,)))))
            assert_more_is_no_worse(sized, ONE_WAY[kind])


def assert_more_is_no_worse(rules: tuple[Rule, ...], fields: Collection[str]) -> None:
    rng = np.random.default_rng(1)
    figures = {str(one): one for one in figures_of(rules)}
    sizes = {name: rng.integers(100, 900, 5000) * MICRO for name in figures}
    for name in (name for name, one in figures.items() if one.subject == "opening" and one.field in fields):
        larger = {**sizes, name: sizes[name] + rng.integers(0, 300, 5000) * MICRO}
        before, after = (
            worst(rules, Evaluation(Columns({each: Column(mm) for each, mm in some.items()}), DEFAULT_SETTINGS))
            for some in (sizes, larger)
        )
        assert (after >= before).all(), name
        assert (after > before).any(), name


SHALLOW, DEEP = (Sides(Decimal(deep), Decimal(deep - 3), is_one_way=True) for deep in (50, 60))


@pytest.mark.parametrize(
    ("worse", "shared", "is_so"),
    [
        ({"door": SHALLOW}, {"door": DEEP}, True),
        ({"door": DEEP}, {"door": DEEP}, True),
        ({"door": DEEP}, {"door": SHALLOW}, False),
        ({"door": replace(SHALLOW, is_one_way=False)}, {"door": DEEP}, False),
        ({"door": SHALLOW}, {"door": DEEP, "dash": DEEP}, False),
    ],
)
def test_fits_with_less_room_hold_with_more(worse: dict[str, Sides], shared: dict[str, Sides], is_so: bool) -> None:
    assert is_no_better(worse, shared) == is_so


def test_an_opening_that_is_not_measured_is_told_with_what_knowing_it_brings(shop: Bench) -> None:
    told = asked(shop, LOUD, door={"depth_mm": None})
    (one,) = told.figures
    assert (told.unmeasured, one.figure, one.is_missing) == (["door"], DOOR, True)
    assert told.best is not None and one.points == one.inside.score - told.best.score > 0


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("part:00123.depth_mm", ("part:00123", "depth_mm")),
        ("opening:tern/dash.keep_clear.hazard switch.y_mm", ("opening:tern/dash", "keep_clear.hazard switch.y_mm")),
        ("vehicle:tern.charge_a", ("vehicle:tern", "charge_a")),
    ],
)
def test_a_figure_is_named_by_its_subject_and_its_field(name: str, parts: tuple[str, str]) -> None:
    assert split_figure(name) == parts
