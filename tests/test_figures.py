"""Text to figure: what each way of writing a number means, what is refused, what holds for all of them."""

from __future__ import annotations

import pickle
import subprocess
import sys
import time
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from catalog_schema.figures import (
    DEFAULT_TOL_MM,
    Figure,
    known_units,
    read_figure,
    read_number,
    split_header,
    unit_of_field,
    write_figure,
)
from catalog_schema.notation import DecimalMark, Notation, settle_numbers, split_amounts
from catalog_schema.problems import FieldError
from catalog_schema.units import EXPECTED, UNITS, gauge_area_mm2, gauge_number

D = Decimal
NBSP, THIN, NARROW = "\u00a0", "\u2009", "\u202f"


def refusal(cell: object, unit: str, given_in: str | None = None) -> FieldError:
    with pytest.raises(FieldError) as caught:
        read_figure(cell, unit, given_in=given_in)
    return caught.value


# What is read


@pytest.mark.parametrize(
    ("text", "value"),
    [
        *[("62", "62"), ("62.5", "62.5"), (" 62.5\t", "62.5"), ("62,5", "62.5"), ("0,125", "0.125")],
        *[("0.125", "0.125"), (".5", "0.5"), (",5", "0.5")],
        ("1234,567", "1234.567"),  # four digits before it: no thousands mark
        *[("1,23", "1.23"), ("1.234,5", "1234.5"), ("1,234.5", "1234.5"), ("1.234,567", "1234.567")],
        *[("1,234,567", "1234567"), ("1.234.567", "1234567"), ("1 234,5", "1234.5"), ("1 234", "1234")],
        *[(f"1{NBSP}234,5", "1234.5"), (f"12{THIN}345", "12345"), (f"1{NARROW}234.5", "1234.5")],
        *[("1'234.5", "1234.5"), ("1’234’567", "1234567"), ("-12", "-12"), ("−12,5", "-12.5"), ("+3", "3")],
        *[("-0", "0"), ("-0.00", "0"), ("1e3", "1000"), ("1.5E-2", "0.015"), ("1e-7", "0")],
        ("999999999999", "999999999999"),
        ("0.1234565", "0.123456"),  # half to even
        ("0.1234575", "0.123458"),
    ],
)
def test_bare_numbers_are_in_the_fields_unit(text: str, value: str) -> None:
    assert read_figure(text, "mm") == Figure(D(value))
    assert str(read_number(text, "mm")) == value


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        *[("60 mm", "60"), ("60mm", "60"), ("60 MM.", "60"), ("60,5 mm", "60.5"), ("6.05 cm", "60.5")],
        *[("0,0605 m", "60.5"), ("1 in", "25.4"), ("1 inch", "25.4"), ("2 inches", "50.8"), ("2 Zoll", "50.8")],
        *[("1 ft", "304.8"), ("6'", "1828.8"), ("6′", "1828.8"), ('6.5"', "165.1"), ("6.5''", "165.1")],
        *[("6.5″", "165.1"), ("6.5”", "165.1"), ("6,5 in", "165.1"), ("6 1/2 in", "165.1"), ('6 1/2"', "165.1")],
        *[('6½"', "165.1"), ("6 ½ in.", "165.1"), ("6 3/4 in", "171.45"), ("5 27/32 in", "148.43125")],
        *[("2 3/8 in", "60.325"), ('2-3/8"', "60.325"), ("2 - 3/8 in", "60.325"), ("2–3/8 in", "60.325")],
        *[("3/8 in", "9.525"), ('1/64"', "0.396875"), ("¼ in", "6.35"), ("¾ in", "19.05"), ("⅛ in", "3.175")],
        *[("⅜ in", "9.525"), ("⅝ in", "15.875"), ("⅞ in", "22.225"), ("⅓ in", "8.466667"), ("1⅔ ft", "508")],
        *[("-1 1/2 in", "-38.1"), (f"1{NBSP}234,5 mm", "1234.5"), ("Ø 165 mm", "165"), ("Ø165", "165")],
        *[("165 mm Ø", "165"), ("⌀ 6½ in", "165.1")],
    ],
)
def test_lengths(text: str, mm: str) -> None:
    assert read_figure(text, "mm") == Figure(D(mm))


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        *[("165 mm", "in", "6.496063"), ("6 1/2", "in", "6.5"), ("3/8", "in", "0.375"), ("15 ft", "m", "4.572")],
        *[("450 cm", "m", "4.5")],
        ("21 sq in", "cm2", "135.4836"),
        *[("21 in²", "cm2", "135.4836"), ("13 700 mm2", "cm2", "137"), ("137 cm^2", "cm2", "137")],
        *[("16", "mm2", "16"), ("16 mm²", "mm2", "16"), ("1 cu ft", "l", "28.316847"), ("1 ft3", "l", "28.316847")],
        ("0.35 cu. ft.", "l", "9.910896"),
        ("½ cu ft", "l", "14.158423"),
        ("1000 cu in", "l", "16.387064"),
        *[("500 ccm", "l", "0.5"), ("500 cm³", "l", "0.5"), ("28,5 Liter", "l", "28.5")],
        *[("28.5 litres", "l", "28.5"), ("0.05 m3", "l", "50"), ("1 lb", "kg", "0.453592")],
        *[("100 lbs", "kg", "45.359237"), ("16 oz", "kg", "0.453592"), ("4200 g", "kg", "4.2")],
        *[("100 W", "w", "100"), ("100 W RMS", "w", "100"), ("100 Wrms", "w", "100")],
        ("100 watts (RMS)", "w", "100"),
        *[("100 RMS", "w", "100"), ("1 200 W", "w", "1200"), ("1.2 kW", "w", "1200"), ("250 mW", "w", "0.25")],
        *[("4 ohm", "ohm", "4"), ("4 Ohms", "ohm", "4"), ("4Ω", "ohm", "4"), ("4 \u2126", "ohm", "4")],
        *[("2000 mohm", "ohm", "2"), ("10 kOhm", "ohm", "10000"), ("3½ ohm", "ohm", "3.5"), ("4 V", "v", "4")],
        *[("4 V RMS", "v", "4"), ("200 mV", "v", "0.2"), ("30 A", "a", "30"), ("500 mA", "a", "0.5")],
        *[("0.5 A", "ma", "500"), ("5 MA", "ma", "5"), ("60 Ah", "ah", "60"), ("65 Hz", "hz", "65")],
        *[("20 kHz", "hz", "20000"), ("90.5 dB", "db", "90.5"), ("1,5 h", "h", "1.5"), ("1/2", "h", "0.5")],
        *[("90 min", "h", "1.5"), ("20 min", "h", "0.333333"), ("35 %", "pct", "35"), ("35%", "pct", "35")],
        *[("3 days", "days", "3"), ("2 weeks", "days", "14"), ("0,45", "n", "0.45")],
    ],
)
def test_units_convert_into_the_fields_unit(text: str, unit: str, value: str) -> None:
    assert read_number(text, unit) == D(value)


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        (62, "62"),
        (62.5, "62.5"),
        (0.1, "0.1"),
        (0.1 + 0.2, "0.3"),  # a spreadsheet's noise stays behind
        *[(60.000000000000007, "60"), (148.43125, "148.43125"), (-0.0, "0"), (1e-300, "0"), (D("62.50"), "62.5")],
        *[(D("1E+3"), "1000"), (D("1E-999999999"), "0"), (D("-0"), "0")],
    ],
)
def test_numbers_in_a_cell(cell: object, value: str) -> None:
    assert str(read_number(cell, "mm")) == value


