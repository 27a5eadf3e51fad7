"""Filters of channel groups: every rule by the numbers, and the filters of packages."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from catalog_schema.answers import Package, worst
from matcher.kernel.explain import explain
from matcher.rules.rule import rule_named
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import Row, columns_from, numbers, speaker_opening
from tests.probes.probe import BASS, BOX, BRIDGED, CAR, CARGO, COAXIAL, RADIO, options
from tests.search.shops import Store

D = Decimal
RULES = ("filter.high_pass", "filter.subsonic", "filter.low_pass_from", "filter.low_pass_to")

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
    ("filter.subsonic", {"highest_hz": 35, "wanted_hz": 32}, ("fits", 35, 32, 3, 0, [])),
    ("filter.subsonic", {"highest_hz": 32, "wanted_hz": 32}, ("fits", 32, 32, 0, 0, [])),
    ("filter.subsonic", {"highest_hz": 31, "wanted_hz": 32}, ("no", 31, 32, -1, 0, [])),
    ("filter.subsonic", {"wanted_hz": 32}, ("measure", None, 32, None, 0, ["filtering.highest_hz"])),
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


SET_80 = {"hp_min_hz": 80, "hp_max_hz": 80, "lp_min_hz": 80, "lp_max_hz": 80}
NONE = {"hp_max_hz": 0, "lp_min_hz": 0, "lp_max_hz": 0}
OPEN = dict.fromkeys(NONE)


def best(store: Store, amplifier: Row, radio: Row, low_hz: int | None = 80, **asked: Any) -> Package:
    """The best package of doors and bass on one amplifier."""
    parts = (RADIO | radio | {"amp_channels": 0}, BRIDGED | amplifier, COAXIAL | {"low_hz": low_hz}, BASS, BOX)
    wanted = {"car": [*CAR, CARGO], "choose": ["head_unit", "door", "bass"]} | asked
    return options(store, *parts, top=1, **wanted).packages[0]


# amplifier, radio: where the high-pass and the low-pass are, and the verdicts of their rules
@pytest.mark.parametrize(
    ("amplifier", "radio", "places", "verdicts"),
    [
        (SET_80, OPEN, ("amplifier", "amplifier"), {"fits"}),
        (NONE, SET_80, ("head_unit", "head_unit"), {"fits"}),
        (SET_80, SET_80, ("amplifier", "amplifier"), {"fits"}),
        (NONE, NONE, ("in_line", "in_line"), {"fits"}),
        (SET_80 | {"hp_max_hz": 79}, NONE, ("in_line", "amplifier"), {"fits"}),
        (NONE, OPEN, (None, None), {"measure"}),  # nobody knows of the radio's
        (OPEN, OPEN, (None, None), {"measure"}),
        (OPEN, SET_80, ("head_unit", "head_unit"), {"fits"}),
    ],
)
def test_filter_is_in_the_amplifier_in_the_head_unit_or_in_line(
    store: Store, amplifier: Row, radio: Row, places: tuple[str | None, str | None], verdicts: set[str]
) -> None:
    package = best(store, amplifier, radio)
    doors, bass = (package.filter_of(place) for place in ("door", "trunk"))
    assert doors is not None and bass is not None
    assert (doors.high_pass_in, bass.low_pass_in) == places
    assert {worst([check.verdict for check in one.checks]) for one in (doors, bass)} == verdicts
    assert [one.verdict for one in package.checks if one.rule.startswith("filter.")].count("measure") == sum(
        len(one.checks) for one in (doors, bass) if "measure" in verdicts
    )
    bought = sum((one.quantity for one in package.kit if one.kind == "filter"), D(0))
    assert bought == places.count("in_line")


def test_shared_channels_take_one_filter_each_group_of_its_own_another(store: Store) -> None:
    """Two places by four channels, and by two channels that they share, each with an in-line filter beside the bass."""
    rear = speaker_opening(opening_id="rear")
    for full, quantity in ((6, 3), (4, 2)):
        amplifier = NONE | {"full_channels": full, "full_min_ohm": 1, "full_w_2ohm": 70}
        package = best(store, amplifier, NONE, car=[*CAR, rear, CARGO], choose=["head_unit", "door", "rear", "bass"])
        assert [(one.quantity, one.priced) for one in package.kit if one.kind == "filter"] == [(quantity, False)]
        assert len(package.filters) == quantity


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
    package = best(store, {}, {}, low_hz)
    doors, bass = (package.filter_of(place) for place in ("door", "trunk"))
    assert doors is not None and bass is not None
    assert (doors.high_pass_hz, bass.low_pass_hz, bass.gap_to_hz) == (high_pass, low_pass, gap)


# highest setting of the doors' high-pass: it where it ends, that which their range wants, and up to where nothing plays
@pytest.mark.parametrize(("most", "high_pass", "wanted", "gap"), [(130, 130, None, 130), (125, 125, 130, 125)])
def test_high_pass_is_told_as_it_can_be_set(store: Store, most: int, high_pass: int, wanted: int, gap: int) -> None:
    package = best(store, {"hp_max_hz": most}, NONE, 130)
    doors, bass = (package.filter_of(place) for place in ("door", "trunk"))
    assert doors is not None and bass is not None
    assert (doors.high_pass_hz, doors.high_pass_wanted_hz, bass.gap_to_hz) == (high_pass, wanted, gap)
    assert f"high-pass at {high_pass} Hz in the amplifier" in doors.says


def test_without_bass_no_filter_has_to_exist(store: Store) -> None:
    told = options(store, choose=["head_unit", "door"], top=1).packages[0].filter_of("door")
    assert told is not None
    assert (told.high_pass_hz, told.high_pass_in, told.checks) == (80, None, [])
