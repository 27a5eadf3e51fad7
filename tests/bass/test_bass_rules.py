"""Bass drivers in a box, bought or made, and the channels that drive them; by hand."""

from __future__ import annotations

from typing import Any

import pytest

from matcher.kernel.columns import columns_of
from matcher.kernel.explain import explain
from matcher.rules.rule import rule_named
from matcher.settings import DEFAULT_SETTINGS
from tests.bass.cars import MADE_BOX, box, cargo_space, driver, pair_checks
from tests.factories import Bench, Row, numbers

RULES = (
    "bass.size",
    "bass.cutout",
    "bass.flange",
    "bass.front_width",
    "bass.front_height",
    "bass.cutout_width",
    "bass.cutout_height",
    "bass.made_priced",
    "bass.depth",
    "bass.qtc_most",
    "bass.tuned",
    "bass.peak",
    "bass.mass",
    "amplifier.bass_channels",
    "amplifier.own_channels",
)

NO_RIM = {"outer_mm": None, "cutout_mm": None}
NO_RIM = {"outer_mm": None, "cutout_mm": None}
BOOMS, VENTED = {"fs_hz": 30, "qts": 0.5, "vas_l": 60}, {"kind": "vented"}
HIGH = {"qts": 0.5, "vas_l": 90}  # twice as much in 30 l: 1.0

