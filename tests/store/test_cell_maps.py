"""Maps: one cell to the fields it speaks of; what a map does not provide for is never guessed."""

from __future__ import annotations

import json
import time
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from catalog_schema.documents import build
from catalog_schema.maps import ColumnMap
from matcher.errors import FileRefused
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from matcher.store.lists.listing import BadCell
from matcher.store.mapping.cell_maps import RowFields, make_cell_map, mapped_columns
from matcher.store.mapping.kept_maps import choose_map, parse_map
from matcher.store.mapping.map_conversion import templates_of
from matcher.store.mapping.row_maps import MappedRows
from matcher.store.mapping.templates import make_template

UNKNOWN = frozenset({"n/a", "k. a.", "-"})


def fill(column: dict[str, Any], cell: object, family: str = "amplifier", **words: dict[str, str]) -> dict[str, Any]:
    columns = mapped_columns(family)
    problems: list[Any] = []
    made = make_cell_map("Header", build(ColumnMap, column), columns, UNKNOWN, words, problems)
    assert not problems
    filled = RowFields()
    made.fill(cell, filled)
    return {
        name: (value.shown, value.expected) if isinstance(value, BadCell) else value
        for name, value in filled.cells.items()
    }


def templates(*written: str) -> dict[str, Any]:
    return {"templates": [{"template": text} for text in written]}


SIDES = templates("{d_mm} x {w_mm} x {h_mm}")
COILS = {
    "templates": [{"template": "{coils} x {impedance_ohm}"}, {"template": "{impedance_ohm}", "set": {"coils": "1"}}]
}
PRICE = "an amount such as 129.90, 0 or more, at most two decimals"
LENGTH = "a length such as 62.5 mm, 62,5 mm or 2 1/2 in"
KOAX = {"field": "model", "find": [{"template": "koax", "set": {"kind": "coaxial"}}]}
FUSES = templates("{times} x {fuse_a}", "{fuse_a}")
LOADS = templates("{full_min_ohm} / {bass_min_ohm}")
RANGE = templates("{input_min_v} - {input_max_v}")
TWICE = templates("{coils} x {impedance_ohm}")
EXTRAS = {"find": [{"template": "fs {fs_hz}"}, {"template": "qts {qts}"}], "rest": "notes"}
POWERS = {"find": [{"template": "{full_w_4ohm} @ 4 ohm"}, {"template": "{full_w_2ohm} (2 ohm)"}]}
HOLE = templates("{cutout_w_mm} x {cutout_h_mm}", "{cutout_w_mm}")
BOLTS = templates("{bolt_count} x Ø {bolt_circle_mm}", "{bolt_count} x {bolt_w_mm} x {bolt_h_mm}")