@pytest.mark.parametrize("cell", [None, "", "   ", "\t\n", NBSP, {"value": None, "tol": 1}, {"value": " "}])
def test_a_blank_cell_is_unknown(cell: object) -> None:
    assert read_figure(cell, "mm") is None
    assert read_number(cell, "mm") is None


@pytest.mark.parametrize(
    ("cell", "value", "tol", "basis"),
    [
        ("61 ±1 mm", "61", "1", None),
        ("61 +/- 1", "61", "1", None),
        ("61 mm ± 0.5 mm", "61", "0.5", None),
        ("61mm±0,5", "61", "0.5", None),
        ("2 1/2 in ± 1/16 in", "63.5", "1.5875", None),
        ("2 1/2 ± 1/16 in", "63.5", "1.5875", None),  # the unit at the end is the unit of both
        ("Ø 165 ±1 mm", "165", "1", None),
        ("61 ±0", "61", "0", None),
        ("60 (estimate)", "60", None, "estimate"),
        ("61 ±1 mm (Caliper)", "61", "1", "caliper"),
        ({"value": 61}, "61", None, None),
        ({"value": 61, "tol": 1, "basis": "measured"}, "61", "1", "measured"),
        ({"value": "2 3/8 in", "tol": "0,5", "basis": " Maker "}, "60.325", "0.5", "maker"),
        ({"value": "61 ±1", "basis": "caliper"}, "61", "1", "caliper"),
        ({"value": D(61), "tol": None, "basis": ""}, "61", None, None),
        ({"value": 61, "tol": 0}, "61", "0", None),
    ],
)
def test_tolerance_and_basis(cell: object, value: str, tol: str | None, basis: str | None) -> None:
    figure = read_figure(cell, "mm")
    assert figure == Figure(D(value), D(tol) if tol else None, basis)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("cell", "unit", "given_in", "value"),
    [
        ("6.5", "mm", "in", "165.1"),
        (6.5, "mm", "in", "165.1"),
        (D("6.5"), "mm", "in", "165.1"),
        ("2 3/8", "mm", "in", "60.325"),
        ("3/8", "mm", "in", "9.525"),
        ("60 mm", "mm", "in", "60"),  # a unit in the cell outranks the header's
        ({"value": 2, "tol": 1}, "mm", "in", "50.8"),
        (4.0, "mm2", "awg", "21.150639"),
        ("1/0", "mm2", "awg", "53.475121"),
        ("16 mm2", "mm2", "awg", "16"),
    ],
)
def test_a_headers_unit_holds_for_bare_numbers(cell: object, unit: str, given_in: str, value: str) -> None:
    figure = read_figure(cell, unit, given_in=given_in)
    assert figure is not None and figure.value == D(value)


