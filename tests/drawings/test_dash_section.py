"""A dash opening from the side: what is left behind the plugs and in front, and nothing where a figure is missing."""

from __future__ import annotations

from typing import Any

import pytest

from matcher.drawings.dash_section import dash_section
from matcher.drawings.placed import Placed
from tests.drawings.gallery import dash, unit
from tests.drawings.read import named, texts


def told(opening: dict[str, Any], part: dict[str, Any]) -> str:
    placed: Any = Placed(opening=dash(**opening), part=unit("Unit", **part))
    return " ".join(text for text, _ in texts(dash_section(placed)))


def test_the_room_behind_is_the_depth_less_body_and_plugs() -> None:
    whole = unit("Unit")
    assert whole.body_d_mm is not None
    left = 178 - float(whole.body_d_mm.value) - 50
    assert f"behind: free {left:g}" in told({}, {})


@pytest.mark.parametrize(("opening", "part"), [({"depth_mm": None}, {}), ({}, {"body_d_mm": None})])
def test_an_unknown_depth_leaves_the_room_open(opening: dict[str, Any], part: dict[str, Any]) -> None:
    assert "behind: free ? measure" in told(opening, part)


def test_as_found_it_shows_the_depth_alone() -> None:
    drawn = dash_section(Placed(opening=dash()))  # type: ignore[arg-type]
    assert named(str(drawn), "body") == [] and len(named(str(drawn), "panel")) == 2
