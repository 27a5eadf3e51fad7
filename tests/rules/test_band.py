"""Bands of loudspeakers and places, and the spots that component sets want: every rule by the numbers."""

from __future__ import annotations

from typing import Any

import pytest

from tests.factories import Bench, Row, check_of, numbers, speaker, speaker_opening

RULES = (
    "speaker.kind",
    "speaker.low_end",
    "speaker.treble",
    "speaker.tweeter_spot",
    "speaker.tweeter_hole",
    "speaker.tweeter_depth",
    "speaker.filter_width",
    "speaker.filter_height",
    "speaker.filter_depth",
)
SET = {"kind": "component", "tweeter_hole_mm": 45, "tweeter_depth_mm": 20}
SET |= {"filter_w_mm": 110, "filter_h_mm": 35, "filter_d_mm": 70}
SPOT = {"tweeter_spot": True, "tweeter_hole_mm": 50, "tweeter_depth_mm": 25}
SPOT |= {"filter_w_mm": 120, "filter_h_mm": 40, "filter_d_mm": 80}
TWEETER = {"kind": "tweeter", "low_hz": 3500, "high_hz": 20_000}
NO_KIND = {"kind": None}

# rule, part, opening, then: verdict, have, need, margin, tolerance, missing
CASES: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    ("speaker.kind", {}, {}, ("fits", 1, 1, 0, 0, [])),
    ("speaker.kind", {"kind": "component"}, {}, ("fits", 1, 1, 0, 0, [])),
    ("speaker.kind", {"kind": "full_range"}, {}, ("fits", 1, 1, 0, 0, [])),
    ("speaker.kind", TWEETER, {}, ("no", 0, 1, -1, 0, [])),
    ("speaker.kind", {"kind": "midbass"}, {}, ("no", 0, 1, -1, 0, [])),
    ("speaker.kind", {"kind": "midbass"}, {"role": "woofer"}, ("fits", 1, 1, 0, 0, [])),
    ("speaker.kind", TWEETER, {"role": "woofer"}, ("no", 0, 1, -1, 0, [])),
    ("speaker.kind", TWEETER, {"role": "tweeter"}, ("fits", 1, 1, 0, 0, [])),
    ("speaker.kind", {}, {"role": "tweeter"}, ("no", 0, 1, -1, 0, [])),
    ("speaker.kind", NO_KIND, {}, ("fits", 1, 1, 0, 0, [])),  # its band tells
    ("speaker.kind", {}, {"role": None}, ("fits", 1, 1, 0, 0, [])),  # a place plays the whole sound
    # The lower end: 300 Hz for the whole sound and for a woofer, 6000 Hz for a tweeter.
    ("speaker.low_end", {"low_hz": 80}, {}, ("fits", 300, 80, 220, 0, [])),
    ("speaker.low_end", {"low_hz": 300}, {}, ("fits", 300, 300, 0, 0, [])),
    ("speaker.low_end", {"low_hz": 301}, {}, ("no", 300, 301, -1, 0, [])),
    ("speaker.low_end", {"low_hz": 301}, {"role": "woofer"}, ("no", 300, 301, -1, 0, [])),
    ("speaker.low_end", TWEETER, {}, ("no", 300, 3500, -3200, 0, [])),
    ("speaker.low_end", TWEETER, {"role": "tweeter"}, ("fits", 6000, 3500, 2500, 0, [])),
    ("speaker.low_end", {}, {}, ("fits", 300, 150, 150, 60, [])),  # the usual one of a coaxial
    ("speaker.low_end", NO_KIND, {}, ("measure", 300, None, None, 0, ["part.low_hz"])),
    # The upper end: 10 kHz where treble is wanted, 2 kHz of a woofer.
    ("speaker.treble", {"high_hz": 18_000}, {}, ("fits", 18_000, 10_000, 8000, 0, [])),
    ("speaker.treble", {"high_hz": 10_000}, {}, ("fits", 10_000, 10_000, 0, 0, [])),
    ("speaker.treble", {"high_hz": 9999}, {}, ("no", 9999, 10_000, -1, 0, [])),
    ("speaker.treble", {"high_hz": 9999}, {"role": "woofer"}, ("fits", 9999, 2000, 7999, 0, [])),
    ("speaker.treble", {}, {}, ("fits", 20_000, 10_000, 10_000, 8000, [])),  # the usual one of a coaxial
    ("speaker.treble", {"kind": "full_range"}, {}, ("measure", 15_000, 10_000, 5000, 6000, [])),
    ("speaker.treble", {"kind": "midbass"}, {}, ("no", 4000, 10_000, -6000, 1600, [])),
    ("speaker.treble", NO_KIND, {}, ("measure", None, 10_000, None, 0, ["part.high_hz"])),
    # A component set wants spots; a coaxial wants none.
    ("speaker.tweeter_spot", SET, SPOT, ("fits", 1, 1, 0, 0, [])),
    ("speaker.tweeter_spot", SET, {"tweeter_spot": False}, ("no", 0, 1, -1, 0, [])),
    ("speaker.tweeter_spot", SET, {}, ("measure", None, 1, None, 0, ["opening.tweeter_spot"])),
    ("speaker.tweeter_hole", SET, SPOT, ("fits", 50, 45, 5, 1.5, [])),
    ("speaker.tweeter_hole", SET, SPOT | {"tweeter_hole_mm": 46.5}, ("fits", 46.5, 45, 1.5, 1.5, [])),
    ("speaker.tweeter_hole", SET, SPOT | {"tweeter_hole_mm": 43.4}, ("no", 43.4, 45, -1.6, 1.5, [])),
    (
        "speaker.tweeter_hole",
        SET | {"tweeter_hole_mm": None},
        SPOT,
        ("measure", 50, None, None, 1.5, ["part.tweeter_hole_mm"]),
    ),
    ("speaker.tweeter_depth", SET, SPOT | {"tweeter_depth_mm": 21.5}, ("fits", 21.5, 20, 1.5, 1.5, [])),
    ("speaker.tweeter_depth", SET, SPOT | {"tweeter_depth_mm": 18}, ("no", 18, 20, -2, 1.5, [])),
    (
        "speaker.tweeter_depth",
        SET,
        SPOT | {"tweeter_depth_mm": None},
        ("measure", None, 20, None, 1.5, ["opening.tweeter_depth_mm"]),
    ),
    ("speaker.filter_width", SET, SPOT | {"filter_w_mm": 111.5}, ("fits", 111.5, 110, 1.5, 1.5, [])),
    ("speaker.filter_width", SET, SPOT | {"filter_w_mm": 100}, ("no", 100, 110, -10, 1.5, [])),
    ("speaker.filter_width", SET, {}, ("measure", None, 110, None, 1.5, ["opening.filter_w_mm"])),
    ("speaker.filter_height", SET, SPOT | {"filter_h_mm": 36.5}, ("fits", 36.5, 35, 1.5, 1.5, [])),
    ("speaker.filter_height", SET, SPOT | {"filter_h_mm": 30}, ("no", 30, 35, -5, 1.5, [])),
    ("speaker.filter_height", SET, {}, ("measure", None, 35, None, 1.5, ["opening.filter_h_mm"])),
    ("speaker.filter_depth", SET, SPOT | {"filter_d_mm": 71.5}, ("fits", 71.5, 70, 1.5, 1.5, [])),
    ("speaker.filter_depth", SET, SPOT | {"filter_d_mm": 60}, ("no", 60, 70, -10, 1.5, [])),
    ("speaker.filter_depth", SET, {}, ("measure", None, 70, None, 1.5, ["opening.filter_d_mm"])),
]


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), CASES)
def test_band(bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(speaker(**changed), speaker_opening(**measured))
    assert numbers(check_of(fit, rule)) == expected


@pytest.mark.parametrize("kind", ["coaxial", "full_range", None])
def test_only_a_set_wants_spots(bench: Bench, kind: str | None) -> None:
    fit = bench.ask(speaker(kind=kind), speaker_opening())
    assert not [check.rule for check in fit.checks if "tweeter" in check.rule or "filter" in check.rule]