# Conductors by gauge

# Circular mils as published, NEC Chapter 9 Table 8 (a secondary copy was seen): rounded areas of the same
# gauges, within 0.3 % of the formula. 1 circular mil is pi/4 of a square thousandth of an inch.
PUBLISHED_CMIL = {
    "18": 1620,
    "16": 2580,
    "14": 4110,
    "12": 6530,
    "10": 10380,
    "8": 16510,
    "6": 26240,
    "4": 41740,
    "2": 66360,
    "1": 83690,
    "1/0": 105600,
    "2/0": 133100,
    "3/0": 167800,
    "4/0": 211600,
}


@pytest.mark.parametrize(("gauge", "cmil"), PUBLISHED_CMIL.items())
def test_a_gauge_agrees_with_the_published_areas(gauge: str, cmil: int) -> None:
    area = read_number(f"{gauge} AWG", "mm2")
    assert area is not None
    assert float(area) == pytest.approx(cmil * 5.06707e-4, rel=0.003)


@pytest.mark.parametrize(
    ("text", "mm2"),
    [
        *[("14 AWG", "2.080908"), ("AWG 14", "2.080908"), ("14awg", "2.080908"), ("14 ga", "2.080908")],
        *[("0 AWG", "53.475121"), ("1/0 AWG", "53.475121"), ("00 AWG", "67.430882"), ("2/0 gauge", "67.430882")],
        ("4/0 AWG", "107.219303"),  # 0.46 in across: pi/4 x 11.684 mm squared
        ("0000 AWG", "107.219303"),
        ("36 AWG", "0.012668"),  # 0.005 in across: pi/4 x 0.127 mm squared
    ],
)
def test_gauges_are_areas(text: str, mm2: str) -> None:
    assert read_number(text, "mm2") == D(mm2)


