"""Why: what is told of a job without a package, of one with, and of a part that is not in the best."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from catalog_schema.schemas import read_schema
from catalog_schema.whys import PartReason, Why
from matcher.commands.main import app
from matcher.commands.show_reasons import show_why
from matcher.errors import NotKnown
from tests.factories import (
    Bench,
    Row,
    adapter,
    amp_spot,
    amplifier,
    dash_opening,
    head_unit,
    job,
    part,
    speaker,
    speaker_opening,
    store_file,
    vehicle,
)

UNIT = {"amp_channels": 4, "amp_w": 40, "amp_min_ohm": 4, "preouts": 0, "standby_ma": 5}
UNIT |= {"features": ["radio"], "screen": "flush"}
PARTS = [
    head_unit(**UNIT | {"part_id": "small", "screen_in": 7}),
    head_unit(**UNIT | {"part_id": "large", "screen_in": 9, "price": 900}),
    head_unit(**UNIT | {"part_id": "wide", "screen_in": 9, "price": 950}),
    head_unit(**UNIT | {"part_id": "vast", "screen_in": 9, "body_w_mm": 250}),
    speaker(part_id="plain", sens_db=90, sens_basis="1w"),
    speaker(part_id="quiet", sens_db=80, sens_basis="1w"),
    speaker(part_id="askew", sens_db=80, sens_basis="1w", bolt_circle_mm=165),
    speaker(part_id="hungry", rms_w=500),
    amplifier(part_id="amp", input_min_v=1, input_max_v=4, high_level_in=False, standby_ma=1),
    adapter(part_id="ring"),
    part("film", part_id="dark", vlt_pct=5),
    part("security", part_id="lock", covers=["tow"], standby_ma=0),
    part("security", part_id="dear-lock", covers=["tow"], standby_ma=0, price=200),
    part("security", part_id="bell", covers=["glass"], standby_ma=0),
    part("accessory", part_id="mirror-box", gives=["mirror"], needs=[], standby_ma=0),
]
CAR = vehicle(dash_opening(), speaker_opening(), amp_spot())


@pytest.fixture(scope="module")
def shop() -> Iterator[Bench]:
    made = Bench()
    made.lay(*PARTS, CAR)
    yield made
    made.con.close()


def why(shop: Bench, part_id: str | None = None, **document: Any) -> Why:
    """The reason about a job on that car."""
    from matcher.store.documents.saving import save_job

    save_job(shop.con, json.dumps(job(**document)), "test")
    told = shop.why("j1", part=part_id)
    Draft202012Validator(read_schema("why")).validate(told.to_dict())
    return told


HEAD_ALONE = {"choose": ["head_unit"], "keep": ["door"]}

# part, what else the job says, the reason, the limits that keep it out
REASONS: list[tuple[str, Row, str, list[list[str]]]] = [
    ("small", {}, "in", []),
    ("large", {}, "loses", []),
    ("wide", {}, "loses", []),  # not the first of its family by name: it was listed as no_fit
    ("vast", {}, "no_fit", []),
    ("large", {"limits": {"budget": 400}}, "limits", [["budget of 400"]]),
    ("small", {"limits": {"screen_min_in": 8}}, "limits", [["screen of at least 8 in"]]),
    ("quiet", {}, "loses", []),
    ("askew", {}, "limits", [["alteration at most bolt_on"]]),
    ("hungry", {}, "no_feed", []),
    ("amp", {"limits": {"budget": 350}}, "no_feed", []),  # no head unit here has an output for it
    ("ring", {}, "no_fit", []),
    ("dark", {}, "not_asked", []),
    ("lock", {"security_routes": ["tow"]}, "in", []),
    ("dear-lock", {"security_routes": ["tow"]}, "loses", []),
    ("bell", {"security_routes": ["tow"]}, "no_fit", []),
    ("mirror-box", {"limits": {"must": ["mirror"]}}, "in", []),
    ("mirror-box", {}, "not_asked", []),
    ("quiet", {"keep": ["door"]}, "limits", [["original stays at door"]]),
    # an original that need not stay may stay: the budget is enough, though not for another loudspeaker as well
    ("small", HEAD_ALONE | {"limits": {"budget": 210, "screen_min_in": 8}}, "limits", [["screen of at least 8 in"]]),
]


@pytest.mark.parametrize(("name", "document", "reason", "limits"), REASONS)
def test_the_first_reason_why_a_part_is_not_in_the_best_package(
    shop: Bench, name: str, document: Row, reason: str, limits: list[list[str]]
) -> None:
    told = why(shop, name, **document).part
    assert told is not None
    assert (told.reason, [conflict.limits for conflict in told.limits]) == (reason, limits)
    assert name in told.says


def lost(told: Why) -> PartReason:
    assert told.part is not None
    return told.part


def test_a_part_that_loses_is_told_with_the_points_the_parts_and_the_money(shop: Bench) -> None:
    told = why(shop, "quiet")
    reason = lost(told)
    assert told.best is not None and reason.package is not None and reason.difference is not None
    assert reason.difference.points == reason.package.score - told.best.score < 0
    assert [(swap.opening_id, swap.before, swap.after) for swap in reason.difference.swaps] == [
        ("door", "plain", "quiet")
    ]
    assert [(gain.criterion, gain.before - gain.after) for gain in reason.difference.gains] == [("level_db", 10)]  # type: ignore[operator]
    assert sum(reason.difference.criteria.values()) == reason.difference.points


def test_a_part_that_does_not_fit_is_told_with_its_checks_at_each_opening(shop: Bench) -> None:
    (fit,) = lost(why(shop, "vast")).fits
    assert (fit.opening, fit.verdict) == ("tern/dash", "no")
    assert [check.rule for check in fit.checks if check.verdict == "no"]


def test_a_part_that_nobody_knows_is_refused(shop: Bench) -> None:
    with pytest.raises(NotKnown, match="no part 'no-such'"):
        why(shop, "no-such")


def test_a_conflict_is_told_with_what_there_is_without_each_of_its_limits(shop: Bench) -> None:
    told = why(shop, limits={"budget": 250})
    assert told.best is None
    (conflict,) = told.conflicts
    assert conflict.limits == ["head unit wanted", "loudspeakers wanted at door", "budget of 250"]
    assert [one.limit for one in conflict.without] == conflict.limits
    assert all(one.package.price.total <= 250 for one in conflict.without[:2])
    first, *others = told.relaxations
    assert [(change.limit, change.after) for change in first.changes] == [("budget", "300.00")]
    assert first.package.price.total == 300
    assert {one.changes[0].limit for one in others} == {"choose.head_unit", "choose.door"}  # a wish given up, last


def test_a_job_with_a_package_is_told_that_nothing_conflicts_and_what_is_nearly_used_up(shop: Bench) -> None:
    told = why(shop, limits={"budget": 310, "at_rest_ma": 5})
    assert (told.conflicts, told.relaxations) == ([], [])
    assert [(near.rule, float(near.spare)) for near in told.near[:2]] == [("supply.at_rest", 0), ("limit.budget", 10)]
    assert all(near.unit == "mm" for near in told.near[2:])
    assert {slot.slot for slot in told.slots} == {"head_unit", "speaker"}


def test_reasons_are_printed_with_what_would_help(shop: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    show_why(why(shop, limits={"budget": 250}), full=True)
    printed = capsys.readouterr().out
    assert "a budget of 300.00 instead of 250" in printed
    assert "checked by ranking again" in printed
    show_why(why(shop, "large"))
    assert "large instead of small at dash" in capsys.readouterr().out


def test_the_command_answers_as_data_and_in_words(tmp_path: Any) -> None:
    from matcher import Shop

    path = store_file(tmp_path / "shop.duckdb", *PARTS, CAR)
    file = tmp_path / "job.json"
    file.write_text(json.dumps(job(limits={"budget": 250})), encoding="utf-8")
    Shop(path).jobs.load(file)
    run = CliRunner().invoke(app, ["why", "j1", "--json", "--store", str(path)])
    assert (run.exit_code, json.loads(run.stdout)["best"]) == (0, None)
    run = CliRunner().invoke(app, ["why", "j1", "plain", "--store", str(path)])
    assert run.exit_code == 0
    assert run.stdout.startswith("j1: plain Ulvo One would make a package")