# rule, driver, box, space, then: verdict, have, need, margin, tolerance, missing; None where it is not asked
TABLE: list[tuple[str, Row, Row, Row, tuple[Any, ...] | None]] = [
    # Sizes are names: the same or another.
    ("bass.size", {}, {}, {}, ("fits", 0, 0, 0, 0, [])),
    ("bass.size", {}, {"driver_size_in": 12}, {}, ("no", 0, 2, -2, 0, [])),
    ("bass.cutout", {}, {}, {}, ("fits", 235, 232, 3, 1, [])),
    ("bass.cutout", {}, {"cutout_mm": 233}, {}, ("fits", 233, 232, 1, 1, [])),
    ("bass.cutout", {}, {"cutout_mm": 231}, {}, ("measure", 231, 232, -1, 1, [])),
    ("bass.cutout", {}, {"cutout_mm": 230.5}, {}, ("no", 230.5, 232, -1.5, 1, [])),
    ("bass.cutout", {}, {"cutout_mm": None}, {}, ("measure", None, 232, None, 1, ["box.cutout_mm"])),
    ("bass.cutout", {"cutout_mm": None}, {}, {}, ("measure", 235, None, None, 1, ["part.cutout_mm"])),
    # The flange covers the hole and 3 mm on both sides.
    ("bass.flange", {}, {}, {}, ("fits", 260, 241, 19, 1, [])),
    ("bass.flange", {"outer_mm": 242}, {}, {}, ("fits", 242, 241, 1, 1, [])),
    ("bass.flange", {"outer_mm": 241}, {}, {}, ("measure", 241, 241, 0, 1, [])),
    ("bass.flange", {"outer_mm": 239.5}, {}, {}, ("no", 239.5, 241, -1.5, 1, [])),
    ("bass.flange", {"outer_mm": None}, {}, {}, ("measure", None, 241, None, 1, ["part.outer_mm"])),
    # 25 mm of air behind a vented pole.
    ("bass.depth", {}, {}, {}, ("fits", 200, 130, 70, 1, [])),
    ("bass.depth", {"vented_pole": True}, {"driver_depth_mm": 156}, {}, ("fits", 156, 155, 1, 1, [])),
    ("bass.depth", {"vented_pole": True}, {"driver_depth_mm": 155}, {}, ("measure", 155, 155, 0, 1, [])),
    ("bass.depth", {"vented_pole": True}, {"driver_depth_mm": 153}, {}, ("no", 153, 155, -2, 1, [])),
    ("bass.depth", {"vented_pole": None}, {}, {}, ("measure", 200, None, None, 1, ["part.vented_pole"])),
    ("bass.depth", {}, {"driver_depth_mm": None}, {}, ("measure", None, 130, None, 1, ["box.driver_depth_mm"])),
    # A Q of up to 1.0; two drivers halve the volume that each sees.
    ("bass.qtc_most", {}, {}, {}, ("fits", 1, 0.707107, 0.292893, 0, [])),
    ("bass.qtc_most", HIGH, {}, {}, ("fits", 1, 1, 0, 0, [])),
    ("bass.qtc_most", HIGH | {"qts": 0.501}, {}, {}, ("no", 1, 1.002, -0.002, 0, [])),
    ("bass.qtc_most", HIGH, {"drivers": 2}, {}, ("no", 1, 1.322876, -0.322876, 0, [])),
    ("bass.qtc_most", HIGH | {"qts": None}, {}, {}, ("measure", 1, None, None, 0, ["part.qts"])),
    ("bass.qtc_most", HIGH | {"qts": 1}, {"kind": "vented", "tuned_hz": 35}, {}, None),
    # A port has a tuning, and it is known.
    ("bass.tuned", {}, {"kind": "vented", "tuned_hz": 35}, {}, ("fits", 35, 0, 35, 0, [])),
    ("bass.tuned", {}, {"kind": "vented", "tuned_hz": None}, {}, ("measure", None, 0, None, 0, ["box.tuned_hz"])),
    ("bass.tuned", {}, {"tuned_hz": None}, {}, None),
    # At most 3 dB with the largest losses, Q 5, from the nodal circuit of tests/formulas/test_vented.py: fs 30, Vas 60.
    ("bass.peak", BOOMS, VENTED | {"net_l": 150, "tuned_hz": 25}, {}, ("fits", 3, 0.403732, 2.596268, 0, [])),
    ("bass.peak", BOOMS, VENTED | {"net_l": 180, "tuned_hz": 30}, {}, ("no", 3, 3.446793, -0.446793, 0, [])),
    (
        "bass.peak",
        BOOMS,
        VENTED | {"net_l": 180, "tuned_hz": None},
        {},
        ("measure", 3, None, None, 0, ["box.tuned_hz"]),
    ),
    ("bass.peak", BOOMS | {"qts": None}, VENTED | {"tuned_hz": 30}, {}, ("measure", 3, None, None, 0, ["part.qts"])),
    ("bass.peak", {}, {}, {}, None),
    # Box and drivers together against the floor.
    ("bass.mass", {}, {}, {}, ("fits", 20, 13, 7, 0, [])),
    ("bass.mass", {}, {"drivers": 2}, {"mass_max_kg": 18}, ("fits", 18, 18, 0, 0, [])),
    ("bass.mass", {}, {"drivers": 2}, {"mass_max_kg": 17.9}, ("no", 17.9, 18, -0.1, 0, [])),
    ("bass.mass", {"mass_kg": None}, {}, {}, ("measure", 20, None, None, 0, ["part.mass_kg"])),
    ("bass.mass", {}, {}, {"mass_max_kg": None}, ("measure", None, 13, None, 0, ["opening.mass_max_kg"])),
    # What is asked of a made box is not asked of a bought one.
    ("bass.front_width", {}, {}, {}, None),
    ("bass.front_height", {}, {}, {}, None),
]


@pytest.mark.parametrize(("rule", "one", "boxed", "space", "expected"), TABLE)
def test_pair(bench: Bench, rule: str, one: Row, boxed: Row, space: Row, expected: tuple[Any, ...] | None) -> None:
    checks = pair_checks(bench, driver(**one), box(**boxed), cargo_space(**space))
    found = [numbers(check) for check in checks if check.rule == rule]
    assert found == ([] if expected is None else [expected])