@pytest.mark.parametrize(("text", "number"), [("0000", -3), ("4/0", -3), ("0", 0), ("40", 40), ("41", None)])
def test_gauges_run_from_four_aught_to_forty(text: str, number: int | None) -> None:
    assert gauge_number(text) == number


def test_thirty_nine_steps_make_ninety_two_times_the_diameter() -> None:
    assert round(gauge_area_mm2(-3) / gauge_area_mm2(36), 20) == 92**2


# What has two readings


@pytest.mark.parametrize(
    ("text", "unit", "given_in", "alternatives"),
    [
        ("2 3/8", "mm", None, ("2 3/8 in", "2.3750 mm")),  # read as 2.375 mm once: FITS with 47.625 mm to spare
        ("6 1/2", "mm", None, ("6 1/2 in", "6.5 mm")),
        ("3 ⅜", "mm", None, ("3 3/8 in", "3.3750 mm")),
        ("¼", "mm", None, ("1/4 in", "0.25 mm")),
        ("3/8", "mm", None, ("3/8 in", "0.375 mm")),
        ("-1 1/2", "mm", None, ("-1 1/2 in", "-1.5 mm")),
        ("5 5/8 mm", "mm", None, ("5 5/8 in", "5.6250 mm")),
        ("5 5/8", "mm", "mm", ("5 5/8 in", "5.6250 mm")),
        ("2 1/2 cm", "mm", None, ("2 1/2 in", "2.5 cm")),
        ("2 1/2 ± 1/16", "mm", None, ("2 1/2 in", "2.5 mm")),
        ("15 1/2", "m", None, ("15 1/2 ft", "15.5 m")),
        ("1 1/2", "l", None, ("1 1/2 cu ft", "1.5 l")),
        ("9 1/4", "kg", None, ("9 1/4 lb", "9.25 kg")),
        ("5,2 M", "mm", None, ("5.2 mm", "5.2 m")),
        ("1.500", "n", None, ("1.5", "1500")),
        ("1,500", "n", None, ("1500", "1.5")),
        ("1,234", "mm", None, ("1234", "1.2340")),
        ("-12,345 mm", "mm", None, ("-12345 mm", "-12.3450 mm")),
        ("61 ±1.500 mm", "mm", None, ("61 ±1.5 mm", "61 ±1500 mm")),
        ("12.125", "mm", "in", ("12.1250", "12125")),
        ({"value": "1.500", "tol": 1}, "mm", None, ("1.5", "1500")),
    ],
)
def test_text_of_two_readings_is_refused_with_both(
    text: object, unit: str, given_in: str | None, alternatives: tuple[str, str]
) -> None:
    error = refusal(text, unit, given_in)
    assert sorted(error.alternatives) == sorted(alternatives)
    assert all(one in error.fix for one in alternatives)
    for one in alternatives:
        assert read_figure(one, unit, given_in=given_in) is not None


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        *[("5 5/8", "in", "5.625"), ("5 5/8 in", "mm", "142.875"), ("4 1/2 m", "m", "4.5"), ("½ l", "l", "0.5")],
        *[("1 1/2", "h", "1.5"), ("3½", "ohm", "3.5"), ("5,2 M", "m", "5.2"), ("0.125", "mm", "0.125")],
        *[("1234.567", "mm", "1234.567")],
    ],
)
def test_a_fraction_of_its_own_unit_and_a_number_of_one_reading_are_read(text: str, unit: str, value: str) -> None:
    assert read_number(text, unit) == D(value)


@pytest.mark.parametrize(
    ("text", "mark", "value"),
    [
        ("1.500", "point", "1.5"),
        ("1.500", "comma", "1500"),
        ("1,500", "point", "1500"),
        ("1,500", "comma", "1.5"),
        ("62,5", "point", "62.5"),  # one reading, whoever wrote it
        ("1.234,5", "point", "1234.5"),
        ("12,125 ±0.500", "point", "12125"),
    ],
)
def test_the_notation_decides_between_two_readings(text: str, mark: DecimalMark, value: str) -> None:
    assert read_number(text, "n", Notation(mark)) == D(value)


