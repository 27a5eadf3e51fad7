"""Files that strangers send: refused or reported in one message, never half loaded, never a traceback."""

from __future__ import annotations

import os
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from matcher.errors import BoltbackError, FileRefused
from matcher.store.database.opening import Store
from matcher.store.importing import loading
from matcher.store.importing.loading import load_lists
from matcher.store.lists.encodings import examine_text
from matcher.store.lists.files import look_at
from matcher.store.lists.text_lists import read_records

FILM = b"part_id,maker,model,price,vlt_pct\n"


def nothing(path: Path) -> None:
    """No file at all."""


def folder(path: Path) -> None:
    path.mkdir()


def pipe(path: Path) -> None:
    os.mkfifo(path)


def content(data: bytes) -> Callable[[Path], None]:
    return lambda path: path.write_bytes(data) and None


def bomb(path: Path) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * 60_000_000)


def entities(path: Path) -> None:
    with zipfile.ZipFile(path, "w") as archive:
        text = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "b"><!ENTITY c "&b;&b;">]><workbook>&c;</workbook>'
        archive.writestr("xl/workbook.xml", text)


def empty_archive(path: Path) -> None:
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("hello.txt", "no spreadsheet")


@pytest.mark.parametrize(
    ("name", "make", "word"),
    [
        ("a.csv", nothing, "there is no file"),
        ("a.csv", folder, "is a directory"),
        ("a.csv", pipe, "no ordinary file"),
        ("a.csv", content(b""), "is empty"),
        ("a.csv", content(b"\n \n\n"), "holds no rows"),
        ("a.doc", content(b"hello"), "no format known"),
        ("a.xlsx", content(b"part_id,maker\n"), "is none"),
        ("a.xlsx", content(b"PK\x03\x04" + b"x" * 99), "no spreadsheet"),
        ("a.xls", content(b"\xd0\xcf\x11\xe0" + b"x" * 99), "no spreadsheet"),
        ("a.xlsx", empty_archive, "no spreadsheet"),
        ("a.xlsx", bomb, "times its size"),
        ("a.xlsx", entities, "declares entities"),
        ("a.parquet", content(b"PAR1" + b"x" * 99), "no Parquet"),
        ("a.parquet", content(b"a,b\n"), "is none"),
        ("a.csv", content(bytes(range(256)) * 40), "is no text"),
        ("a.csv", content(FILM + b"a" * 1_100_000 + b"\n"), "over 1,000,000 characters"),
        ("a.csv", content(b"a," * 3000 + b"\n"), "columns"),
        ("a.csv", content(FILM + b"\x81\x8d\n"), "no one encoding makes sense"),
        ("a.json", content(b"{"), "no JSON"),
        ("a.json", content(b"[]"), "no list of parts"),
        ("a.json", content(b"[[1]]"), "no parts"),
        ("a.json", content(b"[" * 100_000), "no JSON"),
        ("a.json", content(b'[{"part_id": NaN}]'), "no JSON"),
        ("a.json", content(b'[{"part_id": 1, "part_id": 2}]'), "no JSON"),
        ("a.jsonl", content(b"nonsense\n"), "no parts"),
    ],
)
def test_a_file_that_is_refused(
    new_store: Store, tmp_path: Path, name: str, make: Callable[[Path], None], word: str
) -> None:
    make(tmp_path / name)
    with pytest.raises(FileRefused) as refused:
        load_lists(new_store, [tmp_path / name], "film")
    assert word in str(refused.value)
    assert refused.value.fix
    assert not new_store.path.exists()


def test_a_link_is_followed_and_said(store: Store, tmp_path: Path) -> None:
    (tmp_path / "real.csv").write_bytes(FILM + b"a,M,m,1,5\n")
    (tmp_path / "link.csv").symlink_to(tmp_path / "real.csv")
    report = load_lists(store, [tmp_path / "link.csv"], "film")
    assert report.new == 1
    assert "is a link" in report.warnings[0]


def test_a_link_to_nowhere(store: Store, tmp_path: Path) -> None:
    (tmp_path / "link.csv").symlink_to(tmp_path / "gone.csv")
    with pytest.raises(FileRefused, match="no file"):
        load_lists(store, [tmp_path / "link.csv"], "film")


def test_a_file_that_changes_while_it_is_read(
    new_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "films.csv"
    path.write_bytes(FILM + b"a,M,m,1,5\n")
    write = loading.write_rows

    def grow(*values: object, **named: object) -> object:
        path.write_bytes(FILM + b"a,M,m,1,5\nb,M,m,1,5\n")
        return write(*values, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(loading, "write_rows", grow)
    with pytest.raises(FileRefused, match="changed while it was read"):
        load_lists(new_store, [path], "film")
    assert not new_store.path.exists()


@pytest.mark.parametrize("change", ["grows", "goes"])
def test_a_look_notices_a_change(tmp_path: Path, change: str) -> None:
    path = tmp_path / "films.csv"
    path.write_bytes(FILM)
    look = look_at(path)
    look.check_same()
    if change == "grows":
        path.write_bytes(FILM + b"a")
    else:
        path.unlink()
    with pytest.raises(FileRefused):
        look.check_same()


def test_nul_bytes_in_a_cell_spoil_their_row_only(store: Store, tmp_path: Path) -> None:
    rows = b"".join(b"r%d,M,m,1,5\n" % number for number in range(50))
    (tmp_path / "films.csv").write_bytes(FILM + rows + b"a\x00b,M,m,1,5\nc,M,m,1,\x005\n")
    report = load_lists(store, [tmp_path / "films.csv"], "film")
    assert (report.new, [(row.line, row.faults[0].column) for row in report.problems]) == (
        50,
        [(52, "part_id"), (53, "vlt_pct")],
    )


@given(data=st.binary(max_size=400))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_end_in_a_message_or_in_counted_lines(store: Store, data: bytes) -> None:
    path = store.path.with_name("films.csv")
    path.write_bytes(FILM + data)
    try:
        report = load_lists(store, [path], "film", dry_run=True)
    except BoltbackError as error:
        assert error.fix
    else:
        assert report.lines == report.loaded + len(report.problems) + report.skipped.total()


ROWS = st.lists(
    st.lists(st.text(st.sampled_from("ab ,;\"\n\t'=é"), max_size=6), min_size=3, max_size=3), min_size=1, max_size=8
)


@given(rows=ROWS, delimiter=st.sampled_from(",;\t|"))
@settings(max_examples=150, deadline=None)
def test_cells_of_a_spreadsheet_read_back(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]], delimiter: str
) -> None:
    import csv

    path = tmp_path_factory.mktemp("rows") / "list.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, delimiter=delimiter).writerows(rows)
    records = list(read_records(path, examine_text(path), delimiter))
    assert [record.cells for record in records] == rows
    assert sum(record.span for record in records) == records[-1].line + records[-1].span - 1
