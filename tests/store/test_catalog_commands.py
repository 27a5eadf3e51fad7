"""The commands of the catalog and of readings: one JSON document, one helpful message, the contract's exit codes."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from matcher.commands import main

FILM = "part_id,maker,model,price,vlt_pct\n"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command in a folder of its own: exit code, stdout, stderr."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    (tmp_path / "films.csv").write_text(FILM + "00a,M,m,1,5\n00b,M,m,2,dark\n", encoding="utf-8")
    (tmp_path / "next.csv").write_text(FILM + "00a,M,m,3,5\n00c,M,m,2,15\n00b,M,m,2,dark\n", encoding="utf-8")

    def call(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["boltback", *arguments])
        try:
            main()
            code = 0
        except SystemExit as end:
            code = int(end.code or 0)
        said = capsys.readouterr()
        return code, said.out, said.err

    return call


def answer(run: Run, *arguments: str) -> Any:
    code, out, _ = run(*arguments, "--json")
    assert code == 0
    return json.loads(out)


def test_a_load_tells_its_counts(run: Run) -> None:
    report = answer(run, "catalog", "load", "films.csv", "--family", "film")
    counts = {name: report[name] for name in ("version", "lines", "loaded", "new", "changed", "skipped")}
    assert counts == {"version": 1, "lines": 3, "loaded": 1, "new": 1, "changed": 0, "skipped": {"header": 1}}
    (problem,) = report["problems"]
    assert (problem["line"], problem["faults"][0]["column"], problem["cells"]) == (
        3,
        "vlt_pct",
        ["00b", "M", "m", "2", "dark"],
    )


def test_the_life_of_a_catalog(run: Run, tmp_path: Path) -> None:
    run("catalog", "load", "films.csv", "--family", "film", "--by", "Ada")
    assert (
        answer(run, "catalog", "load", "next.csv", "--family", "film", "--supplier", "films", "--dry-run")["changed"]
        == 1
    )
    report = answer(run, "catalog", "load", "next.csv", "--family", "film", "--supplier", "films", "--complete")
    assert report["changes"] == [{"family": "film", "part_id": "00a", "field": "price", "before": 1, "after": 3}]
    assert [one["by"] for one in answer(run, "catalog", "history")["versions"]] == ["Ada", "tests"]
    parts = answer(run, "catalog", "diff", "1", "2")["parts"]
    assert [(part["part_id"], part["what"]) for part in parts] == [("00a", "changed"), ("00c", "new")]
    assert answer(run, "catalog", "restore", "1")["version"] == 3
    assert answer(run, "catalog", "show")["families"] == [
        {"family": "film", "parts": 1, "measured": 0, "problems": 1, "suppliers": ["films"]}
    ]
    code, _, said = run("catalog", "problems", "--out", "fixed.csv")
    assert (code, "1 row is in fixed.csv" in said) == (0, True)
    fixed = (tmp_path / "fixed.csv").read_text(encoding="utf-8-sig")
    (tmp_path / "fixed.csv").write_text(
        fixed.replace(",dark\n", ",20\n").replace(",dark\r\n", ",20\r\n"), encoding="utf-8"
    )
    assert answer(run, "catalog", "load", "fixed.csv")["mended"] == 1
    assert answer(run, "catalog", "problems")["problems"] == []


def test_a_reading_counts_and_its_claim_stays(run: Run) -> None:
    run("catalog", "load", "films.csv", "--family", "film")
    reading = answer(run, "reading", "add", "part:00a", "vlt_pct", "6,5 %", "--by", "Ada", "--note", "in the sun")
    assert (reading["value"], reading["basis"], reading["by"]) == ("6.5", "measured", "Ada")
    sheet = answer(run, "catalog", "show", "00a")
    assert (sheet["figures"]["vlt_pct"], sheet["claims"][0]["claimed"]) == (6.5, 5)
    (listed,) = answer(run, "reading", "list", "part:00a")["readings"]
    assert (listed["claimed"], listed["note"]) == (5, "in the sun")


def test_a_wrong_reading_is_voided_and_shown_as_such(run: Run) -> None:
    run("catalog", "load", "films.csv", "--family", "film")
    run("reading", "add", "part:00a", "vlt_pct", "6")
    code, _, said = run("reading", "void", "1", "--note", "another film", "--by", "Bo")
    assert (code, "the claim counts again" in said) == (0, True)
    (listed,) = answer(run, "reading", "list", "part:00a")["readings"]
    assert (listed["counts"], listed["voided"]["by"], listed["voided"]["note"]) == (False, "Bo", "another film")
    assert "6 (voided)" in run("reading", "list")[1]
    assert answer(run, "catalog", "show", "00a")["figures"]["vlt_pct"] == 5
    assert "vlt_pct 6: another film" in run("log")[1]


def test_a_list_of_readings_is_written_down(run: Run, tmp_path: Path) -> None:
    run("catalog", "load", "films.csv", "--family", "film")
    (tmp_path / "readings.csv").write_text("subject,field,value\npart:00a,vlt_pct,7\n", encoding="utf-8")
    assert len(answer(run, "reading", "load", "readings.csv")["readings"]) == 1


def test_a_map_is_proposed_and_used(run: Run, tmp_path: Path) -> None:
    (tmp_path / "folien.csv").write_text(
        "Art.-Nr.;Marke;Bezeichnung;Preis;Tönung\n01;M;m;9,50;15 %\n", encoding="utf-8"
    )
    proposal = answer(run, "catalog", "map", "folien.csv", "--out", "map.json")
    assert proposal["map"]["family"] == "film"
    assert answer(run, "catalog", "load", "folien.csv", "--map", "map.json")["new"] == 1
    assert answer(run, "catalog", "load", "folien.csv", "--map", "folien")["unchanged"] == 1


TABLES = [
    ("catalog", "load", "films.csv", "--family", "film"),
    ("catalog", "load", "next.csv", "--family", "film"),
    ("catalog", "show"),
    ("catalog", "show", "00a"),
    ("catalog", "problems"),
    ("catalog", "history"),
    ("catalog", "diff", "0", "1"),
    ("reading", "list"),
    ("reading", "list", "part:00a"),
]


def test_tables_are_readable_in_100_columns(run: Run) -> None:
    run("catalog", "load", "films.csv", "--family", "film")
    run("reading", "add", "part:00a", "vlt_pct", "6")
    for arguments in TABLES:
        code, out, _ = run(*arguments)
        assert (code, bool(out.strip())) == (0, True), arguments
        assert max(map(len, out.splitlines())) <= 100, arguments


WRONG = [
    (("catalog", "load", "gone.csv", "--family", "film"), "there is no file gone.csv"),
    (("catalog", "load", ".", "--family", "film"), "is a directory"),
    (("catalog", "load", "films.csv", "--column", "vlt_pct"), "no answer"),
    (("catalog", "load", "films.csv", "--family", "flim"), "film"),
    (("catalog", "load", "films.csv", "--map", "gone.json"), "no file gone.json"),
    (("catalog", "load", "films.csv", "--map", "nobody"), "no map 'nobody'"),
    (("catalog", "map", "gone.csv"), "there is no file"),
    (("catalog", "show", "00x"), "00a"),
    (("catalog", "restore", "9"), "versions 0"),
    (("catalog", "diff", "0", "9"), "versions 0"),
    (("catalog", "problems", "--drop", "9"), "no open problem"),
    (("catalog", "problems", "--out", "fixed.doc"), ".xlsx"),
    (("reading", "add", "part:00x", "vlt_pct", "5"), "00a"),
    (("reading", "add", "part:00a", "vlt", "5"), "vlt_pct"),
    (("reading", "list", "part:00x"), "00a"),
    (("reading", "load", "films.csv"), "subject"),
]


def test_wrong_input_ends_in_one_message_and_2(run: Run) -> None:
    run("catalog", "load", "films.csv", "--family", "film")
    for arguments, word in WRONG:
        code, out, said = run(*arguments)
        assert (code, out) == (2, ""), arguments
        assert word in said
        assert "Traceback" not in said


@pytest.mark.parametrize(
    "command", [("catalog", "show"), ("catalog", "history"), ("reading", "list"), ("catalog", "problems")]
)
def test_without_a_store(run: Run, command: tuple[str, ...]) -> None:
    code, out, said = run(*command)
    assert (code, out, "there is no store" in said) == (2, "", True)