@pytest.mark.parametrize(
    ("text", "mark", "kept"),
    [
        ("1.500", "point", "1.5"),
        ("1.500", "comma", "1500"),
        ("12,125 mm", "comma", "12.1250 mm"),
        ("61 ±1.500", "point", "61 ±1.5"),
        ("1.500", "either", "1.500"),
        ("1.234,5", "point", "1.234,5"),
        ("2 3/8 in", "point", "2 3/8 in"),
        ("1,500,000", "point", "1,500,000"),
    ],
)
def test_a_text_to_keep_reads_the_same_for_everyone(text: str, mark: DecimalMark, kept: str) -> None:
    assert settle_numbers(text, mark) == kept


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("700, 1.000, 1.500", ["700", "1.000", "1.500"]),  # stored as 700, 1, 1.5 once
        ("700;1000;1500", ["700", "1000", "1500"]),
        ("700,50; 1000,50", ["700,50", "1000,50"]),
        *[("700\n1000", ["700", "1000"]), ("700", ["700"]), ("700,", ["700"]), ("", [])],
    ],
)
def test_amounts_of_one_box_are_parted(text: str, pieces: list[str]) -> None:
    assert split_amounts(text) == pieces


# What is refused


@pytest.mark.parametrize(
    ("text", "unit", "expected", "fix"),
    [
        ("62,5 furlong", "mm", "a length such as 62.5 mm, 62,5 mm or 2 1/2 in", "mm, cm, m, in, ft"),
        ("60 kg", "mm", "a length", "kg is a unit of mass"),
        ("4 ohm", "w", "a continuous power", "ohm is a unit of resistance"),
        ("4 AWG", "mm", "a length", "mm, cm, m, in, ft"),
        ("4 AWG", "cm2", "an area", "cm2"),
        ("4x10", "mm", "a length", "a size, never a measure"),
        ("16,5 x 20", "mm", "a length", "a size, never a measure"),
        ("165 × 130 mm", "mm", "a length", "a size, never a measure"),
        ('6" x 9"', "in", "a length", "a size, never a measure"),
        ("6/9", "in", "a length", "one number"),
        ("5/7 in", "mm", "a length", "one number"),
        ("4/6 in", "mm", "a length", "one number"),
        ("60-65 mm", "mm", "a length", "tolerance"),
        ("60…65", "mm", "a length", "tolerance"),
        ("ca. 60", "mm", "a length", "(estimate)"),
        ("~60", "mm", "a length", "(estimate)"),
        ("approx 60 mm", "mm", "a length", "(estimate)"),
        ("1,234,5", "mm", "a length", "mm"),
        ("0,123,456", "mm", "a length", "mm"),
        ("12 34", "mm", "a length", "mm"),
        ("5.", "mm", "a length", "mm"),
        ("2 9/8 in", "mm", "a length", "mm"),
        ("1/0 in", "mm", "a length", "one number"),
        ("5' 6\"", "mm", "a length", "ft"),
        ("6²", "mm", "a length", "mm"),
        ("6½5", "mm", "a length", "mm"),
        ("½½ in", "mm", "a length", "mm"),
        ("६", "mm", "a length", "mm"),
        ("61 ±1 ±2", "mm", "a length", "mm"),
        ("61 ±", "mm", "a length", "mm"),
        ("±1", "mm", "a length", "mm"),
        ("61 ±-1", "mm", "a length", "mm"),
        ("61 ±1 kg", "mm", "a length", "kg is a unit of mass"),
        ("61 mm ±1 kg", "mm", "a length", "kg is a unit of mass"),
        ("N/A", "mm", "a length", "leave the cell empty"),
        ("tbd", "ohm", "a resistance", "leave the cell empty"),
        ("-", "l", "a volume", "leave the cell empty"),
        ("NaN", "mm", "a length", "leave the cell empty"),
        ("Infinity", "mm", "a length", "leave the cell empty"),
        ("1e400", "mm", "a length", "leave the cell empty"),
        ("1e12", "mm", "a length", "under 10^12"),
        ("9" * 40, "mm", "a length", "under 10^12"),
        ("999999999999 m", "mm", "a length", "under 10^12"),
        ("600 W max", "w", "a continuous power", "a maximum is not a continuous power"),
        ("600 Wmax", "w", "a continuous power", "a maximum is not a continuous power"),
        ("peak 600 W", "w", "a continuous power", "a maximum is not a continuous power"),
        ("300 W Musikleistung", "w", "a continuous power", "a maximum is not a continuous power"),
        ("PMPO 1000 W", "w", "a continuous power", "a maximum is not a continuous power"),
        ("75/150 W", "w", "a continuous power", "one number"),
        ("4 x 75 W", "w", "a continuous power", "one channel or one coil"),
        ("2 MW", "w", "a continuous power", "mW"),
        ("4/2 ohm", "ohm", "a resistance", "one number"),
        ("2 x 4 ohm", "ohm", "a resistance", "one channel or one coil"),
        ("5 MΩ", "ohm", "a resistance", "mohm"),
        ("50/60 Hz", "hz", "a frequency", "one number"),
        ("4 Vpp", "v", "a voltage", "mV"),
        ("24 h", "days", "a number of days", "h is a unit of time"),
        ("2 pcs", "n", "a number without a unit", "a number alone"),
        ("Ø 4 ohm", "ohm", "a resistance", "ohm"),
    ],
)
def test_refused_text(text: str, unit: str, expected: str, fix: str) -> None:
    error = refusal(text, unit)
    assert error.found == text
    assert error.expected.startswith(expected)
    assert fix in error.fix


