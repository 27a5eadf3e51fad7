"""The pictures of a proposal: to one scale, from known figures alone."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import inf
from types import SimpleNamespace
from typing import Any

import pytest

from catalog_schema.answers import Line
from matcher.drawings.dash_picture import dash_picture
from matcher.drawings.gather_offer import _range
from matcher.drawings.going_back import going_back
from matcher.drawings.placed import Placed
from matcher.drawings.response import Response, frequencies, response_plot
from tests.drawings.gallery import dash, fig, unit
from tests.drawings.read import tree


def placed(**changes: Any) -> Any:
    return Placed(opening=dash(), part=unit("Unit"), rise_mm=Decimal("12.5"), **changes)


def test_before_and_after_are_drawn_to_one_scale_over_the_same_stretch() -> None:
    after = placed()
    today = replace(after, part=None)
    shown = [dash_picture(one, [today, after]) for one in (today, after)]
    boxes = {tree(one).get("viewBox") for one in shown if one is not None}
    assert len(boxes) == 1


def test_the_screen_hangs_as_high_as_the_rules_say() -> None:
    drawn = dash_picture(placed())
    assert drawn is not None
    screen = next(one for one in tree(drawn).iter() if one.get("class") == "screen")
    high = unit("Unit").screen_h_mm
    assert high is not None
    top = float(str(screen.get("d")).split("h")[0].split()[1])
    assert top == pytest.approx(-12.5 - float(high.value) / 2)


@pytest.mark.parametrize("size", ["w_mm", "h_mm"])
def test_a_dash_of_unknown_size_is_not_pictured(size: str) -> None:
    assert dash_picture(Placed(opening=dash(**{size: None}), part=unit("Unit"))) is None  # type: ignore[arg-type]


def test_a_lever_before_the_dash_is_not_pictured() -> None:
    lever = replace(dash().keep_clear[0], name="lever", reach="lever", y_mm=fig(-400))
    whole = dash()
    with_lever = Placed(opening=replace(whole, keep_clear=(*whole.keep_clear, lever)))
    assert dash_picture(with_lever) == dash_picture(Placed(opening=whole))  # type: ignore[arg-type]


def test_what_no_part_plays_has_no_line() -> None:
    levels = tuple(100.0 if 100 <= hz <= 200 or hz >= 1000 else -inf for hz in frequencies())
    drawn = response_plot([Response("A", levels)])
    assert drawn is not None
    assert len([one for one in tree(drawn).iter() if one.get("class") == "response-A"]) == 2
    assert drawn.describes.startswith("A reaches 100 dB at most")


def test_packages_that_sound_alike_share_a_line() -> None:
    """The line of the second covered that of the first."""
    levels = tuple(100.0 for _ in frequencies())
    drawn = response_plot([Response("A", levels), Response("B", levels), Response("C", tuple(99.0 for _ in levels))])
    assert drawn is not None
    assert [one.text for one in tree(drawn).iter() if one.text in ("A, B", "C")] == ["A, B", "C"]


@pytest.mark.parametrize(("today_db", "lines"), [(90.0, 2), (60.0, 1)])  # the frame shows 70 to 110 dB
def test_the_present_sound_is_drawn_beside_the_packages(today_db: float, lines: int) -> None:
    levels = tuple(100.0 for _ in frequencies())
    drawn = response_plot([Response("A", levels)], [today_db for _ in levels])
    assert drawn is not None
    assert len([one for one in tree(drawn).iter() if str(one.get("class")).startswith("response-")]) == lines


def test_without_a_known_level_or_an_original_nothing_is_drawn() -> None:
    assert response_plot([Response("A", tuple(-inf for _ in frequencies()))]) is None
    assert going_back([]) is None


@pytest.mark.parametrize(("count", "level_db"), [(1, 90.0), (2, 93.01), (None, 93.01)])
def test_a_pair_of_originals_that_stays_is_heard_as_two(count: int | None, level_db: float) -> None:
    stays = Line(
        slot="speaker", opening_id="door", part_id=None, qty=0, pieces=0, level_db=Decimal(90), low_hz=Decimal(80)
    )
    package: Any = SimpleNamespace(lines=[stays], filter_of=lambda opening_id: None)
    opening = {"count": count, "original_high_hz": Decimal(12000)}
    found = _range(package, stays, opening, {})
    assert found == (80.0, 12000.0, pytest.approx(level_db, abs=0.01))
