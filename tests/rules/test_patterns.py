"""Flanges with several bolt patterns: one that an opening's holes meet is enough."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from catalog_schema.patterns import PatternsKind
from catalog_schema.problems import FieldError
from matcher.kernel.columns import columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import from_micro
from matcher.rules.layouts import Unmatched
from matcher.rules.subjects import mouth, part
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import Bench, Row, check_of, numbers, speaker, speaker_opening

UNSTATED = {"bolt_circle_mm": None, "bolt_count": None}

PATTERNS: list[tuple[str, Row, Row, tuple[Any, ...], tuple[Any, ...]]] = [
    # the opening's holes are 4 on 155; expected of bolt_circle, then of bolt_count
    ("own", {"bolt_patterns": ["2x130"]}, {}, ("fits", 3, 0, 3, 1.5, []), ("fits", 0, 0, 0, 0, [])),
    (
        "another of the flange",
        {"bolt_circle_mm": 130, "bolt_count": 2, "bolt_patterns": ["4x156"]},
        {},
        ("fits", 3, 1, 2, 1.5, []),
        ("fits", 0, 0, 0, 0, []),
    ),
    (
        "nearest of three",
        {"bolt_circle_mm": 130, "bolt_patterns": ["4x150", "8x155.5", "4x160"]},
        {},
        ("fits", 3, 0.5, 2.5, 1.5, []),
        ("fits", 0, 0, 0, 0, []),
    ),
    (
        "exactly on the limit",
        {"bolt_circle_mm": 130, "bolt_patterns": ["4x156.5"]},
        {},
        ("fits", 3, 1.5, 1.5, 1.5, []),
        ("fits", 0, 0, 0, 0, []),
    ),
    (
        "right circle, holes that do not meet",
        {"bolt_circle_mm": 130, "bolt_count": 4, "bolt_patterns": ["6x155"]},
        {},
        ("no", 3, 25, -22, 1.5, []),
        ("fits", 0, 0, 0, 0, []),
    ),
    (
        "only in the list",
        UNSTATED | {"bolt_patterns": ["4x155"]},
        {},
        ("fits", 3, 0, 3, 1.5, []),
        ("fits", 0, 0, 0, 0, []),
    ),
    (
        "only in the list, none meets",
        UNSTATED | {"bolt_patterns": ["3x120", "6x140"]},
        {},
        ("no", 3, 35, -32, 1.5, []),
        ("no", 0, 2, -2, 0, []),
    ),
    (
        "nothing known",
        UNSTATED,
        {},
        ("measure", 3, None, None, 1.5, ["part.bolt_circle_mm"]),
        ("measure", 0, None, None, 0, ["part.bolt_count"]),
    ),
    (
        "opening not known",
        {"bolt_circle_mm": 130, "bolt_patterns": ["4x155"]},
        {"bolt_circle_mm": None},
        ("measure", 3, None, None, 1.5, ["opening.bolt_circle_mm"]),
        ("fits", 0, 0, 0, 0, []),
    ),
    ("four of eight", {"bolt_count": 8}, {}, ("fits", 3, 0, 3, 1.5, []), ("fits", 0, 0, 0, 0, [])),
    ("four in eight", {}, {"bolt_count": 8}, ("fits", 3, 0, 3, 1.5, []), ("fits", 0, 0, 0, 0, [])),
    ("six on four", {"bolt_count": 6}, {}, ("fits", 3, 0, 3, 1.5, []), ("no", 0, 2, -2, 0, [])),
    ("three of eight", {"bolt_count": 3}, {"bolt_count": 8}, ("fits", 3, 0, 3, 1.5, []), ("no", 0, 2, -2, 0, [])),
]


@pytest.mark.parametrize(
    ("own", "measured", "circle", "count"), [case[1:] for case in PATTERNS], ids=[case[0] for case in PATTERNS]
)
def test_pattern_that_holds_it(
    bench: Bench, own: Row, measured: Row, circle: tuple[Any, ...], count: tuple[Any, ...]
) -> None:
    fit = bench.ask(speaker(**own), speaker_opening(**measured))
    assert numbers(check_of(fit, "speaker.bolt_circle")) == circle
    assert numbers(check_of(fit, "speaker.bolt_count")) == count


def meeting_holes(first: int, second: int) -> int:
    """The most holes of two evenly spaced sets that fall together, by turning one a hole at a time."""
    other = {round(at * 360 / second, 9) for at in range(second)}
    turns = (step * 360 / (first * second) for step in range(first * second))
    return max(len(other & {round((at * 360 / first + turn) % 360, 9) for at in range(first)}) for turn in turns)


def test_holes_that_meet_no_other_against_turning() -> None:
    pairs = [(first, second) for first in range(2, 13) for second in range(2, 13)]
    columns = columns_of("part", [{"bolt_count": first} for first, _ in pairs])
    columns |= columns_of("mouth", [{"bolt_count": second} for _, second in pairs])
    found = Evaluation(columns, DEFAULT_SETTINGS).value(Unmatched(part.bolt_count, mouth.bolt_count)).values
    assert [int(from_micro(one)) for one in np.ravel(found)] == [min(pair) - meeting_holes(*pair) for pair in pairs]


@pytest.mark.parametrize(
    ("cell", "read"),
    [
        ("4x156; 2 x 130", ["4x156", "2x130"]),
        ("8×92,5mm", ["8x92.5"]),
        (["4x156.0"], ["4x156"]),
        ("4 x Ø130", ["4x130"]),
    ],
)
def test_lists_write_patterns_in_many_ways(cell: Any, read: list[str]) -> None:
    assert list(PatternsKind().read(cell) or ()) == read


@pytest.mark.parametrize("cell", ["156", "1x156", "4x5", "4x156 screws", "40x156", "four"])
def test_what_is_no_pattern_is_refused(cell: str) -> None:
    with pytest.raises(FieldError, match="4x156"):
        PatternsKind().read(cell)