@pytest.mark.parametrize(
    ("cell", "found"),
    [
        *[(True, "True"), (float("nan"), "nan"), (float("inf"), "inf"), (D("NaN"), "NaN"), (D("sNaN"), "sNaN")],
        *[(D("-Infinity"), "-Infinity"), (D("1e400"), "1E+400"), (1e12, "1000000000000.0")],
        *[(10**12, "1000000000000")],
        pytest.param(10**5000, "a number of over 60 digits", id="5001 digits"),
        ([61], "a value of type list"),
        (b"61", "a value of type bytes"),
        ({"value": True}, "True"),
        ({"value": {"value": 61}}, "a value of type dict"),
        ({"value": 61, "tolerance": 1}, "tolerance"),
        ({"tol": 1}, "{}"),
        ({}, "{}"),
        ({"value": 61, "tol": -1}, "-1"),
        ({"value": 61, "tol": "1 ±1"}, "1 ±1"),
        ({"value": 61, "tol": "wide"}, "wide"),
        ({"value": 61, "basis": "guess"}, "guess"),
        ({"value": 61, "basis": ["maker"]}, "a value of type list"),
        ({"value": "61 ±1", "tol": 1}, "61 ±1"),
        ({"value": "61 (maker)", "basis": "maker"}, "61 (maker)"),
    ],
)
def test_refused_cells(cell: object, found: str) -> None:
    assert refusal(cell, "mm").found == found


def test_a_header_in_a_unit_of_another_kind_is_refused() -> None:
    assert "kg is a unit of mass" in refusal(61, "mm", given_in="kg").fix
    assert "gauge" in refusal("99", "mm2", given_in="awg").fix


@pytest.mark.parametrize("piece", ["9", "1 ", "((", "±", "\ud800\x00"], ids=ascii)
def test_a_huge_text_is_refused_at_once_and_shown_short(piece: str) -> None:
    text = piece * 10**7
    begun = time.perf_counter()
    error = refusal(text, "mm")
    assert time.perf_counter() - begun < 0.5
    assert len(error.found) == 60
    assert error.found.isprintable()
    str(error).encode("utf-8")


def test_a_refusal_says_its_three_parts_and_can_be_carried_between_processes() -> None:
    error = refusal("tbd", "ohm")
    assert str(error) == f"found 'tbd', expected {error.expected}; {error.fix}"
    assert str(pickle.loads(pickle.dumps(error))) == str(error)
    assert isinstance(error, ValueError)


