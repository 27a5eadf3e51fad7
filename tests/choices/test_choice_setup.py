"""Set-up of a car: targets from the chosen package, what was measured held against them, and lists with faults."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from catalog_schema.choices import OutputStep, Setup
from matcher.errors import InputError
from tests.choices.conftest import make_shop
from tests.factories import Bench

HEAD = "what,where,step,value,clean,tone_db"
WHOLE = """
output,,28,1.6 V,yes,
output,,30,2.4 V,yes,
output,,31,2.6 V,no,
gain,door,,14.1,,
polarity,door,,right,,
current,music,,1.2 A,,
drain,before,,14 mA,,
drain,after,,17 mA,,
"""


@pytest.fixture(scope="module")
def chosen_once() -> Iterator[Bench]:
    made = make_shop()
    made.choices.choose("j1", 1)
    yield made
    made.con.close()


@pytest.fixture
def shop(chosen_once: Bench) -> Bench:
    """A shop in which package 1 was chosen and nothing was measured yet."""
    chosen_once.con.execute("delete from reading; delete from setup")
    return chosen_once


def written(folder: Path, *rows: str, head: str = HEAD) -> Path:
    path = folder / "log.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def figures(setup: Setup) -> dict[str, str]:
    return {one.field: one.value for one in setup.values}


def test_without_a_log_it_says_what_to_measure(shop: Bench) -> None:
    """50 W into 4 ohm: the square root of 200 is 14.14 V; at -5 dB without overlap 7.95, at -10 dB 4.47."""
    plan = shop.choices.setup_record("j1")
    (gain,) = plan.gains
    assert (gain.opening_id, gain.source, gain.target_v) == ("door", "amplifier-1", Decimal("14.14"))
    assert [(one.tone_db, one.no_overlap_v, one.overlap_v) for one in gain.tones] == [
        (0, Decimal("14.14"), Decimal("14.14")),
        (-5, Decimal("7.95"), Decimal("14.14")),
        (-10, Decimal("4.47"), Decimal("14.14")),
    ]
    assert plan.number is None
    assert plan.to_measure == [
        "polarity at door",
        "the head unit's output by volume step, and where it clips",
        "gain at door",
        "current of the amplifiers on music",
        "standby drain",
    ]


def test_a_whole_log(shop: Bench, tmp_path: Path) -> None:
    setup = shop.choices.set_up("j1", file=written(tmp_path, *WHOLE.strip().splitlines()), by="Ada", note="meter 3")
    assert (setup.number, setup.choice, setup.by, setup.verdict, setup.to_measure) == (1, 1, "Ada", "fits", [])
    assert (setup.last_clean_step, setup.first_clipped_step, setup.clean_v) == (30, 31, Decimal("2.4"))
    assert figures(setup) == {
        "clean_step": "30",
        "clipped_step": "31",
        "clean_v": "2.4",
        "gain_v.door": "14.1",
        "polarity.door": "right",
        "music_a": "1.2",
        "rest_before_ma": "14",
        "rest_ma": "17",
    }
    claims = {(one.subject, one.field): (one.claimed, one.measured) for one in setup.claims}
    assert claims["part:head_unit-1", "preout_v"] == (2, Decimal("2.4"))
    assert claims["job:j1", "standby_ma"] == (3, 3)
    assert shop.choices.setup_record("j1") == setup


@pytest.mark.parametrize(
    ("row", "field", "value"),
    [
        ("high pass,door,,80 Hz,,", "high_pass_hz.door", "80"),
        ('low pass,door,,"2,5 kHz",,', "low_pass_hz.door", "2500"),
        ("delay,door,,2.4,,", "delay_ms.door", "2.4"),
        ("delay,door,,0.003 s,,", "delay_ms.door", "3"),
    ],
)
def test_a_setting_without_target_is_recorded(shop: Bench, tmp_path: Path, row: str, field: str, value: str) -> None:
    setup = shop.choices.set_up("j1", file=written(tmp_path, row))
    assert figures(setup) == {field: value}


def test_measured_values_are_readings_of_the_job(shop: Bench, tmp_path: Path) -> None:
    setup = shop.choices.set_up("j1", file=written(tmp_path, *WHOLE.strip().splitlines()), by="Ada")
    readings = shop.readings.all("job:j1")
    assert {one.field: one.value for one in readings} == figures(setup)
    assert {(one.by, one.note) for one in readings} == {("Ada", "set-up 1")}


def test_the_claim_gives_way_only_where_it_is_told_to(shop: Bench) -> None:
    steps = [OutputStep(step=Decimal(30), volts=Decimal("2.4"), clean=True)]
    assert shop.choices.set_up("j1", steps=steps).replaced == []
    assert shop.readings.all("part:head_unit-1") == []
    again = shop.choices.set_up("j1", values={"rest_ma": "9"}, replace_claims=True)
    assert again.replaced == ["part:head_unit-1.preout_v"]
    (reading,) = shop.readings.all("part:head_unit-1")
    assert (reading.field, reading.value, reading.note) == ("preout_v", "2.4", "set-up 2 of job j1")


def test_a_claim_that_nothing_was_read_for_cannot_give_way(shop: Bench) -> None:
    with pytest.raises(InputError, match="no clean output was read"):
        shop.choices.set_up("j1", values={"rest_ma": "9"}, replace_claims=True)
    assert shop.readings.all("job:j1") == []


def test_later_readings_are_added_to_earlier_ones(shop: Bench, tmp_path: Path) -> None:
    shop.choices.set_up("j1", file=written(tmp_path, *WHOLE.strip().splitlines()))
    again = shop.choices.set_up("j1", values={"polarity.door": "wrong"})
    assert (again.number, again.verdict, again.clean_v) == (2, "no", Decimal("2.4"))
    assert len(again.output) == 3
    assert [one.field for one in shop.readings.all("job:j1")[-1:]] == ["polarity.door"]


def test_a_step_that_is_read_later_joins_the_others(shop: Bench, tmp_path: Path) -> None:
    shop.choices.set_up("j1", file=written(tmp_path, *WHOLE.strip().splitlines()))
    again = shop.choices.set_up("j1", steps=[OutputStep(step=Decimal(29), volts=Decimal(2), clean=False)])
    assert [one.step for one in again.output] == [28, 29, 30, 31]
    assert (again.last_clean_step, again.clean_v, again.doubtful) == (28, Decimal("1.6"), [30])


def test_a_new_choice_is_set_up_anew(tmp_path: Path) -> None:
    shop = make_shop()
    shop.choices.choose("j1", 1)
    shop.choices.set_up("j1", file=written(tmp_path, *WHOLE.strip().splitlines()))
    shop.choices.choose("j1", 2)
    assert (shop.choices.setup_record("j1").number, shop.choices.setup_record("j1").choice) == (None, 2)
    assert shop.choices.set_up("j1", values={"rest_ma": "9"}).clean_v is None


@pytest.mark.parametrize(
    ("values", "name", "verdict"),
    [
        ({"gain_v.door": "14.84"}, "door", "fits"),  # 14.14 V and 5 %
        ({"gain_v.door": "14.85"}, "door", "no"),
        ({"gain_v.door": "3"}, "door", "fits"),  # quieter than it could be, and safe
        ({}, "door", "measure"),
        ({"gain_v.door": "14.1", "tone_db.door": "-5"}, "door", "fits"),
        ({"gain_v.door": "15", "tone_db.door": "-5"}, "door", "no"),
        ({"polarity.door": "right"}, "polarity", "fits"),
        ({"polarity.door": "wrong"}, "polarity", "no"),
        ({"rest_ma": "20"}, "standby drain", "fits"),  # exactly what the job allows
        ({"rest_ma": "20.01"}, "standby drain", "no"),
        ({"rest_ma": "34", "rest_before_ma": "14"}, "standby drain", "fits"),
        ({"rest_before_ma": "14"}, "standby drain", "measure"),
        ({"clean_v": "1"}, "input", "fits"),  # the input's least
        ({"clean_v": "0.99"}, "input", "no"),
        ({"clean_v": "4"}, "input", "fits"),  # its most
        ({"clean_v": "4.01"}, "input", "no"),
        ({"rest_ma": "1"}, "input", "measure"),
    ],
)
def test_measured_values_are_compared_with_their_targets(
    shop: Bench, values: dict[str, str], name: str, verdict: str
) -> None:
    setup = shop.choices.set_up("j1", values=values or {"music_a": "1"})
    found = {gain.opening_id: gain.verdict for gain in setup.gains} | {one.name: one.verdict for one in setup.checks}
    assert found[name] == verdict


@pytest.mark.parametrize(
    ("row", "column", "found", "expected"),
    [
        ("gain,dor,,12,,", "where", "dor", "an opening of the vehicle"),
        ("gain,,,12,,", "where", "", "the opening"),
        ("gain,door,,12 mm,,", "value", "12 mm", "V"),
        ("gain,door,,-12,,", "value", "-12", "0 or more"),
        ("gain,door,,,,", "value", "", "a value"),
        ("gain,door,,12,,x", "tone_db", "x", "dB"),
        ("gain,door,,nan,,", "value", "nan", "a voltage"),
        ("gain,dash,,12,,", "where", "dash", "an opening of the vehicle"),
        ("polarity,door,,perhaps,,", "value", "perhaps", "right"),
        ("output,,,2 V,yes,", "step", "", "the step"),
        ("output,,30,2 V,perhaps,", "clean", "perhaps", "yes or no"),
        ("output,,30,-2 V,yes,", "value", "-2 V", "0 or more"),
        ("current,half,,2,,", "where", "half", "music"),
        ("loudness,door,,2,,", "what", "loudness", "output, gain"),
        ("drain,after,,2,,\ndrain,,,3,,", "value", "3", "rest_ma once"),
    ],
)
def test_a_row_that_cannot_be_read_refuses_the_whole_list(
    shop: Bench, tmp_path: Path, row: str, column: str, found: str, expected: str
) -> None:
    path = written(tmp_path, "polarity,door,,right,,", row)
    with pytest.raises(InputError) as refused:
        shop.choices.set_up("j1", file=path)
    (problem,) = refused.value.problems
    assert (problem.file, problem.row, problem.column, problem.found) == (
        str(path),
        2 + len(row.split("\n")),
        column,
        found,
    )
    assert expected in problem.expected
    assert shop.readings.all("job:j1") == []
    assert shop.choices.setup_record("j1").number is None


def test_every_fault_of_a_list_is_named(shop: Bench, tmp_path: Path) -> None:
    path = written(tmp_path, "gain,,,12,,", "output,,,2 V,yes,", "loudness,door,,2,,")
    with pytest.raises(InputError) as refused:
        shop.choices.set_up("j1", file=path)
    assert [(one.row, one.column) for one in refused.value.problems] == [(2, "where"), (3, "step"), (4, "what")]


@pytest.mark.parametrize(
    ("head", "rows", "word"),
    [
        ("step,volts,clean", ["30,2.2,perhaps"], "perhaps"),
        ("what,where", ["gain,door"], "no column value"),
        (HEAD, [], "no rows in it"),
    ],
)
def test_a_list_that_is_none(shop: Bench, tmp_path: Path, head: str, rows: list[str], word: str) -> None:
    with pytest.raises(InputError, match=word):
        shop.choices.set_up("j1", file=written(tmp_path, *rows, head=head))


def test_a_head_units_log_alone_is_a_set_up_too(shop: Bench, tmp_path: Path) -> None:
    log = written(tmp_path, "28,1.8,yes", "30,2.2,yes", "31,2.4,no", "33,2.6,yes", head="step,volts,clean")
    setup = shop.choices.set_up("j1", file=log)
    assert (setup.last_clean_step, setup.clean_v, setup.doubtful) == (30, Decimal("2.2"), [33])


@pytest.mark.parametrize(("values", "word"), [({}, "no reading"), ({"gain_v.dor": "3"}, "an opening of the vehicle")])
def test_values_that_cannot_be_taken(shop: Bench, values: dict[str, str], word: str) -> None:
    with pytest.raises(InputError) as refused:
        shop.choices.set_up("j1", values=values)
    assert word in str(refused.value)


def test_a_job_without_a_choice_cannot_be_set_up() -> None:
    shop = make_shop()
    with pytest.raises(InputError, match="nothing was chosen"):
        shop.choices.set_up("j1", values={"rest_ma": "3"})
    assert shop.choices.setup_record("j1").choice is None
