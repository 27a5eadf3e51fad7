"""Maps: one cell to the fields it speaks of; what a map does not provide for is never guessed."""

from __future__ import annotations

import json
from typing import Any

import pytest

from catalog_schema.columns import family_columns
from catalog_schema.documents import build
from catalog_schema.maps import ColumnMap
from matcher.errors import FileRefused
from matcher.store.cell_maps import Filled, make_cell_map
from matcher.store.listing import BadCell
from matcher.store.map_store import parse_map
from matcher.store.row_maps import MappedRows

UNKNOWN = frozenset({"n/a", "k. a.", "-"})


def fill(column: dict[str, Any], cell: object, family: str = "amplifier", **words: dict[str, str]) -> dict[str, Any]:
    """The fields that a cell fills; a bad one as what is wrong with it."""
    columns = {one.name: one for one in family_columns(family)}
    problems: list[Any] = []
    made = make_cell_map("Header", build(ColumnMap, column), columns, UNKNOWN, words, problems)
    assert not problems
    filled = Filled()
    made.fill(cell, filled)
    return {
        name: (value.shown, value.expected) if isinstance(value, BadCell) else value
        for name, value in filled.cells.items()
    }


def patterns(*matches: str) -> dict[str, Any]:
    return {"patterns": [{"match": match} for match in matches]}


SIDES = patterns(r"(?P<d_mm>[\d ./-]+?) ?x ?(?P<w_mm>[\d ./-]+?) ?x ?(?P<h_mm>[\d ./-]+?) ?(?P<unit>in|mm|\")")
COILS = {
    "patterns": [
        {"match": r"(?P<coils>\d) ?x ?(?P<impedance_ohm>[\d.,]+) ?ohm"},
        {"match": r"(?P<impedance_ohm>[\d.,]+) ?ohm", "set": {"coils": "1"}},
    ]
}
LENGTH = "a length such as 62.5 mm, 62,5 mm or 2 1/2 in"
KOAX = {"field": "model", "find": [{"match": "koax", "set": {"kind": "coaxial"}}]}
FUSES = patterns(r"(?P<notes>(?P<times>\d) x (?P<fuse_a>\d+))", r"(?P<fuse_a>\d+)")
LOADS = patterns(r"(?P<full_min_ohm>[\d.]+|-) / (?P<bass_min_ohm>[\d.]+|-)")
RANGE = patterns(r"(?P<input_min_v>[\d.]+m?V)-(?P<input_max_v>[\d.]+V)")
TWICE = patterns(r"(?P<coils>\d)x(?P<impedance_ohm>\d)")
EXTRAS = {"find": [{"match": r"fs (?P<fs_hz>[\d.]+)"}, {"match": r"qts (?P<qts>[\d.]+)"}], "rest": "notes"}


@pytest.mark.parametrize(
    ("column", "cell", "family", "expected"),
    [
        ({"field": "model"}, " Two  words ", "amplifier", {"model": "Two  words"}),
        ({"field": "model"}, "", "amplifier", {}),
        ({"field": "model"}, None, "amplifier", {}),
        ({"field": "depth_mm"}, "K. A.", "speaker", {}),
        (SIDES, "178 x 50 x 155 mm", "amplifier", {"d_mm": "178 mm", "w_mm": "50 mm", "h_mm": "155 mm"}),
        (SIDES, "11-1/4 x 7 11/16 X 2 in", "amplifier", {"d_mm": "11-1/4 in", "w_mm": "7 11/16 in", "h_mm": "2 in"}),
        (SIDES, "6½ x 5 x 2\"", "amplifier", {"d_mm": ("6½ x 5 x 2\"", LENGTH)}),
        (COILS, "2 x 4 Ohm", "speaker", {"coils": "2", "impedance_ohm": "4"}),
        (COILS, "4 Ohm", "speaker", {"coils": "1", "impedance_ohm": "4"}),
        (COILS, "n/a", "speaker", {}),
        (EXTRAS, "Fs 30.2 Qts 0.57", "subwoofer", {"fs_hz": "30.2", "qts": "0.57"}),
        (EXTRAS, "Qts 0.57; aluminum; Fs 30.2", "subwoofer", {"fs_hz": "30.2", "qts": "0.57", "notes": "aluminum"}),
        ({"find": [{"match": "(?P<fuse_a>\\d+) ?A"}]}, "60A", "amplifier", {"fuse_a": "60"}),
        (
            {"find": [{"match": "(?P<fuse_a>\\d+) ?A"}]},
            "60A slow",
            "amplifier",
            {"fuse_a": ("slow", "nothing beyond what the map finds in this cell")},
        ),
        (KOAX, "A1 Koax x", "speaker", {"model": "A1 Koax x", "kind": "coaxial"}),
        (patterns(r"(?P<times>\d) ?x ?(?P<fuse_a>\d+)", r"(?P<fuse_a>\d+)"), "3 x 25", "amplifier", {"fuse_a": "75"}),
        (FUSES, "2 x 40", "amplifier", {"notes": "Header: 2 x 40", "fuse_a": "80"}),
        (LOADS, "2 / -", "amplifier", {"full_min_ohm": "2"}),
        (
            patterns(r"(?P<rms_w>\d+) rms.*"),
            "1200 max",
            "speaker",
            {"rms_w": ("1200 max", "a continuous power such as 75 W or 75 W RMS")},
        ),
        (TWICE, "4", "speaker", {"coils": ("4", "text that a pattern of the map matches, for coils")}),
        (RANGE, "150mV–4V", "amplifier", {"input_min_v": "150mV", "input_max_v": "4V"}),
    ],
)  # fmt: skip
def test_a_cell(column: dict[str, Any], cell: object, family: str, expected: dict[str, Any]) -> None:
    assert fill(column, cell, family) == expected


