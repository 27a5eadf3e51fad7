"""The quick check: a part and an opening typed in, nothing stored."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from matcher.answers.quick import quick_fit
from matcher.commands.main import app
from matcher.errors import InputError
from matcher.settings import DEFAULT_SETTINGS
from matcher.shop import Shop
from tests.factories import Bench, speaker, speaker_opening

FIVE = ({"cutout_w": "127", "depth": "60"}, {"hole_w": "130", "depth": "70", "behind": "fixed"})


def asked(family: str, part: dict[str, str], opening: dict[str, str], **more: Any) -> Any:
    return quick_fit(family, part, opening, DEFAULT_SETTINGS, **{"alteration": "bolt_on"} | more)


@pytest.mark.parametrize(
    ("part", "opening", "known", "margin"),
    [
        ({}, {}, "fits", "3"),
        ({}, {"depth": "63"}, "measure", "0"),  # exactly on the limit: the tolerances decide
        ({}, {"depth": "55"}, "no", "-8"),
        ({"depth": "2 3/8 in"}, {}, "fits", "3"),
        ({}, {"behind": "moving_glass"}, "measure", "0"),
        ({}, {"depth": "70 ±0"}, "fits", "3"),
    ],
)
def test_five_figures_are_enough_to_begin_with(
    part: dict[str, str], opening: dict[str, str], known: str, margin: str
) -> None:
    answer, drawings = asked("speaker", FIVE[0] | part, FIVE[1] | opening)
    assert (answer.known, str(answer.least.margin.normalize())) == (known, margin)
    assert answer.fit.verdict != "fits", "what was not typed is no fit"
    assert "part.flange_w_mm" in answer.open
    assert len(answer.notes) == 2
    assert {"front", "section"} <= drawings.keys()


def test_it_says_what_the_check_of_a_stored_part_says() -> None:
    part, door = speaker(), speaker_opening()
    told = Bench().ask(part, door)
    typed = [
        {
            name: str(value)
            for name, value in row.items()
            if name.endswith(("_mm", "shape", "size", "kind", "_count", "behind")) and row[name] != "speaker"
        }
        for row in (part, door)
    ]
    answer, _ = asked("speaker", *typed)
    assert [(c.rule, c.verdict, c.margin, c.tol) for c in answer.fit.checks] == [
        (c.rule, c.verdict, c.margin, c.tol) for c in told.checks
    ]


@pytest.mark.parametrize(
    ("family", "part", "opening"),
    [
        ("head_unit", {"body_w": "178", "body_h": "50"}, {"shape": "rect", "w": "182", "h": "53"}),
        ("amplifier", {"w": "300", "d": "200", "h": "50"}, {"w": "400", "d": "250", "h": "150"}),
        ("enclosure", {"w": "300", "d": "300", "h": "300"}, {"w": "400", "d": "400", "h": "400"}),
    ],
)
def test_every_kind_of_opening_is_checked(family: str, part: dict[str, str], opening: dict[str, str]) -> None:
    answer, drawings = asked(family, part, opening)
    assert answer.known in ("fits", "measure")
    assert drawings
    assert asked(family, {}, {})[0].known in (None, "fits", "measure")


@pytest.mark.parametrize(
    ("family", "part", "opening", "word"),
    [
        ("film", {}, {}, "one of head_unit, speaker"),
        ("speaker", {"depht": "60"}, {}, "did you mean depth"),
        ("speaker", {}, {"with": "60"}, "of the opening"),
        ("speaker", {"depth": "deep"}, {}, "part depth_mm: found 'deep'"),
        ("speaker", {}, {"depth": "deep"}, "opening depth_mm: found 'deep'"),
        ("speaker", {"depth": "1,250"}, {}, "part depth_mm"),
        ("speaker", {}, {"behind": "nothing"}, "opening behind"),
        ("speaker", {"depth": "900"}, {}, "doubtful"),
        ("speaker", {}, {"depth": "9000"}, "doubtful"),
    ],
)
def test_a_check_that_is_impossible_is_refused_with_its_reason(family: str, part: Any, opening: Any, word: str) -> None:
    with pytest.raises(InputError) as refused:
        asked(family, part, opening)
    assert word in str(refused.value)


def test_the_command_stores_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    words = ["calc", "fit", "speaker", "--part", "depth=60", "--opening", "depth=70", "--opening", "behind=fixed"]
    run = CliRunner().invoke(app, [*words, "--json"])
    document = json.loads(run.stdout)
    assert (document["known"], document["fit"]["verdict"]) == ("fits", "measure")
    assert "As far as it is known: fits" in CliRunner().invoke(app, words).stdout
    assert list(tmp_path.iterdir()) == []
    refused = CliRunner().invoke(app, ["calc", "fit", "speaker", "--part", "depth"])
    assert "NAME=VALUE" in str(refused.exception)


def test_the_shops_own_clearance_counts(tmp_path: Path) -> None:
    shop = Shop(tmp_path / "shop.duckdb")
    shop.set("clearance_behind_mm.fixed", 9)
    answer, _ = quick_fit("speaker", *FIVE, shop.settings(), alteration="bolt_on")
    assert answer.known == "measure"


def test_a_quick_check_is_kept_as_a_part_and_as_a_car(tmp_path: Path) -> None:
    typed = ["calc", "fit", "speaker", "--part", "cutout_w=127", "--part", "depth=60", "--opening", "hole_w=130"]
    typed += ["--opening", "depth=70", "--opening", "behind=fixed", "--store", str(tmp_path / "shop.duckdb")]
    part = {"part_id": "S9", "maker": "Orme", "model": "X", "price": "60", "impedance_ohm": "4", "rms_w": "40"}
    words = [word for name, value in part.items() for word in ("--keep-part", f"{name}={value}")]
    Shop(tmp_path / "shop.duckdb").set("currency", "EUR")
    refused = CliRunner().invoke(app, [*typed, *words])
    assert isinstance(refused.exception, InputError)
    assert [one.column for one in refused.exception.problems] == ["size"]  # nothing of it is kept
    kept = CliRunner().invoke(app, [*typed, *words, "--keep-part", "size=130 mm", "--keep-car", "gull/door"])
    assert kept.exit_code == 0, kept.output
    shop = Shop(tmp_path / "shop.duckdb")
    depth = next(check for check in shop.fit("S9", "gull/door").checks if check.rule == "speaker.depth")
    assert depth.margin == 7
    again = CliRunner().invoke(app, [*typed, *words, "--keep-part", "size=130 mm"])
    assert "there is a part S9 already" in str(again.exception)
