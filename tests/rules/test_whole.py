"""Rules about feeds, line level, a job's wishes and the whole package: their figures are made by the search."""

from __future__ import annotations

from typing import Any

import pytest

from matcher.kernel.explain import explain
from matcher.rules.rule import rule_named
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import Row, columns_from, numbers

RULES = (
    "amplifier.load",
    "amplifier.load_original",
    "amplifier.power_least",
    "amplifier.power_most",
    "line_level.input",
    "line_level.least",
    "line_level.most",
    "limit.screen_min",
    "limit.screen",
    "limit.delivery",
    "limit.must",
    "limit.budget",
    "supply.at_rest",
    "amplifier.head_channels",
    "amplifier.channels",
)

# rule, its subjects' figures, then: verdict, have, need, margin, tolerance, missing; None where it is not asked
TABLE: list[tuple[str, Row, tuple[Any, ...] | None]] = [
    # Load at or over the least that the block is rated for.
    ("amplifier.load", {"feed": {"load_ohm": 4, "least_ohm": 2}}, ("fits", 4, 2, 2, 0, [])),
    ("amplifier.load", {"feed": {"load_ohm": 2, "least_ohm": 2}}, ("fits", 2, 2, 0, 0, [])),
    ("amplifier.load", {"feed": {"load_ohm": 1.9, "least_ohm": 2}}, ("no", 1.9, 2, -0.1, 0, [])),
    ("amplifier.load", {"feed": {"load_ohm": None, "least_ohm": 2}}, ("measure", None, 2, None, 0, ["feed.load_ohm"])),
    ("amplifier.load", {"feed": {"load_ohm": 4, "least_ohm": None}}, ("measure", 4, None, None, 0, ["feed.least_ohm"])),
    ("amplifier.load_original", {"feed": {"load_ohm": 4, "least_ohm": 4}}, ("fits", 4, 4, 0, 0, [])),
    ("amplifier.load_original", {"feed": {"load_ohm": 3, "least_ohm": 4}}, ("no", 3, 4, -1, 0, [])),
    (
        "amplifier.load_original",
        {"feed": {"load_ohm": None, "least_ohm": 4}},
        ("measure", None, 4, None, 0, ["feed.load_ohm"]),
    ),
    # Power from 0.75 to 1.5 of the rating.
    ("amplifier.power_least", {"feed": {"power_w": 37.5, "rms_w": 50}}, ("fits", 37.5, 37.5, 0, 0, [])),
    ("amplifier.power_least", {"feed": {"power_w": 37, "rms_w": 50}}, ("no", 37, 37.5, -0.5, 0, [])),
    (
        "amplifier.power_least",
        {"feed": {"power_w": None, "rms_w": 50}},
        ("measure", None, 37.5, None, 0, ["feed.power_w"]),
    ),
    (
        "amplifier.power_least",
        {"feed": {"power_w": 50, "rms_w": None}},
        ("measure", 50, None, None, 0, ["feed.rms_w"]),
    ),
    ("amplifier.power_most", {"feed": {"power_w": 75, "rms_w": 50}}, ("fits", 75, 75, 0, 0, [])),
    ("amplifier.power_most", {"feed": {"power_w": 75.1, "rms_w": 50}}, ("no", 75, 75.1, -0.1, 0, [])),
    (
        "amplifier.power_most",
        {"feed": {"power_w": None, "rms_w": 50}},
        ("measure", 75, None, None, 0, ["feed.power_w"]),
    ),
    # A pair of outputs that the amplifier takes, of a voltage inside its range.
    ("line_level.input", {"line": {"usable": 4}}, ("fits", 4, 2, 2, 0, [])),
    ("line_level.input", {"line": {"usable": 2}}, ("fits", 2, 2, 0, 0, [])),
    ("line_level.input", {"line": {"usable": 0}}, ("no", 0, 2, -2, 0, [])),
    ("line_level.input", {"line": {"usable": None}}, ("measure", None, 2, None, 0, ["line.usable"])),
    ("line_level.least", {"line": {"preouts": 4, "greatest_v": 2, "input_min_v": 2}}, ("fits", 2, 2, 0, 0, [])),
    ("line_level.least", {"line": {"preouts": 4, "greatest_v": 1.5, "input_min_v": 2}}, ("no", 1.5, 2, -0.5, 0, [])),
    ("line_level.least", {"line": {"preouts": 0, "greatest_v": 1.5, "input_min_v": 2}}, None),
    (
        "line_level.least",
        {"line": {"preouts": None, "greatest_v": 1.5, "input_min_v": 2}},
        ("measure", 1.5, 2, None, 0, ["line.preouts"]),
    ),
    (
        "line_level.least",
        {"line": {"preouts": 4, "greatest_v": None, "input_min_v": 2}},
        ("measure", None, 2, None, 0, ["line.greatest_v"]),
    ),
    ("line_level.most", {"line": {"preouts": 4, "preout_v": 5, "input_max_v": 5}}, ("fits", 5, 5, 0, 0, [])),
    ("line_level.most", {"line": {"preouts": 4, "preout_v": 5.1, "input_max_v": 5}}, ("no", 5, 5.1, -0.1, 0, [])),
    (
        "line_level.most",
        {"line": {"preouts": 4, "preout_v": 4, "input_max_v": None}},
        ("measure", None, 4, None, 0, ["line.input_max_v"]),
    ),
    # Features that the job requires of a head unit.
    (
        "limit.screen_min",
        {"part": {"screen_in": 7, "screen": "flush"}, "wanted": {"screen_min_in": 7}},
        ("fits", 7, 7, 0, 0, []),
    ),
    (
        "limit.screen_min",
        {"part": {"screen_in": 6.9, "screen": "flush"}, "wanted": {"screen_min_in": 7}},
        ("no", 6.9, 7, -0.1, 0, []),
    ),
    (
        "limit.screen_min",
        {"part": {"screen_in": None, "screen": None}, "wanted": {"screen_min_in": 7}},
        ("measure", None, 7, None, 0, ["part.screen_in"]),
    ),
    ("limit.screen_min", {"part": {"screen_in": 5, "screen": "flush"}, "wanted": {"screen_min_in": None}}, None),
    ("limit.screen_min", {"part": {"screen_in": None, "screen": "none"}, "wanted": {"screen_min_in": 7}}, None),
    (
        "limit.screen",
        {"part": {"screen_in": None, "screen": "none"}, "wanted": {"screen_min_in": 7}},
        ("no", 0, 1, -1, 0, []),
    ),
    ("limit.screen", {"part": {"screen_in": 7, "screen": "flush"}, "wanted": {"screen_min_in": 7}}, None),
    ("limit.must", {"wanted": {"met": 2, "count": 2}}, ("fits", 2, 2, 0, 0, [])),
    ("limit.must", {"wanted": {"met": 1, "count": 2}}, ("no", 1, 2, -1, 0, [])),
    ("limit.must", {"wanted": {"met": None, "count": 2}}, ("measure", None, 2, None, 0, ["wanted.met"])),
    ("limit.must", {"wanted": {"met": 0, "count": 0}}, None),
    # The delivery of a part.
    (
        "limit.delivery",
        {"part": {"lead_days": 3}, "wanted": {"deliver_within_days": 3, "in_stock": False}},
        ("fits", 3, 3, 0, 0, []),
    ),
    (
        "limit.delivery",
        {"part": {"lead_days": 4}, "wanted": {"deliver_within_days": 3, "in_stock": False}},
        ("no", 3, 4, -1, 0, []),
    ),
    (
        "limit.delivery",
        {"part": {"lead_days": None}, "wanted": {"deliver_within_days": 3, "in_stock": False}},
        ("measure", 3, None, None, 0, ["part.lead_days"]),
    ),
    ("limit.delivery", {"part": {"lead_days": 4}, "wanted": {"deliver_within_days": 3, "in_stock": True}}, None),
    ("limit.delivery", {"part": {"lead_days": 4}, "wanted": {"deliver_within_days": None, "in_stock": False}}, None),
    # The whole.
    ("limit.budget", {"whole": {"budget": 500, "total": 500}}, ("fits", 500, 500, 0, 0, [])),
    ("limit.budget", {"whole": {"budget": 500, "total": 500.01}}, ("no", 500, 500.01, -0.01, 0, [])),
    ("limit.budget", {"whole": {"budget": None, "total": 500}}, None),
    ("supply.at_rest", {"whole": {"at_rest_ma": 50, "drain_ma": 50}}, ("fits", 50, 50, 0, 0, [])),
    ("supply.at_rest", {"whole": {"at_rest_ma": 50, "drain_ma": 51}}, ("no", 50, 51, -1, 0, [])),
    (
        "supply.at_rest",
        {"whole": {"at_rest_ma": 50, "drain_ma": None}},
        ("measure", 50, None, None, 0, ["whole.drain_ma"]),
    ),
    ("amplifier.head_channels", {"whole": {"head_channels": 4, "head_used": 4}}, ("fits", 4, 4, 0, 0, [])),
    ("amplifier.head_channels", {"whole": {"head_channels": 2, "head_used": 4}}, ("no", 2, 4, -2, 0, [])),
    ("amplifier.head_channels", {"whole": {"head_channels": 0, "head_used": 0}}, None),
    (
        "amplifier.head_channels",
        {"whole": {"head_channels": None, "head_used": 2}},
        ("measure", None, 2, None, 0, ["whole.head_channels"]),
    ),
    ("amplifier.channels", {"whole": {"amplifier_channels": 4, "amplifier_used": 4}}, ("fits", 4, 4, 0, 0, [])),
    ("amplifier.channels", {"whole": {"amplifier_channels": 2, "amplifier_used": 3}}, ("no", 2, 3, -1, 0, [])),
    ("amplifier.channels", {"whole": {"amplifier_channels": 0, "amplifier_used": 0}}, None),
    (
        "amplifier.channels",
        {"whole": {"amplifier_channels": None, "amplifier_used": 2}},
        ("measure", None, 2, None, 0, ["whole.amplifier_channels"]),
    ),
]


@pytest.mark.parametrize(("rule", "subjects", "expected"), TABLE)
def test_rule(rule: str, subjects: Row, expected: tuple[Any, ...] | None) -> None:
    (checks,) = explain([rule_named(rule)], columns_from(subjects), DEFAULT_SETTINGS)
    assert [numbers(check) for check in checks] == ([] if expected is None else [expected])