@pytest.mark.parametrize(
    ("column", "cell", "family", "expected"),
    [
        ({"field": "model"}, " Two  words ", "amplifier", {"model": "Two  words"}),
        ({"field": "model"}, "", "amplifier", {}),
        ({"field": "model"}, None, "amplifier", {}),
        ({"field": "depth_mm"}, "K. A.", "speaker", {}),
        (SIDES, "178 x 50 x 155 mm", "amplifier", {"d_mm": "178 mm", "w_mm": "50 mm", "h_mm": "155 mm"}),
        (SIDES, "11-1/4 x 7 11/16 X 2 in", "amplifier", {"d_mm": "11-1/4 in", "w_mm": "7 11/16 in", "h_mm": "2 in"}),
        (SIDES, "6½ x 5 x 2\"", "amplifier", {"d_mm": "6 1⁄2 in", "w_mm": "5 in", "h_mm": "2\""}),
        (SIDES, "6 x 5 deep", "amplifier", {"d_mm": ("6 x 5 deep", LENGTH)}),
        (COILS, "2 x 4 Ohm", "speaker", {"coils": "2", "impedance_ohm": "4 Ohm"}),
        (COILS, "4 Ohm", "speaker", {"coils": "1", "impedance_ohm": "4 Ohm"}),
        (COILS, "n/a", "speaker", {}),
        (EXTRAS, "Fs 30.2 Qts 0.57", "subwoofer", {"fs_hz": "30.2", "qts": "0.57"}),
        (EXTRAS, "Qts 0.57; aluminum; Fs 30.2", "subwoofer", {"fs_hz": "30.2", "qts": "0.57", "notes": "aluminum"}),
        ({"find": [{"template": "{fuse_a}"}]}, "60A", "amplifier", {"fuse_a": "60A"}),
        (
            {"find": [{"template": "{fuse_a}"}]},
            "60A slow",
            "amplifier",
            {"fuse_a": ("slow", "nothing beyond what the map finds in this cell")},
        ),
        (KOAX, "A1 Koax x", "speaker", {"model": "A1 Koax x", "kind": "coaxial"}),
        (FUSES, "2x30A", "amplifier", {"notes": "Header: 2x30A", "fuse_a": "60A"}),
        (FUSES, "2 x 40", "amplifier", {"notes": "Header: 2 x 40", "fuse_a": "80"}),
        (LOADS, "2 / -", "amplifier", {"full_min_ohm": "2"}),
        (
            templates("{rms_w} rms"),
            "1200 max",
            "speaker",
            {"rms_w": ("1200 max", "a continuous power such as 75 W or 75 W RMS")},
        ),
        (TWICE, "4", "speaker", {"coils": ("4", "text that a template of the map matches, for coils")}),
        (RANGE, "200-6000 mV", "amplifier", {"input_min_v": "200 mv", "input_max_v": "6000 mV"}),
        (RANGE, "0.2 - 5 V", "amplifier", {"input_min_v": "0.2 v", "input_max_v": "5 V"}),
        (POWERS, "75W @ 4ohm, 112 (2 Ω)", "amplifier", {"full_w_4ohm": "75W", "full_w_2ohm": "112"}),
        (HOLE, "152 x 221 mm", "speaker", {"cutout_w_mm": "152 mm", "cutout_h_mm": "221 mm"}),
        (HOLE, "6\" x 8 3/4\"", "speaker", {"cutout_w_mm": "6\"", "cutout_h_mm": "8 3/4\""}),
        (HOLE, "6\" x 9", "speaker", {"cutout_w_mm": "6\"", "cutout_h_mm": "9 in"}),
        (HOLE, "94", "speaker", {"cutout_w_mm": "94"}),
        (BOLTS, "4 x Ø 112", "speaker", {"bolt_count": "4", "bolt_circle_mm": "112"}),
        (BOLTS, "4 x 106 x 176", "speaker", {"bolt_count": "4", "bolt_w_mm": "106", "bolt_h_mm": "176"}),
        (templates("{low_hz} - {high_hz}"), "110-20k Hz", "speaker", {"low_hz": "110", "high_hz": "20 kHz"}),
        (templates("{depth_mm} in"), "2 3/8 in", "speaker", {"depth_mm": "2 3/8 in"}),
        (templates("{any} (={depth_mm})"), "old (= 61 mm)", "speaker", {"depth_mm": "61 mm"}),
        (templates("{price} {pack_of}"), "85.95 ea", "speaker", {"price": ("85.95 ea", PRICE)}),
        (RANGE, "150mV–4V", "amplifier", {"input_min_v": "150mV", "input_max_v": "4V"}),
    ],
)  # fmt: skip
def test_a_cell(column: dict[str, Any], cell: object, family: str, expected: dict[str, Any]) -> None:
    assert fill(column, cell, family) == expected


@pytest.mark.parametrize(
    ("expression", "texts"),
    [
        (r"(?P<rms_w>\d+([.,]\d+)?) ?/ ?\d+([.,]\d+)? ?W", ["{rms_w} / {any} W"]),
        (r"(?P<amp_w>[\d.,]+) ?W? ?rms( ?\(.*max\))?", ["{amp_w} rms", "{amp_w} rms ({any} max)"]),
        (r"(?P<notes>(?P<times>\d+) ?x ?(?P<fuse_a>\d+)) ?A?", ["{times} x {fuse_a}"]),
        (r"(?P<kind>sealed|vented)\b", ["{kind}"]),
        (r"tuned (to )?(?P<tuned_hz>[\d.,]+ ?Hz)", ["tuned {tuned_hz}", "tuned to {tuned_hz}"]),
        (r"(?P<maker>(a+)+$)", []),
        (r"\bfoo|bar", []),
        (r"(?P<depth_mm>\d+).*", []),
    ],
)
def test_an_expression_as_templates(expression: str, texts: list[str]) -> None:
    assert templates_of(expression) == texts


def test_a_stored_map_with_expressions_is_converted_once(store: Store, tmp_path: Path) -> None:
    old = MAP | {
        "columns": {"Light": {"patterns": [{"match": r"(?P<vlt_pct>[\d.,]+) ?light"}]}},
        "fields": dict(MAP["fields"]),
    }
    del old["fields"]["Light"]
    with store.changing() as con:
        con.execute("insert into list_map values ('sup', $1)", [json.dumps(old)])
    (tmp_path / "list.csv").write_text("No,Make,Name,Price,Light\n1,M,m,5,35 light\n", encoding="utf-8")
    for kept in (True, False):
        made, text = choose_map(store, "sup")
        assert (text is not None) is kept
        assert load_lists(store, [tmp_path / "list.csv"], map_=made, keep_map=text).loaded == 1


