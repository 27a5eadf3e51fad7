"""What a cable carries and loses, against 33 CFR 183.425 Table 5 and worked drops."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.cable import (
    ampacity_a,
    area_ampacity_a,
    area_for_current_mm2,
    area_for_drop_mm2,
    cable_need,
    drop_v,
    hot_space_factor,
)
from matcher.formulas.wire import awg_area_mm2
from matcher.formulas.wire_tables import INSULATION_C

lengths = st.floats(0.1, 20)
currents = st.floats(0.1, 400)
areas = st.floats(0.5, 150)


@pytest.mark.parametrize("insulation_c", [rating for rating in INSULATION_C if rating != 200])
def test_hot_space_factor_follows_from_the_heat_that_may_flow_off(insulation_c: int) -> None:
    # The heat goes with the square of the current and the rise over the ambient (30 or 50 C).
    expected = math.sqrt((insulation_c - 50) / (insulation_c - 30))
    assert hot_space_factor(insulation_c) == pytest.approx(expected, abs=0.007)


@pytest.mark.parametrize(("awg", "printed"), [(8, 68), (18, 17)])
def test_hot_space_at_105_c(awg: int, printed: float) -> None:
    # 33 CFR 183.425: 80 A becomes 68 A.
    assert ampacity_a(awg, 105, hot_space=True) == pytest.approx(printed)


@pytest.mark.parametrize(
    ("area", "amperes"), [(0.82, 20), (1.0, 20), (8.37, 80), (16, 120), (21.2, 160), (25, 160), (35, 210), (120, 445)]
)
def test_metric_area_counts_as_the_next_thinner_gauge(area: float, amperes: float) -> None:
    assert area_ampacity_a(area) == amperes


def test_drop_of_4_awg_over_5_m_at_60_a() -> None:
    # NEC chapter 9 table 8 by hand: 2 x 5.0 / 0.3048 x 0.308 / 1000 x 60 = 0.606 V, 5.05 % of 12 V:
    # ABYC E-11 takes that at its 10 %, not at its 3 %.
    drop = drop_v(60, 5.0, awg_area_mm2(4), temp_c=75)
    assert drop == pytest.approx(0.606, rel=5e-3)
    assert 0.03 * 12 < (drop or 0) < 0.10 * 12


@given(currents, lengths, st.floats(0.05, 2), st.sampled_from(["copper", "cca"]))
def test_the_area_for_a_drop_has_that_drop(current: float, length: float, drop: float, conductor: str) -> None:
    area = area_for_drop_mm2(current, length, drop, conductor=conductor)  # type: ignore[arg-type]
    assert drop_v(current, length, area, conductor=conductor) == pytest.approx(drop)  # type: ignore[arg-type]


@pytest.mark.parametrize(("amperes", "awg"), [(20, 18), (20.1, 16), (80, 8), (81, 6), (445, -3)])
def test_thinnest_area_that_carries(amperes: float, awg: int) -> None:
    assert area_for_current_mm2(amperes) == awg_area_mm2(awg)


@given(st.floats(1, 445), st.booleans(), st.sampled_from(["copper", "cca"]))
def test_the_area_for_a_current_carries_it(amperes: float, hot: bool, conductor: str) -> None:
    area = area_for_current_mm2(amperes, hot_space=hot, conductor=conductor)  # type: ignore[arg-type]
    if area is not None:
        carried = area_ampacity_a(area, hot_space=hot, conductor=conductor)  # type: ignore[arg-type]
        assert (carried or 0) >= amperes


@pytest.mark.parametrize(
    ("current", "length", "fuse", "ruled_by", "awg", "standard"),
    [
        (60, 1.0, 60, "current", 10, 6),  # short: the fuse rules
        (60, 5.0, 60, "drop", 3, 35),  # long: the drop rules, 25.7 mm2
        (60, 1.0, 150, "current", 4, 25),  # a fuse far over the demand makes the cable thick
        (400, 9.0, 400, "drop", None, None),  # no cable of the lists
    ],
)
def test_the_larger_demand_rules(
    current: float, length: float, fuse: float, ruled_by: str, awg: int | None, standard: float | None
) -> None:
    need = cable_need(current, length, 0.5, fuse_a=fuse)
    assert need is not None
    assert (need.ruled_by, need.awg, need.standard_mm2) == (ruled_by, awg, standard)
    assert need.area_mm2 == max(need.by_current_mm2, need.by_drop_mm2)


def test_without_a_fuse_the_demand_is_carried() -> None:
    assert cable_need(60, 5, 0.5) == cable_need(60, 5, 0.5, fuse_a=60)


def test_clad_aluminum_is_made_1_6_times_as_thick() -> None:
    copper, clad = cable_need(60, 5, 0.5), cable_need(60, 5, 0.5, conductor="cca")
    assert copper is not None
    assert clad is not None
    assert clad.area_mm2 == pytest.approx(1.6 * copper.area_mm2)


@pytest.mark.parametrize(
    "answer",
    [
        *[ampacity_a(None), ampacity_a(5), ampacity_a(8, 100), ampacity_a(8, None), hot_space_factor(100)],
        *[hot_space_factor(None), area_ampacity_a(0.75), area_ampacity_a(None), drop_v(None, 5, 10)],
        *[drop_v(10, -5, 10), drop_v(10, 5, 10, temp_c=300), area_for_drop_mm2(10, 5, 0)],
        area_for_drop_mm2(10, None, 0.5),
        area_for_current_mm2(446),
        area_for_current_mm2(None),
        cable_need(60, None, 0.5),
        cable_need(60, 5, 0.5, fuse_a=500),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
