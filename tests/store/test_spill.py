"""What a database in memory cannot hold goes where the system keeps such things, never where somebody works."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from matcher.store.database.connection import aside

ROOT = Path(__file__).resolve().parents[2]


def test_spilled_data_are_in_the_temporary_folder_and_removed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here, temp = tmp_path / "here", tmp_path / "temp"
    here.mkdir()
    temp.mkdir()
    monkeypatch.chdir(here)
    monkeypatch.setattr(tempfile, "tempdir", str(temp))
    with aside(memory_limit="40MB", threads=1) as con:
        con.execute("create temp table much as select md5(i::varchar) as text from range(2_000_000) numbers(i)")
        assert list(temp.iterdir())
        assert not list(here.iterdir())
    assert not list(temp.iterdir())


def test_no_other_place_opens_a_database() -> None:
    opening = [path for path in (ROOT / "matcher").rglob("*.py") if "duckdb.connect(" in path.read_text("utf-8")]
    assert [path.name for path in opening] == ["connection.py"]
