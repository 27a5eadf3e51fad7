"""Lengths in the file are the figures themselves, whatever the scale on paper."""

from __future__ import annotations

import pytest

from tests.drawings.read import named, per, size_of
from tests.factories import Bench, dash_opening, floating_unit, speaker, speaker_opening, thing, vehicle


@pytest.fixture(scope="module")
def bench() -> Bench:
    bench = Bench()
    bench.lay(
        floating_unit(),
        speaker(),
        vehicle(dash_opening(keep_clear=[thing(x_mm=-20, y_mm=150, w_mm=40, h_mm=30)]), speaker_opening()),
    )
    return bench


@pytest.mark.parametrize(
    ("place", "part", "view", "name", "size"),
    [
        ("tern/dash", None, "front", "opening", (182, 53)),
        ("tern/dash", "floating-1", "front", "body", (178, 50)),
        ("tern/dash", "floating-1", "front", "face", (190, 60)),
        ("tern/dash", "floating-1", "front", "screen", (200, 120)),
        ("tern/dash", "floating-1", "front", "screen-range", (200, 200)),
        ("tern/dash", None, "front", "keep", (40, 30)),
        ("tern/dash", None, "front", "keep-room", (60, 50)),
        ("tern/door", None, "front", "hole", (145, 145)),
        ("tern/door", None, "front", "flat", (180, 180)),
        ("tern/door", "speaker-1", "front", "flange", (165, 165)),
        ("tern/door", "speaker-1", "front", "cutout", (140, 140)),
        ("tern/door", "speaker-1", "front", "magnet", (90, 90)),
        ("tern/door", "speaker-1", "section", "flange", (165, 2)),
    ],
)
def test_a_thing_is_as_large_as_its_figures(
    bench: Bench, place: str, part: str | None, view: str, name: str, size: tuple[float, float]
) -> None:
    (element,) = named(bench.drawings.drawing(place, part)[view], name)
    assert size_of(element) == pytest.approx(size)


def test_up_is_up(bench: Bench) -> None:
    (keep,) = named(bench.drawings.drawing("tern/dash")["front"], "keep")
    assert (float(keep.get("x", "")), float(keep.get("y", ""))) == (-20, -180)


def test_a_screen_hangs_where_it_keeps_the_most_room(bench: Bench) -> None:
    (screen,) = named(bench.drawings.drawing("tern/dash", "floating-1")["front"], "screen")
    assert float(screen.get("y", "")) == -60  # its lowest place: the thing to reach is over it


def test_the_scale_on_paper_is_one_number_for_both_sides(bench: Bench) -> None:
    for drawing in bench.drawings.drawing("tern/door", "speaker-1").values():
        assert drawing.w_mm * per(drawing) == pytest.approx(float(named_view(drawing)[2]), abs=0.01)
        assert drawing.h_mm * per(drawing) == pytest.approx(float(named_view(drawing)[3]), abs=0.01)


def named_view(drawing: str) -> list[str]:
    return drawing.partition('viewBox="')[2].partition('"')[0].split()