@pytest.mark.parametrize(("unit", "given_in"), [("furlong", None), ("cm", None), ("mm", "furlong")])
def test_a_wrong_unit_is_the_callers_fault_not_the_cells(unit: str, given_in: str | None) -> None:
    with pytest.raises(ValueError, match="no such unit") as caught:
        read_figure("61", unit, given_in=given_in)
    assert not isinstance(caught.value, FieldError)


# Fields and headers


@pytest.mark.parametrize(
    ("field", "unit"),
    [
        *[("depth_mm", "mm"), ("h_mm", "mm"), ("size_in", "in"), ("battery_to_dash_m", "m"), ("sd_cm2", "cm2")],
        *[("area_mm2", "mm2"), ("vas_l", "l"), ("mass_kg", "kg"), ("rms_w", "w"), ("full_w_4ohm", "w")],
        *[("bass_w_1ohm", "w"), ("full_bridged_w_4ohm", "w"), ("impedance_ohm", "ohm"), ("full_min_ohm", "ohm")],
        *[("preout_v", "v"), ("current_a", "a"), ("standby_ma", "ma"), ("battery_ah", "ah"), ("fs_hz", "hz")],
        *[("sens_db", "db"), ("labour_h", "h"), ("lead_days", "days"), ("vlt_pct", "pct"), ("price", None)],
        *[("coils", None), ("qts", None), ("pack_of", None), ("size", None), ("sens_basis", None)],
        *[("power_basis", None)],
        ("high_level_in", None),  # an input, not inches
        ("in", None),
        ("row_n", None),
        ("", None),
    ],
)
def test_a_fields_unit_stands_in_its_name(field: str, unit: str | None) -> None:
    assert unit_of_field(field) == unit


@pytest.mark.parametrize(
    ("header", "stem", "unit"),
    [
        ("Depth (in)", "depth", "in"),
        ("Depth [mm]", "depth", "mm"),
        ("Mounting Depth  ( Inches )", "mounting_depth", "in"),
        ('Size (")', "size", "in"),
        ("Size (″)", "size", "in"),
        ("RMS (W)", "rms", "w"),
        ("Power (W RMS)", "power", "w"),
        ("Impedance (Ω)", "impedance", "ohm"),
        ("Box volume (ft³)", "box_volume", "ft3"),
        ("Conductor (AWG)", "conductor", "awg"),
        ("Glass (%)", "glass", "pct"),
        ("Länge (cm)", "länge", "cm"),
        ("Power (peak)", "power_peak", None),
        ("Power (W peak)", "power_w_peak", None),
        ("Depth (mm) behind", "depth_mm_behind", None),
        *[("depth_mm", "depth_mm", None), ("Part-No.", "part_no", None), ("(mm)", "mm", None), ("mm)", "mm", None)],
        *[("", "", None), ("((", "", None)],
    ],
)
def test_a_header_may_carry_its_unit(header: str, stem: str, unit: str | None) -> None:
    assert split_header(header) == (stem, unit)


@pytest.mark.parametrize(
    ("unit", "names"),
    [
        ("mm", ["mm", "cm", "m", "in", "ft"]),
        ("mm2", ["mm2", "cm2", "in2", "awg"]),
        ("cm2", ["mm2", "cm2", "in2"]),
        ("ma", ["a", "ma"]),
        ("db", ["db"]),
    ],
)
def test_known_units_convert_into_each_other(unit: str, names: list[str]) -> None:
    assert known_units(unit) == names


def test_every_field_unit_is_a_unit_and_only_lengths_have_a_usual_tolerance() -> None:
    assert EXPECTED.keys() <= UNITS.keys()
    assert {k: str(v) for k, v in DEFAULT_TOL_MM.items()} == {
        "measured": "1",
        "caliper": "0.2",
        "maker": "0.5",
        "estimate": "5",
        "taken_over": "3",
    }


# What holds for every figure and every text