# rule, driver, made box, then as above: a made box is good to the millimeter of a tape.
MADE: list[tuple[str, Row, Row, tuple[Any, ...] | None]] = [
    ("bass.front_width", {}, {"front_w_mm": 261.5}, ("fits", 261.5, 260, 1.5, 1.5, [])),
    ("bass.front_width", {}, {"front_w_mm": 260}, ("measure", 260, 260, 0, 1.5, [])),
    ("bass.front_width", {}, {"front_w_mm": 258}, ("no", 258, 260, -2, 1.5, [])),
    ("bass.front_width", {"outer_mm": None}, {}, ("measure", 554, None, None, 1, ["part.outer_mm"])),
    ("bass.front_height", {}, {"front_h_mm": 261.5}, ("fits", 261.5, 260, 1.5, 1.5, [])),
    ("bass.front_height", {}, {"front_h_mm": 258}, ("no", 258, 260, -2, 1.5, [])),
    ("bass.front_height", {"outer_mm": None}, {}, ("measure", 354, None, None, 1.5, ["part.outer_mm"])),
    # A flange that is not known is at least as large as its hole.
    ("bass.cutout_width", {}, {}, None),
    ("bass.cutout_width", {"outer_mm": None}, {"front_w_mm": 233.5}, ("fits", 233.5, 232, 1.5, 1.5, [])),
    ("bass.cutout_width", {"outer_mm": None}, {"front_w_mm": 230}, ("no", 230, 232, -2, 1.5, [])),
    ("bass.cutout_width", NO_RIM, {}, ("measure", 554, None, None, 1, ["part.cutout_mm"])),
    ("bass.cutout_height", {}, {}, None),
    ("bass.cutout_height", {"outer_mm": None}, {"front_h_mm": 233.5}, ("fits", 233.5, 232, 1.5, 1.5, [])),
    ("bass.cutout_height", {"outer_mm": None}, {"front_h_mm": 230}, ("no", 230, 232, -2, 1.5, [])),
    ("bass.cutout_height", NO_RIM, {}, ("measure", 354, None, None, 1.5, ["part.cutout_mm"])),
    ("bass.made_priced", {}, {}, ("fits", 1, 1, 0, 0, [])),
    ("bass.made_priced", {}, {"priced": None}, ("measure", None, 1, None, 0, ["box.priced"])),
    ("bass.depth", {}, {}, ("fits", 250, 130, 120, 1.5, [])),
    ("bass.mass", {}, {}, ("fits", 20, 14, 6, 0, [])),
    ("bass.size", {}, {}, None),
    ("bass.cutout", {}, {}, None),
    ("bass.flange", {}, {}, None),
]


@pytest.mark.parametrize(("rule", "one", "shape", "expected"), MADE)
def test_made(bench: Bench, rule: str, one: Row, shape: Row, expected: tuple[Any, ...] | None) -> None:
    checks = pair_checks(bench, driver(**one), None, cargo_space(), MADE_BOX | shape)
    found = [numbers(check) for check in checks if check.rule == rule]
    assert found == ([] if expected is None else [expected])


# rule, channels there are, channels taken, then as above
CHANNELS: list[tuple[str, int | None, int, tuple[Any, ...] | None]] = [
    ("amplifier.bass_channels", 1, 1, ("fits", 1, 1, 0, 0, [])),
    ("amplifier.bass_channels", 0, 1, ("no", 0, 1, -1, 0, [])),
    ("amplifier.bass_channels", None, 1, ("measure", None, 1, None, 0, ["whole.bass_channels"])),
    ("amplifier.bass_channels", None, 0, None),
    ("amplifier.own_channels", 2, 2, ("fits", 2, 2, 0, 0, [])),
    ("amplifier.own_channels", 1, 2, ("no", 1, 2, -1, 0, [])),
    ("amplifier.own_channels", None, 2, ("measure", None, 2, None, 0, ["whole.own_channels"])),
    ("amplifier.own_channels", None, 0, None),
]


@pytest.mark.parametrize(("rule", "have", "used", "expected"), CHANNELS)
def test_channels(rule: str, have: int | None, used: int, expected: tuple[Any, ...] | None) -> None:
    stem = "bass" if "bass" in rule else "own"
    whole = columns_of("whole", [{f"{stem}_channels": have, f"{stem}_used": used}])
    (checks,) = explain([rule_named(rule)], whole, DEFAULT_SETTINGS)
    assert [numbers(check) for check in checks] == ([] if expected is None else [expected])
