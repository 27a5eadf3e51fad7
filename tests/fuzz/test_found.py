"""What was found by throwing things at the ways in: each stays found."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import duckdb
import pytest

from catalog_schema.documents import DocumentError, parse_json
from catalog_schema.kinds import LONGEST_MM, FigureKind
from catalog_schema.problems import FieldError
from matcher import Shop
from matcher.errors import FileRefused, NotKnown
from tests.factories import store_file
from tests.fuzz.targets import ROW, write_list
from tests.web.conftest import start, stop


def test_a_figure_without_a_value_is_refused_with_its_place(tmp_path: Path) -> None:
    with pytest.raises(FieldError, match="number"):
        FigureKind("mm").read({"value": None})
    path = tmp_path / "list.json"
    path.write_text(json.dumps([ROW | {"depth_mm": {"value": None}}]), encoding="utf-8")
    report = Shop(tmp_path / "shop.duckdb").catalog.load(path, family="speaker")
    assert [row.faults[0].column for row in report.problems] == ["depth_mm"]


@pytest.mark.parametrize(("unit", "most"), [("db", 100_000_000), ("mm", int(LONGEST_MM))])
def test_a_figure_that_may_be_negative_ends_somewhere_on_both_sides(unit: str, most: int) -> None:
    kind = FigureKind(unit, least=None)
    for number in (most, -most):
        assert kind.read(number).value == number
        with pytest.raises(FieldError, match=f"-{most} or more"):
            kind.read(number + (1 if number > 0 else -1))


@pytest.mark.parametrize("number", ["1e999999999999999999999", "-1e999999999999999999999", "1e-999999999999999999999"])
def test_a_number_beyond_all_measure_is_no_document(number: str) -> None:
    with pytest.raises(DocumentError):
        parse_json(f'{{"year": {number}}}')


def test_a_spreadsheet_with_a_byte_turned_over_is_refused(tmp_path: Path) -> None:
    path = write_list(tmp_path, "xlsx", [ROW])
    whole = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as archive:
        part = archive.getinfo("xl/worksheets/sheet1.xml")
    place = part.header_offset + 30 + len(part.filename)
    whole[place : place + 4] = b"\xff\xff\xff\xff"
    path.write_bytes(whole)
    with pytest.raises(FileRefused, match="no spreadsheet that can be read"):
        Shop(tmp_path / "shop.duckdb").catalog.load(path, family="speaker")


def test_a_parquet_with_a_spoiled_page_is_refused(tmp_path: Path) -> None:
    path = write_list(tmp_path, "parquet", [ROW])
    whole = bytearray(path.read_bytes())
    whole[4:40] = b"\xff" * 36
    path.write_bytes(whole)
    with pytest.raises(FileRefused, match="no Parquet that can be read"):
        Shop(tmp_path / "shop.duckdb").catalog.load(path, family="speaker")


def test_a_name_that_is_not_known_always_has_a_fix() -> None:
    assert NotKnown("job", "j1", []).fix == "there is none yet"
    assert NotKnown("field", "zz", [f"field{n}" for n in range(20)]).fix.startswith("20 are known, such as field0")


def test_a_number_beyond_a_files_columns_never_comes_out_of_a_double(tmp_path: Path) -> None:
    path = tmp_path / "list.parquet"
    with duckdb.connect() as con:
        con.execute(
            "create table t as select 'X' as part_id, 'M' as maker, 'm' as model, 9 as price, "
            "unnest(['nan', 'inf', '-inf', '1e300', '5.5']::double[]) as vlt_pct"
        )
        con.execute(f"copy t to '{path}' (format parquet)")
    report = Shop(tmp_path / "shop.duckdb").catalog.load(path, family="film")
    assert [row.faults[0].found for row in report.problems] == ["nan", "inf", "-inf", "1e+300"]
    assert report.new == 1


def test_going_back_in_a_catalog_that_has_no_versions_is_refused_by_the_page(tmp_path: Path) -> None:
    page = start(store_file(tmp_path / "shop.duckdb"), folder=tmp_path)
    try:
        for version in ("1", "²", "", "9" * 5_000):
            assert page.visitor().send("/catalog/history", version=version, latest="0").status == 400
    finally:
        assert "Traceback" not in stop(page)
