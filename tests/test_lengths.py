"""Lengths in the shop's unit: what is told is what is read back, on terminal, page, paper and drawing alike."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from decimal import ROUND_CEILING, Decimal
from pathlib import Path
from threading import Barrier

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog_schema.figures import read_number
from matcher import Shop
from matcher.answers.messages import amount
from matcher.answers.quick import quick_fit
from matcher.answers.sentences import Sentence
from matcher.commands.catalog_words import figure_text
from matcher.drawings.words import DrawingWords
from matcher.lengths import SIXTEENTH_MM, length_text, on_the_safe_side, shown_unit, tell_lengths_in, with_unit
from matcher.papers.numbers import Numbers
from matcher.settings import Settings
from matcher.web.vehicle_form import fields_of, opening_groups, written
from matcher.web.wording import spare


@pytest.fixture(autouse=True)
def in_inches() -> Iterator[None]:
    """Inches for each of these tests, and millimeters again behind it."""
    tell_lengths_in("in")
    yield
    tell_lengths_in("mm")


@pytest.mark.parametrize(
    ("mm", "told"),
    [
        ("25.4", "1"),
        ("1.5875", "1/16"),
        ("2.38125", "1/8"),  # half way between two sixteenths
        ("304.8", "12"),
        ("0", "0"),
        ("0.5", "0.02"),  # under a sixteenth it is not nothing
        ("-61", "-2 3/8"),
    ],
)
def test_inches_are_told_to_a_sixteenth(mm: str, told: str) -> None:
    assert length_text(Decimal(mm)) == told


@given(st.integers(1, 3000))
def test_a_length_in_sixteenths_is_read_back_as_it_was(count: int) -> None:
    typed = with_unit(length_text(count * SIXTEENTH_MM), "in")
    assert read_number(typed, "mm") == count * SIXTEENTH_MM


@given(st.decimals("-400", "400", places=2))
def test_room_is_never_told_larger_than_it_is(mm: Decimal) -> None:
    assert on_the_safe_side(mm) <= mm <= on_the_safe_side(mm, ROUND_CEILING)


SHOWN = {"mm": "61 mm", "in": "2 3/8 in"}


def shops_of_both_units(folder: Path) -> dict[str, Shop]:
    shops = {unit: Shop(folder / f"{unit}.duckdb") for unit in SHOWN}
    for unit, shop in shops.items():
        shop.set("units", unit)
        shop.vehicles.save({"vehicle_id": "van", "openings": [{"opening_id": "door", "kind": "speaker"}]})
        shop.readings.add("opening:van/door", "depth_mm", "61")
    return shops


def assert_shows(shown: str) -> None:
    assert str(Sentence("{depth} deep", depth=amount(61, "mm"))) == f"{shown} deep"
    assert Numbers("en").amount(61, "mm").replace("\u00a0", " ") == shown
    assert DrawingWords().mm(61) == shown.removesuffix(" mm")
    assert spare(Decimal("61.4"), "mm") == shown


def test_two_shops_of_different_units_are_asked_side_by_side(tmp_path: Path) -> None:
    """The process had one unit: the shop that was asked last set it for every thread."""
    shops, both_asked = shops_of_both_units(tmp_path), Barrier(2, timeout=60)

    def ask(unit: str) -> str:
        reading = next(iter(shops[unit].readings.all()))
        both_asked.wait()
        assert_shows(SHOWN[unit])
        return figure_text(reading.figure, reading.field)

    with ThreadPoolExecutor() as threads:
        assert list(threads.map(ask, SHOWN)) == ["61", "2 3/8 in"]
    for unit, shop in shops.items():  # and one after the other in one thread
        cells = shop.vehicles.get("van").cells
        assert f"depth_mm {SHOWN[unit].removesuffix(' mm')}" in cells[1][3]
        assert_shows(SHOWN[unit])


def test_an_answer_of_another_thread_keeps_its_unit() -> None:
    depth = pickle.dumps(amount(61, "mm"))
    tell_lengths_in("mm")
    assert pickle.loads(depth) == "2 3/8 in"


def test_the_older_word_for_millimeters_and_inches_reads_as_millimeters() -> None:
    settings = Settings({}, {"units": "mm_in"})
    assert (settings.word("units"), settings.given("units")) == ("mm", None)


def test_a_quick_check_is_told_in_the_unit_of_the_shop() -> None:
    """It was told in millimeters, and all behind it: its store in memory had no unit of its own."""
    settings = Settings({}, {"units": "in"})
    answer, _ = quick_fit(
        "speaker", {"depth_mm": "50"}, {"depth_mm": "60", "behind": "fixed"}, settings, alteration="bolt_on"
    )
    assert shown_unit("mm") == "in"
    depth = next(check for check in answer.fit.checks if check.rule == "speaker.depth")
    assert "1/4 in" in depth.says  # 60 - 50 - 3 to fixed metal is 7 mm


def test_a_box_holds_inches_and_a_bare_number_in_it_is_in_inches() -> None:
    opening = {"opening_id": "door", "kind": "speaker", "depth_mm": 61, "hole_w_mm": {"value": 92, "tol": 1}}
    groups = opening_groups(opening)
    fields = fields_of(opening, groups)
    assert (fields["depth_mm"], fields["hole_w_mm"]) == ("2 3/8", "3 5/8 ± 0.04")
    assert written(opening, fields, groups) == opening
    changed = written(opening, fields | {"depth_mm": "2 1/2", "hole_w_mm": "93 mm"}, groups)
    assert (changed["depth_mm"], changed["hole_w_mm"]) == ("2 1/2 in", "93 mm")
