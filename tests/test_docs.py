"""The generated pages are whole; that they are in step with the code is checked by `docs/generate.py --check`."""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterator
from contextlib import nullcontext
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from typer.main import get_command

from matcher.commands.main import app
from matcher.search.scoring import CRITERIA

ROOT = Path(__file__).resolve().parents[1]
DOCS = ROOT / "docs"
README = ROOT / "README.md"


def docs_module(name: str) -> ModuleType:
    """A module of the generator, which finds its neighbors in docs/."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(DOCS)
        return importlib.import_module(name)


@cache
def page(name: str) -> str:
    return str(docs_module("generate").PAGES[f"{name}.md"]())


@pytest.fixture
def generate() -> ModuleType:
    """The generator as a module."""
    return docs_module("generate")


@pytest.fixture
def tour() -> ModuleType:
    """The runner of README's tour as a module."""
    return docs_module("tour")


# The check


def test_check_names_what_is_stale_and_writes_nothing(
    generate: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fresh, stale, new = (tmp_path / f"{name}.md" for name in ("fresh", "stale", "new"))
    fresh.write_text("made at 2026-05-04 10:11\n")
    stale.write_text("as it was\n")
    monkeypatch.setattr(generate, "texts", lambda: [(fresh, "made at 2027-01-01 00:00\n"), (stale, "as it is\n")])
    monkeypatch.setattr(generate, "tour", lambda: [(new, "all new\n")])
    assert generate.main(["--check"]) == 1
    said = capsys.readouterr()
    assert [line.rpartition("/")[2] for line in said.out.splitlines()] == ["stale.md", "new.md"]
    assert "docs/generate.py" in said.err
    assert (stale.read_text(), new.exists()) == ("as it was\n", False)
    assert generate.main([]) == 0
    assert generate.main(["--check"]) == 0
    texts = [path.read_text() for path in (fresh, stale, new)]
    assert texts == ["made at 2026-05-04 10:11\n", "as it is\n", "all new\n"]


def test_a_readme_that_was_changed_in_the_meantime_is_left_alone(
    generate: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    readme = tmp_path / "README.md"
    readme.write_text("before\n")

    def fresh(text: str, folder: Path) -> str:
        readme.write_text("by somebody else\n")
        return text.upper()

    monkeypatch.setattr(generate, "TOURS", [readme])
    monkeypatch.setattr(generate, "demo_store", lambda: nullcontext(tmp_path))
    monkeypatch.setattr(generate, "fresh", fresh)
    with pytest.raises(SystemExit, match="changed while its commands ran"):
        list(generate.tour())
    assert readme.read_text() == "by somebody else\n"


def test_a_criterion_without_a_sentence_on_its_points_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    scoring_page = docs_module("scoring_page")
    monkeypatch.setattr(scoring_page, "CRITERIA", (*CRITERIA, "smell"))
    with pytest.raises(SystemExit, match="what earns points of smell"):
        scoring_page.scoring_page()


def test_a_word_it_does_not_know_is_refused(generate: ModuleType) -> None:
    assert generate.main(["--chek"]) == 2


def test_the_help_on_the_page_does_not_depend_on_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    commands_page = docs_module("command_pages").commands_page
    pages = set()
    for columns in ("40", "200"):
        monkeypatch.setenv("COLUMNS", columns)
        pages.add(commands_page())
    assert len(pages) == 1
    assert max(len(line) for line in pages.pop().splitlines() if not line.startswith("What ")) <= 100


# Wholeness


def commands(command: Any = None, name: str = "boltback") -> Iterator[tuple[str, Any]]:
    command = get_command(app) if command is None else command
    yield name, command
    for word, inner in getattr(command, "commands", {}).items():
        yield from commands(inner, f"{name} {word}")


@pytest.mark.parametrize(("name", "command"), list(commands()))
def test_every_command_and_each_of_its_options_has_a_help_text(name: str, command: Any) -> None:
    assert (command.help or "").strip()
    assert [each.name for each in command.params if not (each.help or "").strip()] == []


@pytest.mark.parametrize("name", ["settings", "sources", "schemas"])
def test_every_row_of_a_generated_table_ends_with_its_meaning_or_source(name: str) -> None:
    rows = [line for line in page(name).splitlines() if line.startswith("| `")]
    assert rows and [row for row in rows if not re.split(r"(?<!\\)\|", row)[-2].strip()] == []


LINK = re.compile(r"\[[^\]]*\]\((?!https?:)([^)#\s]+)[^)]*\)")


@pytest.mark.parametrize("path", [*sorted(DOCS.glob("*.md")), *sorted(ROOT.glob("*.md"))], ids=lambda path: path.name)
def test_links_between_pages_lead_somewhere(path: Path) -> None:
    targets = LINK.findall(path.read_text(encoding="utf-8"))
    assert [target for target in targets if not (path.parent / target).exists()] == []


# Examples of the README


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder in which the commands of a page run."""
    with docs_module("tour").command_folder() as folder:
        yield folder


def test_a_page_shows_the_output_of_its_commands(tour: ModuleType, folder: Path) -> None:
    block = tour.run("boltback calc exposure --level 100", folder)
    assert tour.fresh(f"text\n{block}\n```sh\nls\n```\n", folder) == f"text\n{block}\n```sh\nls\n```\n"
    assert re.search(r"^NIOSH allows a day +0.25 h$", block, re.MULTILINE)
    assert tour.fresh("```console\n$ boltback calc exposure --level 100\nas it was\n```", folder) == block


def test_a_page_with_a_command_that_fails_is_refused(tour: ModuleType, folder: Path) -> None:
    with pytest.raises(ValueError, match="boltback calc exposure --level loud"):
        tour.fresh("```console\n$ boltback calc exposure --level loud\n```", folder)


def test_a_command_whose_reader_has_enough_ends_well(tour: ModuleType, folder: Path) -> None:
    assert tour.run("boltback rules | head -n 1", folder).count("\n") == 3


def test_a_page_with_an_example_that_fails_is_refused(tour: ModuleType, folder: Path) -> None:
    with pytest.raises(ValueError, match="ZeroDivisionError"):
        tour.fresh("```python\n1 / 0\n```", folder)


def test_the_readme_is_short() -> None:
    assert README.read_text(encoding="utf-8").count("\n") <= 125