field_units = st.sampled_from(sorted(EXPECTED))
numbers = st.decimals(min_value=-(10**11), max_value=10**11, places=6)
bands = st.none() | st.decimals(min_value=0, max_value=1000, places=6)
bases = st.sampled_from([None, *DEFAULT_TOL_MM])
pairs = st.sampled_from([(a, b) for b in sorted(EXPECTED) for a in known_units(b) if a not in ("awg", "n")])


@given(st.builds(Figure, numbers, bands, bases), field_units)
def test_a_written_figure_reads_back(figure: Figure, unit: str) -> None:
    assert read_figure(write_figure(figure, unit), unit) == figure


@given(st.decimals(-1000, 1000, places=9) | numbers)
def test_writing_keeps_the_decimals_that_reading_keeps(value: Decimal) -> None:
    assert read_number(write_figure(Figure(value), "mm"), "mm") == read_number(value, "mm")


@given(pairs, st.decimals(min_value=-(10**6), max_value=10**6, places=4), st.booleans())
def test_a_unit_in_the_text_converts_exactly(pair: tuple[str, str], value: Decimal, comma: bool) -> None:
    own, unit = pair
    text = f"{value:f} {UNITS[own].symbol}"
    exact = Fraction(value) * UNITS[own].size / UNITS[unit].size
    assume(abs(exact) < 10**12)
    read = read_number(text.replace(".", ",") if comma else text, unit)
    assert read is not None
    assert Fraction(read) == round(exact, 6)


def test_hours_that_are_too_many_milliseconds_are_refused_as_too_great() -> None:
    assert read_number("277777.7777 h", "ms") == Decimal("999999999720")
    with pytest.raises(FieldError, match=r"give a number under 10\^12"):
        read_number("277777.7778 h", "ms")


@given(st.integers(0, 99), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_every_part_of_an_inch_is_exact(whole: int, top: int, bottom: int) -> None:
    top = top % bottom or 1
    read = read_number(f"{whole} {top}/{bottom} in", "in")
    assert read is not None
    assert Fraction(read) == whole + Fraction(top, bottom)


@given(st.integers(0, 999), st.integers(0, 999), st.integers(0, 999), st.sampled_from([" ", "'", "’", NBSP]))
def test_thousands_marks_change_nothing(high: int, low: int, part: int, mark: str) -> None:
    text = f"{high}{mark}{low:03}.{part:03}" if high else f"{low}.{part:03}0"
    assert read_number(text, "mm") == D(high * 1000 + low) + D(part) / 1000


shop_text = st.text(st.sampled_from("0123456789.,' /-+±x×eEØ½⅜\"minchftkgWRS()%Ω~\ud800\x00\u00a0"), max_size=24)
junk = st.text() | shop_text | st.integers() | st.floats() | st.decimals(allow_nan=True) | st.binary()
cells = junk | st.dictionaries(st.sampled_from(["value", "tol", "basis", "x"]), junk) | st.lists(junk)


@given(cells, field_units, st.sampled_from([None, "in", "awg", "lb", "w"]))
def test_whatever_is_in_a_cell_is_read_or_refused(cell: object, unit: str, given_in: str | None) -> None:
    try:
        figure = read_figure(cell, unit, given_in=given_in)
    except FieldError as refused:
        assert len(refused.found) <= 60
        str(refused).encode("utf-8")
    else:
        assert figure is None or (figure.value.is_finite() and abs(figure.value) < 10**12)


@given(st.text())
def test_any_header_splits(header: str) -> None:
    stem, unit = split_header(header)
    assert stem == stem.casefold().strip("_")
    assert unit is None or unit in UNITS or unit == "awg"


def test_a_callers_decimal_settings_change_no_figure() -> None:
    with localcontext(prec=3):
        assert read_number("5 27/32 in", "mm") == D("148.43125")
        assert read_number(123456.789012, "mm") == D("123456.789012")
        assert read_number("12 AWG", "mm2") == D("3.308773")


def test_reading_figures_loads_no_heavy_library() -> None:
    script = "import sys, catalog_schema.figures as f; print({'pydantic', 'duckdb'} & set(sys.modules))"
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "set()"
