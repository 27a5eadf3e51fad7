"""The rows of published tables that no other test walks through, each beside its source.

What the formulas keep as a table is compared whole with a second copy of the page, so that a slip of the pen
shows; what they compute is compared with what the page prints.
"""

from __future__ import annotations

import math

import pytest

from catalog_schema.figures import read_number
from matcher.formulas.cable import ampacity_a, hot_space_factor
from matcher.formulas.exposure import week_h
from matcher.formulas.fuse import blade_color
from matcher.formulas.glass import film_needed_pct
from matcher.formulas.loudness import sum_incoherent_db
from matcher.formulas.wire import awg_area_mm2, awg_diameter_mm, copper_factor, resistance_ohm_per_m
from matcher.formulas.wire_tables import CLASS_5_OHM_PER_KM

TABLE_5 = """
18   10  10  15  20  20  25  25
16   15  15  20  25  25  30  35
14   20  20  25  30  35  40  45
12   25  25  35  40  45  50  55
10   40  40  50  55  60  70  70
8    55  65  70  70  80  90 100
6    80  95 100 100 120 125 135
4   105 125 130 135 160 170 180
3   120 145 150 155 180 195 210
2   140 170 175 180 210 225 240
1   165 195 210 210 245 265 280
0   195 230 245 245 285 305 325
-1  225 265 285 285 330 355 370
-2  260 310 330 330 385 410 430
-3  300 360 385 385 445 475 510
"""
"""33 CFR 183.425 table 5: by gauge (0 is 1/0), amperes at 60, 75, 80, 90, 105, 125 and 200 C."""


@pytest.mark.parametrize("row", TABLE_5.split("\n")[1:-1])
def test_ampacity_by_33_cfr_183_425_table_5(row: str) -> None:
    awg, *amperes = map(int, row.split())
    assert [ampacity_a(awg, rated) for rated in (60, 75, 80, 90, 105, 125, 200)] == amperes


def test_the_hot_space_of_33_cfr_183_425_as_printed() -> None:
    # 25 A becomes 21 A at 105 C; the factor at 200 C is from memory.
    assert math.floor(ampacity_a(16, 105, hot_space=True) or 0) == 21
    assert hot_space_factor(200) == 1


def test_the_step_from_gauge_to_gauge_of_astm_b258() -> None:
    # 39 steps of one ratio, the 39th root of 92: 1.1229322.
    steps = [(awg_diameter_mm(awg) or 0) / (awg_diameter_mm(awg + 1) or 1) for awg in range(-3, 36)]
    assert steps == pytest.approx([1.1229322] * 39, rel=1e-6)


@pytest.mark.parametrize(
    ("awg", "ohm_per_km"),
    # Worked from ASTM B258 and IEC 60028 beforehand, solid copper at 20 C.
    [
        *[(18, 20.948), (16, 13.174), (14, 8.285), (12, 5.211), (10, 3.277), (8, 2.061), (6, 1.296)],
        *[(4, 0.8152), (2, 0.5127), (1, 0.4066), (0, 0.3224), (-1, 0.2557), (-2, 0.2028), (-3, 0.1608)],
    ],
)
def test_resistance_at_20_c(awg: int, ohm_per_km: float) -> None:
    ohm = resistance_ohm_per_m(awg_area_mm2(awg), 20, stranded=False)
    assert 1000 * (ohm or 0) == pytest.approx(ohm_per_km, rel=4e-4)


def test_coefficient_at_20_c_of_iec_60028() -> None:
    assert (copper_factor(21) or 0) - 1 == pytest.approx(0.00393, abs=1e-8)


def test_largest_resistance_of_fine_strands_by_iec_60228() -> None:
    printed = "0.5:39.0 0.75:26.0 1:19.5 1.5:13.3 2.5:7.98 4:4.95 6:3.30 10:1.91 16:1.21 25:0.780 35:0.554 50:0.386"
    cells = (cell.split(":") for cell in f"{printed} 70:0.272 95:0.206 120:0.161".split())
    assert {float(area): float(ohm) for area, ohm in cells} == CLASS_5_OHM_PER_KM


@pytest.mark.parametrize(
    ("rating", "color"),
    # ISO 8820-3, DIN 72581-3, SAE J1284; from 50 A SAE J1888. Other lists call 5 A orange, 3 A pink, 35 A rose.
    [(1, "black"), (2, "gray"), (4, "pink"), (35, "blue-green"), (50, "red"), (70, "light brown"), (80, "clear")],
)
def test_colors_of_the_other_blades(rating: float, color: str) -> None:
    assert blade_color(rating) == color


def test_two_sources_3_db_apart() -> None:
    assert sum_incoherent_db([90, 87]) == pytest.approx(91.764, abs=1e-3)


@pytest.mark.parametrize(("sensitive", "level", "dose"), [(False, 80, 1.6), (True, 75, 0.51)])
def test_weekly_dose_of_h_870(sensitive: bool, level: float, dose: float) -> None:
    # WHO-ITU H.870, from memory: 1.6 and 0.51 Pa2h a week, at any level; 20 uPa is 0 dB.
    for louder in (level, level + 7, level + 14):
        pascals = 20e-6 * 10 ** (louder / 20)
        assert pascals**2 * (week_h(louder, sensitive=sensitive) or 0) == pytest.approx(dose, rel=0.012)


@pytest.mark.parametrize(
    ("limit", "film"),
    # FMVSS 205 70 %; UK Construction and Use Regulation 32 75 % in front; other rules seen 65 % and 50 %.
    [(70, 89.74), (75, 96.15), (65, 83.33), (50, 64.10)],
)
def test_film_that_glass_of_78_may_have(limit: float, film: float) -> None:
    assert film_needed_pct(78, limit) == pytest.approx(film, abs=5e-3)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    # NIST SP 811 and HB 44 appendix C, exact; a figure keeps six decimals. Fractions by hand.
    [
        ("1 in", "mm", "25.4"),
        ("1 cu ft", "l", "28.316847"),
        ("1000 cu in", "l", "16.387064"),
        ("1 lb", "kg", "0.453592"),
        ("1000 lb", "kg", "453.59237"),
        ("6 1/2 in", "mm", "165.1"),
        ("6 3/4 in", "mm", "171.45"),
        ("5 27/32 in", "mm", "148.43125"),
    ],
)
def test_units_of_nist_sp_811(text: str, unit: str, value: str) -> None:
    assert str(read_number(text, unit)) == value