@pytest.mark.parametrize(
    ("field", "cell", "words", "expected"),
    [
        ("pack_of", "Paar", {"paar": "2"}, "2"),
        ("pack_of", "PAAR", {"paar": "2"}, "2"),
        ("pack_of", "Dutzend", {"paar": "2"}, "Dutzend"),
        ("class", "A/B", {"a/b": "ab"}, "ab"),
        ("features", "DAB, removable face; usb", {"removable face": "detachable"}, "DAB; detachable; usb"),
    ],
)
def test_a_word_of_the_suppliers(field: str, cell: str, words: dict[str, str], expected: str) -> None:
    family = "head_unit" if field == "features" else "amplifier"
    assert fill({"field": field}, cell, family, **{field: words}) == {field: expected}


MAP: dict[str, Any] = {
    "name": "sup",
    "family": "film",
    "fields": {"No": "part_id", "Make": "maker", "Name": "model", "Price": "price", "Light": "vlt_pct"},
}
NAMELESS = {"fields": {header: name for header, name in MAP["fields"].items() if header != "Name"}, "ignore": ["Name"]}
HEADERS = ["No", "Make", "Name", "Price", "Light"]


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"colour": 1}, "expected a field of"),
        ({"family": "films"}, "head_unit"),
        ({"header_row": 0}, "1 or more"),
        ({"price_per": "dozen"}, "piece"),
        ({"fields": []}, "braces"),
        ({"families": {"a": {"family": "film"}}}, "no family_column"),
        ({"family_column": "Kind"}, "not a family for each word"),
        ({"columns": {"Light": {"patterns": [{"patern": "x"}]}}}, "patern"),
    ],
)
def test_a_map_that_is_none(change: dict[str, Any], word: str) -> None:
    with pytest.raises(FileRefused) as refused:
        parse_map(json.dumps(MAP | change), "m.json")
    assert word in str(refused.value)


@pytest.mark.parametrize(
    ("change", "headers", "word"),
    [
        ({}, [*HEADERS, "Colour"], "'Colour'"),
        ({}, HEADERS[1:], "'No'"),
        ({"fields": MAP["fields"] | {"Light": "light"}}, HEADERS, "found 'light'"),
        (NAMELESS, HEADERS, "column for model"),
        ({"columns": {"Light": {"patterns": [{"match": "(("}]}}}, HEADERS, "regular expression"),
        ({"columns": {"Light": {"patterns": [{"match": "(?P<glow>x)"}]}}}, HEADERS, "found 'glow'"),
        ({"skip": [{"what": "total", "match": "("}]}, HEADERS, "regular expression"),
        ({"skip": [{"what": "total", "match": "x", "column": "Sum"}]}, HEADERS, "'Sum'"),
    ],
)  # fmt: skip
def test_a_map_that_does_not_go_with_the_list(change: dict[str, Any], headers: list[str], word: str) -> None:
    with pytest.raises(FileRefused) as refused:
        MappedRows(parse_map(json.dumps(MAP | change), "m.json"), headers, "list.csv")
    assert word in str(refused.value)


def test_a_column_that_may_be_unknown_may_be_missing() -> None:
    mapped = MappedRows(parse_map(json.dumps(MAP), "m.json"), HEADERS[:4], "list.csv")
    assert mapped.warnings == ["list.csv has no column 'Light': vlt_pct stay unknown"]


@pytest.mark.parametrize(
    ("price_per", "row", "expected"),
    [
        ("pack", ["1", "M", "m", "9,50", "Paar"], ["9,50", "2"]),
        ("piece", ["1", "M", "m", "9,50", "Paar"], ["19.00", "2"]),
        ("piece", ["1", "M", "m", "9,50", ""], ["9.50", "1"]),
        ("piece", ["1", "M", "m", "dear", "Paar"], ["dear", "2"]),
    ],
)
def test_a_price_for_a_piece_is_the_packs_by_its_count(price_per: str, row: list[str], expected: list[str]) -> None:
    document = MAP | {
        "fields": MAP["fields"] | {"Light": "pack_of"},
        "price_per": price_per,
        "words": {"pack_of": {"Paar": "2"}},
        "constants": {"pack_of": "1"},
    }
    (rows,) = MappedRows(parse_map(json.dumps(document), "m.json"), HEADERS, "list.csv").families
    cells = dict(zip([target.column.name for target in rows.targets], rows.read(row), strict=True))
    assert [cells["price"], cells["pack_of"]] == expected
