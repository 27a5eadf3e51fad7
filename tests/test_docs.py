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

from catalog_schema.publish import schemas
from matcher.answers.rulebook import rulebook
from matcher.commands.main import app
from matcher.formulas.register import all_formulas
from matcher.search.scoring import CRITERIA
from matcher.settings import DEFAULTS

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
    """A page as it ought to be: that the file holds just this is one test of its own."""
    return str(docs_module("generate").PAGES[f"{name}.md"]())


def section(name: str, heading: str) -> str:
    """What stands under a heading of a page, up to the next one."""
    _, found, rest = page(name).partition(f"\n{heading}\n")
    assert found, f"docs/{name}.md has no heading {heading!r}"
    return re.split(r"\n#+ ", rest)[0]


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
    """Every command that can be typed, with what it is called."""
    command = get_command(app) if command is None else command
    yield name, command
    for word, inner in getattr(command, "commands", {}).items():
        yield from commands(inner, f"{name} {word}")


COMMANDS = dict(commands())


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_documented_and_says_what_it_and_its_options_do(name: str) -> None:
    command = COMMANDS[name]
    told = section("commands", f"{'#' * (3 if name.count(' ') == 2 else 2)} `{name}`")
    assert f"Usage: {name} " in told
    assert (command.help or "").strip()
    for each in command.params:
        assert (each.help or "").strip(), f"{name}: {each.name} has no help"
        assert (each.opts[0] if each.opts[0].startswith("--") else each.name) in told


@pytest.mark.parametrize("entry", rulebook(), ids=lambda entry: entry["rule"])
def test_every_rule_has_its_section(entry: dict[str, Any]) -> None:
    told = section("rules", f"### `{entry['rule']}`")
    for word in ("compares", "have", "need", "flaw", "source"):
        assert re.search(rf"^- \*\*{word}\*\*: \S", told, re.MULTILINE), f"{entry['rule']} does not say its {word}"
    assert all(f"`{name}`" in told for name in entry["defaults"])
    assert f"`{entry['need']}`" in told


def row_of(name: str, first: str) -> list[str]:
    """The row of a page's table whose first cell is this name, as code."""
    rows = [line for line in page(name).splitlines() if line.startswith(f"| `{first}` |")]
    assert len(rows) == 1, f"docs/{name}.md has {len(rows)} rows for {first}"
    return [cell.strip() for cell in re.split(r"(?<!\\)\|", rows[0])[1:-1]]


@pytest.mark.parametrize("setting", DEFAULTS.values(), ids=lambda setting: setting.name)
def test_every_setting_has_its_row(setting: Any) -> None:
    _, default, meaning, source = row_of("settings", setting.name)
    assert default == f"{setting.value:f} {setting.unit}".strip()
    assert meaning and source


STANDINGS = [(entry["rule"], entry["source"]) for entry in rulebook()] + [
    (f"{entry.module.rpartition('.')[2]}.{entry.name}", str(entry.source)) for entry in all_formulas()
]


@pytest.mark.parametrize(("name", "source"), STANDINGS, ids=[name for name, _ in STANDINGS])
def test_every_rule_and_formula_stands_in_the_sources(name: str, source: str) -> None:
    told = row_of("sources", name)[-1]
    assert (told == "*common practice, no published source*") is source.startswith("common practice")
    assert ("(*from memory*)" in told) is source.endswith("(from memory)")
    assert told


def test_scoring_tells_of_every_criterion_and_every_setting_of_points() -> None:
    told = page("scoring")
    names = [*CRITERIA, *(name for name in DEFAULTS if name.startswith("points_"))]
    assert [name for name in names if f"`{name}`" not in told] == []


def test_every_field_of_every_schema_has_its_row_and_its_meaning() -> None:
    rows = {
        cells[0].strip(" `"): cells[-1].strip()
        for line in page("schemas").splitlines()
        if (cells := re.split(r"(?<!\\)\|", line)[1:-1])
    }
    answers = {"fit", "options", "why", "limits", "measure"}
    holders = [
        (f"{name}.{inner}", holder)
        for name, schema in schemas()
        if name not in answers
        for inner, holder in {"": schema, **schema.get("$defs", {})}.items()
        if inner != "Opening"  # its fields follow from its kind
    ]
    fields = {f"{where}.{field}": rows.get(field) for where, holder in holders for field in holder["properties"]}
    assert [field for field, meaning in fields.items() if not meaning] == []


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