def test_a_map_file_with_expressions_is_refused_with_the_templates() -> None:
    old = MAP | {"columns": {"Light": {"patterns": [{"match": r"(?P<vlt_pct>[\d.,]+) ?light"}]}}}
    with pytest.raises(FileRefused, match="regular expressions") as refused:
        parse_map(json.dumps(old), "m.json")
    assert '"template": "{vlt_pct} light"' in refused.value.fix
    hard = MAP | {"columns": {"Light": {"patterns": [{"match": "(?P<maker>(a+)+$)"}]}}}
    with pytest.raises(FileRefused, match="words and names in braces"):
        parse_map(json.dumps(hard), "m.json")


def test_no_cell_makes_a_template_slow() -> None:
    """Past bug: the expression (?P<maker>(a+)+$) froze every counter."""
    hostile = " ".join(["{any} a"] * 20) + " b"
    cell = "a " * 450
    started = time.process_time()
    made = make_template(hostile, {}, {})
    assert made.matches(cell) is None and made.find(cell) is None
    assert time.process_time() - started < 20


@pytest.mark.parametrize(
    ("rms", "expected"), [("30 / 90 W", ("30", None)), ("90 / 30 W", None), ("60 / 60 W", ("60", None))]
)
def test_a_continuous_power_is_held_against_the_maximum_beside_it(rms: str, expected: Any) -> None:
    columns = {"W": {"templates": [{"template": "{rms_w} / {peak_w}"}]}}
    fields = {"No": "part_id", "Make": "maker", "Name": "model", "Price": "price", "S": "shape", "Z": "size"}
    document = {"name": "m", "family": "speaker", "fields": fields | {"O": "impedance_ohm"}, "columns": columns}
    (rows,) = MappedRows(parse_map(json.dumps(document), "m.json"), [*fields, "O", "W"], "list.csv").families
    read = rows.read(["1", "M", "m", "5", "round", "165 mm", "4", rms])
    cells = dict(zip([target.column.name for target in rows.targets], read, strict=True))
    power = cells["rms_w"]
    assert "peak_w" not in cells
    if expected is None:
        assert isinstance(power, BadCell) and "at most the maximum power" in power.expected
    else:
        assert str(power).startswith(expected[0])


@pytest.mark.parametrize(
    ("header", "field", "cells", "unit"),
    [
        ("Depth", "depth_mm", ["61", "48", "2"], None),
        ("Depth (in.)", "depth_mm", ["2 3/8", "2"], "in"),
        ("Depth mm", "depth_mm", ["61 mm", "2 in", "50"], "mm"),
        ("Depth", "depth_mm", ["2 3/8 in", "2 in", "1 7/8"], "in"),
        ("Depth", "depth_mm", ["61 mm", "2 in", "50"], "mm"),
        ("Depth", "depth_mm", ["61 mm", "6 cm", "50"], "mm"),
        ("Depth", "depth_mm", ["61 mm", "2 in", "6"], "asked"),
        ("Depth", "depth (cm)", ["61 mm", "2 in", "6"], "cm"),
        ("Depth", "depth_mm", ["61", "48", "50", "2 in"], "mm"),
    ],
)
def test_the_unit_of_bare_numbers(header: str, field: str, cells: list[str], unit: str | None) -> None:
    fields = {"No": "part_id", "Make": "maker", "Name": "model", "Price": "price", "S": "shape", "Z": "size"}
    every = fields | {"O": "impedance_ohm", "W": "rms_w", header: field}
    document = {"name": "m", "family": "speaker", "fields": every}
    mapped = MappedRows(parse_map(json.dumps(document), "m.json"), list(every), "list.csv")
    texts = {8: Counter(cells)}
    if unit == "asked":
        with pytest.raises(FileRefused, match="one unit for the bare numbers"):
            mapped.settle_units(lambda place: texts.get(place, {}))
        return
    mapped.settle_units(lambda place: texts.get(place, {}))
    assert dict(mapped.families[0].cells)[8].unit == unit


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
        ({"columns": {"Light": {"templates": [{"templat": "x"}]}}}, "templat"),
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
        ({"columns": {"Light": {"templates": [{"template": "{vlt_pct"}]}}}, HEADERS, "a template"),
        ({"columns": {"Light": {"templates": [{"template": "{glow} x"}]}}}, HEADERS, "found 'glow'"),
        ({"columns": {"Light": {"templates": [{"template": "{vlt_pct}{any}"}]}}}, HEADERS, "has to stand between"),
        ({"skip": [{"what": "total", "starts": "x", "column": "Sum"}]}, HEADERS, "'Sum'"),
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
