"""Film, security, charging and cable: each rule by hand, as it stands over figures that the search lays before it."""

from __future__ import annotations

from typing import Any

import pytest

from matcher.kernel.explain import explain
from matcher.rules.rule import rule_named
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import Row, columns_from, numbers

RULES = (
    "film.net_vlt",
    "security.routes",
    "supply.charging",
    "supply.idle",
    "supply.cable_area",
    "supply.cable_length",
    "supply.cable_fuse",
)

IDLE = {"charge_idle_a": 32, "battery_ah": 55, "base_load_a": 26}
AREAS = {"copper_mm2": 10, "cca_mm2": 16}

# rule, its subjects' figures, then: verdict, have, need, margin, tolerance, missing; None where it is not asked
TABLE: list[tuple[str, Row, tuple[Any, ...] | None]] = [
    # Glass of 78 % under a film of 90 % lets 70.2 % through.
    (
        "film.net_vlt",
        {"pane": {"vlt_pct": 78, "limit_pct": 70}, "film": {"vlt_pct": 90}},
        ("fits", 70.2, 70, 0.2, 0, []),
    ),
    ("film.net_vlt", {"pane": {"vlt_pct": 80, "limit_pct": 28}, "film": {"vlt_pct": 35}}, ("fits", 28, 28, 0, 0, [])),
    (
        "film.net_vlt",
        {"pane": {"vlt_pct": 79, "limit_pct": 28}, "film": {"vlt_pct": 35}},
        ("no", 27.65, 28, -0.35, 0, []),
    ),
    (
        "film.net_vlt",
        {"pane": {"vlt_pct": (80, 1), "limit_pct": 28}, "film": {"vlt_pct": 35}},
        ("measure", 28, 28, 0, 0.35, []),
    ),
    (
        "film.net_vlt",
        {"pane": {"vlt_pct": (80, 1), "limit_pct": 28}, "film": {"vlt_pct": (40, 2)}},
        ("fits", 32, 28, 4, 2.02, []),  # 80 x 2 + 40 x 1 + 1 x 2, in hundredths
    ),
    (
        "film.net_vlt",
        {"pane": {"vlt_pct": 78, "limit_pct": None}, "film": {"vlt_pct": 90}},
        ("measure", 70.2, None, None, 0, ["pane.limit_pct"]),
    ),
    (
        "film.net_vlt",
        {"pane": {"vlt_pct": None, "limit_pct": 70}, "film": {"vlt_pct": None}},
        ("measure", None, 70, None, 0, ["pane.vlt_pct", "film.vlt_pct"]),
    ),
    # Every wanted route, or one is open.
    ("security.routes", {"guard": {"covered": 3, "wanted": 2}}, ("fits", 3, 2, 1, 0, [])),
    ("security.routes", {"guard": {"covered": 2, "wanted": 2}}, ("fits", 2, 2, 0, 0, [])),
    ("security.routes", {"guard": {"covered": 1, "wanted": 2}}, ("no", 1, 2, -1, 0, [])),
    ("security.routes", {"guard": {"covered": None, "wanted": 2}}, ("measure", None, 2, None, 0, ["guard.covered"])),
    # Charging less what the vehicle itself uses.
    (
        "supply.charging",
        {"vehicle": {"charge_a": 65, "base_load_a": 26}, "draw": {"music_a": 39}},
        ("fits", 39, 39, 0, 0, []),
    ),
    (
        "supply.charging",
        {"vehicle": {"charge_a": 65, "base_load_a": 26}, "draw": {"music_a": 39.001}},
        ("no", 39, 39.001, -0.001, 0, []),
    ),
    (
        "supply.charging",
        {"vehicle": {"charge_a": (65, 2), "base_load_a": (26, 1)}, "draw": {"music_a": 42}},
        ("measure", 39, 42, -3, 3, []),
    ),
    (
        "supply.charging",
        {"vehicle": {"charge_a": None, "base_load_a": 26}, "draw": {"music_a": None}},
        ("measure", None, None, None, 0, ["vehicle.charge_a", "draw.music_a"]),
    ),
    # At idle the battery adds a fifth of its charge each hour.
    ("supply.idle", {"vehicle": IDLE, "draw": {"music_a": 17}}, ("fits", 17, 17, 0, 0, [])),
    ("supply.idle", {"vehicle": IDLE, "draw": {"music_a": 17.001}}, ("no", 17, 17.001, -0.001, 0, [])),
    (
        "supply.idle",
        {"vehicle": IDLE | {"charge_idle_a": (32, 2)}, "draw": {"music_a": 15.5}},
        ("measure", 17, 15.5, 1.5, 2, []),
    ),
    (
        "supply.idle",
        {"vehicle": IDLE | {"charge_idle_a": None, "battery_ah": None}, "draw": {"music_a": 1}},
        ("measure", None, 1, None, 0, ["vehicle.charge_idle_a", "vehicle.battery_ah"]),
    ),
    # The area wanted goes by the conductor.
    (
        "supply.cable_area",
        {"cable": {"area_mm2": 10, "conductor": "copper"}, "draw": AREAS},
        ("fits", 10, 10, 0, 0, []),
    ),
    ("supply.cable_area", {"cable": {"area_mm2": 10, "conductor": "cca"}, "draw": AREAS}, ("no", 10, 16, -6, 0, [])),
    ("supply.cable_area", {"cable": {"area_mm2": 16, "conductor": "cca"}, "draw": AREAS}, ("fits", 16, 16, 0, 0, [])),
    (
        "supply.cable_area",
        {"cable": {"area_mm2": 9.9, "conductor": "copper"}, "draw": AREAS},
        ("no", 9.9, 10, -0.1, 0, []),
    ),
    (
        "supply.cable_area",
        {"cable": {"area_mm2": 10, "conductor": None}, "draw": AREAS},
        ("measure", 10, None, None, 0, ["cable.conductor"]),
    ),
    (
        "supply.cable_area",
        {"cable": {"area_mm2": None, "conductor": "copper"}, "draw": {"copper_mm2": None, "cca_mm2": None}},
        ("measure", None, None, None, 0, ["cable.area_mm2", "draw.copper_mm2"]),
    ),
    # One piece from the battery to the amplifier.
    ("supply.cable_length", {"cable": {"length_m": 5}, "vehicle": {"battery_to_cargo_m": 5}}, ("fits", 5, 5, 0, 0, [])),
    (
        "supply.cable_length",
        {"cable": {"length_m": 5}, "vehicle": {"battery_to_cargo_m": 5.2}},
        ("no", 5, 5.2, -0.2, 0, []),
    ),
    (
        "supply.cable_length",
        {"cable": {"length_m": 5}, "vehicle": {"battery_to_cargo_m": (5.2, 0.3)}},
        ("measure", 5, 5.2, -0.2, 0.3, []),
    ),
    (
        "supply.cable_length",
        {"cable": {"length_m": None}, "vehicle": {"battery_to_cargo_m": None}},
        ("measure", None, None, None, 0, ["cable.length_m", "vehicle.battery_to_cargo_m"]),
    ),
    # The maker's own limit, where he names one.
    ("supply.cable_fuse", {"cable": {"rated_a": 60}, "draw": {"fuse_a": 60}}, ("fits", 60, 60, 0, 0, [])),
    ("supply.cable_fuse", {"cable": {"rated_a": 60}, "draw": {"fuse_a": 70}}, ("no", 60, 70, -10, 0, [])),
    ("supply.cable_fuse", {"cable": {"rated_a": None}, "draw": {"fuse_a": 70}}, None),
    (
        "supply.cable_fuse",
        {"cable": {"rated_a": 60}, "draw": {"fuse_a": None}},
        ("measure", 60, None, None, 0, ["draw.fuse_a"]),
    ),
]


@pytest.mark.parametrize(("rule", "subjects", "expected"), TABLE)
def test_rule(rule: str, subjects: Row, expected: tuple[Any, ...] | None) -> None:
    (checks,) = explain([rule_named(rule)], columns_from(subjects), DEFAULT_SETTINGS)
    assert [numbers(check) for check in checks] == ([] if expected is None else [expected])
