"""Filters of channel groups: every rule by the numbers, and the filters of packages."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from catalog_schema.answers import Filter, worst
from matcher.kernel.explain import explain
from matcher.rules.rule import rule_named
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import Row, columns_from, numbers, part
from tests.probes.probe import AMPLIFIER, CAR, COAXIAL, RADIO, options
from tests.search.shops import Store

D = Decimal
RULES = ("filter.high_pass", "filter.low_pass_from", "filter.low_pass_to")

# rule, the filter's figures, then: verdict, have, need, margin, tolerance, missing
TABLE: list[tuple[str, Row, tuple[Any, ...]]] = [
    ("filter.high_pass", {"highest_hz": 250, "wanted_hz": 80}, ("fits", 250, 80, 170, 0, [])),
    ("filter.high_pass", {"highest_hz": 80, "wanted_hz": 80}, ("fits", 80, 80, 0, 0, [])),
    ("filter.high_pass", {"highest_hz": 79, "wanted_hz": 80}, ("no", 79, 80, -1, 0, [])),
    ("filter.high_pass", {"highest_hz": 0, "wanted_hz": 80}, ("no", 0, 80, -80, 0, [])),
    (
        "filter.high_pass",
        {"highest_hz": None, "wanted_hz": 80},
        ("measure", None, 80, None, 0, ["filtering.highest_hz"]),
    ),
    ("filter.low_pass_from", {"lowest_hz": 120}, ("fits", 120, 120, 0, 0, [])),
    ("filter.low_pass_from", {"lowest_hz": 121}, ("no", 120, 121, -1, 0, [])),
    ("filter.low_pass_from", {"lowest_hz": None}, ("measure", 120, None, None, 0, ["filtering.lowest_hz"])),
    ("filter.low_pass_to", {"highest_hz": 60}, ("fits", 60, 60, 0, 0, [])),
    ("filter.low_pass_to", {"highest_hz": 59}, ("no", 59, 60, -1, 0, [])),
    ("filter.low_pass_to", {"highest_hz": None}, ("measure", None, 60, None, 0, ["filtering.highest_hz"])),
]


@pytest.mark.parametrize(("rule", "figures", "expected"), TABLE)
def test_filter(rule: str, figures: Row, expected: tuple[Any, ...]) -> None:
    columns = columns_from({"filtering": {"highest_hz": None, "lowest_hz": None, "wanted_hz": None} | figures})
    ((check,),) = explain([rule_named(rule)], columns, DEFAULT_SETTINGS)
    assert numbers(check) == expected


BASS = part("subwoofer", fs_hz=30, qts=0.5, qes=0.55, vas_l=20, sd_cm2=330, xmax_mm=8, cutout_mm=230, outer_mm=260)
BOX = part("enclosure", kind="sealed", net_l=25, cutout_mm=232, driver_depth_mm=200)
CARGO = {
    "opening_id": "trunk",
    "kind": "cargo",
    "label": "Trunk",
    "w_mm": 900,
    "h_mm": 450,
    "d_mm": 500,
    "d_top_mm": 450,
}
CARGO |= {"gate_w_mm": 800, "gate_h_mm": 500, "floor_loss_mm": 0, "mass_max_kg": 60, "fasten": "load eyes"}
BRIDGED = AMPLIFIER | {"full_channels": 4, "full_bridged_w_4ohm": 200, "full_bridged_min_ohm": 4}
SET_80 = {"hp_min_hz": 80, "hp_max_hz": 80, "lp_min_hz": 80, "lp_max_hz": 80}
NONE = {"hp_max_hz": 0, "lp_min_hz": 0, "lp_max_hz": 0}


def filters(store: Store, amplifier: Row, radio: Row, low_hz: int | None = 80) -> tuple[Filter, Filter]:
    """The filters of the doors and of the bass of the best package."""
    parts = (RADIO | radio | {"amp_channels": 0}, BRIDGED | amplifier, COAXIAL | {"low_hz": low_hz}, BASS, BOX)
    told = options(store, *parts, car=[*CAR, CARGO], choose=["head_unit", "door", "bass"], top=1)
    package = told.packages[0]
    of_doors, of_bass = package.filter_of("door"), package.filter_of("trunk")
    assert of_doors is not None and of_bass is not None
    return of_doors, of_bass


# amplifier, radio: the devices that have the high-pass and the low-pass, and the verdicts of their rules
@pytest.mark.parametrize(
    ("amplifier", "radio", "devices", "verdicts"),
    [
        (SET_80, {}, ("amplifier-1", "amplifier-1"), {"fits"}),
        (NONE, SET_80, ("head_unit-1", "head_unit-1"), {"fits"}),
        (SET_80, SET_80, ("amplifier-1", "amplifier-1"), {"fits"}),
        (NONE, NONE, (None, None), {"no"}),
        (NONE, {}, (None, None), {"measure"}),  # nobody knows of the radio's
        ({}, {}, (None, None), {"measure"}),
    ],
)
def test_a_filter_is_in_the_amplifier_or_in_the_head_unit_before_it(
    store: Store, amplifier: Row, radio: Row, devices: tuple[str | None, str | None], verdicts: set[str]
) -> None:
    doors, bass = filters(store, amplifier, radio)
    assert (doors.high_pass_in, bass.low_pass_in) == devices
    assert {worst([check.verdict for check in one.checks]) for one in (doors, bass)} == verdicts


# the doors' lower end: their high-pass, the bass's low-pass, and up to where nothing plays
@pytest.mark.parametrize(
    ("low_hz", "high_pass", "low_pass", "gap"),
    [
        (50, 80, 80, None),  # the bass system plays what is below 80 Hz
        (80, 80, 80, None),
        (120, 120, 120, None),
        (130, 130, 120, 130),
        (None, 150, 120, 150),  # the usual lower end of a coaxial
    ],
)
def test_bass_ends_where_the_loudspeakers_begin_from_60_to_120_hz(
    store: Store, low_hz: int | None, high_pass: int, low_pass: int, gap: int | None
) -> None:
    doors, bass = filters(store, SET_80 | {"hp_max_hz": 250, "lp_max_hz": 250}, {}, low_hz)
    assert (doors.high_pass_hz, bass.low_pass_hz, bass.gap_to_hz) == (high_pass, low_pass, gap)


def test_without_bass_no_filter_has_to_exist(store: Store) -> None:
    told = options(store, choose=["head_unit", "door"], top=1).packages[0].filter_of("door")
    assert told is not None
    assert (told.high_pass_hz, told.high_pass_in, told.checks) == (80, None, [])
