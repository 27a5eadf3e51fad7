"""Gauge, area and resistance of conductors against the published tables."""

from __future__ import annotations

import pytest

from matcher.formulas.wire import (
    awg_area_mm2,
    awg_diameter_mm,
    awg_for_area,
    awg_name,
    copper_equal_mm2,
    copper_factor,
    resistance_ohm_per_m,
)
from matcher.formulas.wire_tables import GAUGES

M_PER_KFT = 304.8
MM2_PER_CMIL = 5.06707e-4

# NEC chapter 9 table 8, uncoated copper at 75 C: gauge, cmil, solid and stranded ohm/1000 ft.
NEC_TABLE_8 = [
    *[(18, 1620, 7.77, 7.95), (16, 2580, 4.89, 4.99), (14, 4110, 3.07, 3.14), (12, 6530, 1.93, 1.98)],
    *[(10, 10380, 1.21, 1.24), (8, 16510, 0.764, 0.778), (6, 26240, None, 0.491), (4, 41740, None, 0.308)],
    *[(2, 66360, None, 0.194), (1, 83690, None, 0.154), (0, 105600, None, 0.122), (-1, 133100, None, 0.0967)],
    *[(-2, 167800, None, 0.0766), (-3, 211600, None, 0.0608)],
]


@pytest.mark.parametrize(
    ("awg", "mm"),
    [
        (36, 0.127),  # ASTM B258: 0.0050 in, one of its two anchors
        (-3, 11.684),  # ASTM B258: 0.4600 in, the other
        (10, 2.5882),
        (4, 5.1894),
        (18, 25.4 * 0.0403),  # an independent published table, four digits in inches, here and below
        *[(14, 25.4 * 0.0641), (12, 25.4 * 0.0808), (8, 25.4 * 0.1285), (2, 25.4 * 0.2576), (0, 25.4 * 0.3249)],
    ],
)
def test_diameter_by_gauge(awg: int, mm: float) -> None:
    assert awg_diameter_mm(awg) == pytest.approx(mm, rel=8e-4)


@pytest.mark.parametrize(("awg", "cmil", "_solid", "_stranded"), NEC_TABLE_8)
def test_area_by_gauge(awg: int, cmil: float, _solid: float | None, _stranded: float) -> None:
    assert awg_area_mm2(awg) == pytest.approx(cmil * MM2_PER_CMIL, rel=3e-3)


@pytest.mark.parametrize(("awg", "_cmil", "solid", "stranded"), NEC_TABLE_8)
def test_resistance_at_75_c(awg: int, _cmil: float, solid: float | None, stranded: float) -> None:
    area = awg_area_mm2(awg)
    assert M_PER_KFT * (resistance_ohm_per_m(area, 75) or 0) == pytest.approx(stranded, rel=5e-3)
    if solid is not None:
        assert M_PER_KFT * (resistance_ohm_per_m(area, 75, stranded=False) or 0) == pytest.approx(solid, rel=5e-3)


def test_one_square_millimeter_of_copper() -> None:
    # IEC 60028: 58 MS/m at 20 C.
    assert resistance_ohm_per_m(1.0, 20, stranded=False) == pytest.approx(1 / 58, rel=1e-4)


def test_coefficient_referred_to_75_c() -> None:
    # NEC chapter 9 table 8 note, from memory: 0.00323 per K.
    assert (copper_factor(76, 75) or 0) - 1 == pytest.approx(0.00323, abs=5e-6)


@pytest.mark.parametrize(
    ("area", "awg"), [(0.5, 18), (0.8231, 18), (0.83, 16), (8.37, 8), (21.1, 4), (25, 3), (107.2, -3)]
)
def test_thinnest_gauge_that_has_the_area(area: float, awg: int) -> None:
    assert awg_for_area(area) == awg


@pytest.mark.parametrize("awg", GAUGES)
def test_a_gauge_is_found_again_by_its_own_area(awg: int) -> None:
    assert awg_for_area(awg_area_mm2(awg)) == awg


def test_names_of_gauges() -> None:
    assert [awg_name(awg) for awg in (-3, -2, -1, 0, 1, 18)] == ["4/0", "3/0", "2/0", "1/0", "1", "18"]


def test_clad_aluminum_is_sized_by_its_resistance() -> None:
    assert copper_equal_mm2(50, "cca") == pytest.approx(31.25)
    assert resistance_ohm_per_m(50, conductor="cca") == pytest.approx(resistance_ohm_per_m(31.25) or 0)


@pytest.mark.parametrize(
    "answer",
    [
        *[awg_diameter_mm(None), awg_diameter_mm(4.5), awg_diameter_mm(-4), awg_area_mm2(41), awg_name(41)],
        *[awg_for_area(120), copper_factor(201), copper_factor(20, None)],
        resistance_ohm_per_m(0),
        resistance_ohm_per_m(-1),
        resistance_ohm_per_m(1, None),
        resistance_ohm_per_m(1, conductor="silver"),  # type: ignore[arg-type]
        copper_equal_mm2(1, "silver"),  # type: ignore[arg-type]
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
