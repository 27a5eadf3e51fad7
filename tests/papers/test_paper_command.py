"""The command: files in a folder, words that are refused before anything is ranked."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from matcher import Shop
from matcher.commands import main
from matcher.errors import InputError
from matcher.store.database.opening import Store
from matcher.store.documents.saving import save_job
from tests.factories import plain, store_file
from tests.papers.town import car, parts, the_job


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store on disk with the town's job; its name would leave the folder if it were a path."""
    path = store_file(tmp_path_factory.mktemp("shop") / "shop.duckdb", *parts(), car())
    with Store(path).changing() as con:
        save_job(con, json.dumps(the_job(job_id="../j1"), default=plain), "test")
    return path


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    """A command as it is typed; its exit code."""
    monkeypatch.setattr(sys, "argv", ["boltback", *arguments])
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)


def test_papers_are_written_as_files_of_one_folder(
    store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "new" / "out"
    asked = ("paper", "../j1", "all", "--quick", "--out", str(folder), "--store", str(store), "--json")
    assert run(monkeypatch, *asked) == 0
    told = json.loads(capsys.readouterr().out)
    names = {path.name for path in folder.iterdir()}
    assert {Path(file).name for file in told["files"]} == names
    assert len(names) == 12 and "proposal--j1.pdf" in names
    assert [path.name for path in tmp_path.iterdir()] == ["new"]


SETUP = ("../j1", "setup")
RANKS = {
    "99": "there is no package 99",
    "0": "0 is not in the range 1<=x<=1000",
    "-1": "-1 is not in the range 1<=x<=1000",
}
"""Packages that there are not: none of them gives the paper of another."""


@pytest.mark.parametrize("rank", [-1, 0, 99])
def test_a_package_that_there_is_not_gives_no_paper_of_another(store: Path, rank: int) -> None:
    with pytest.raises(InputError, match=f"there is no package {rank}"):
        Shop(store).papers.one("../j1", "setup", package=rank, format="html")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("j1", "proposl"), "'proposl' is no kind of paper"),
        (("j1", "setup", "--format", "html,docx"), "'docx' is no format of papers"),
        (("j9", "setup"), "no job 'j9'"),
        *(((*SETUP, "--package", rank), message) for rank, message in RANKS.items()),
    ],
)
def test_wrong_words_are_refused(
    store: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    arguments: tuple[str, ...],
    message: str,
) -> None:
    assert run(monkeypatch, "paper", *arguments, "--store", str(store)) == 2
    assert message in capsys.readouterr().err
