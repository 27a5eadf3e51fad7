"""The house rules that no single module can keep by itself: who imports whom, and what starts what."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

from tests.factories import speaker, speaker_opening, store_file, vehicle

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("matcher", "catalog_schema", "data_demo")

# Top to bottom: a room may import its neighbors on the same floor and every floor below it.
FLOORS = (
    ("matcher.commands", "matcher.web"),
    ("matcher",),  # `from matcher import Shop`
    ("matcher.shop",),
    ("matcher.papers", "matcher.drawings", "matcher.jobs", "matcher.answers", "matcher.calculators"),
    ("matcher.search",),
    ("matcher.kernel", "matcher.store"),
    ("matcher.rules",),
    ("matcher.formulas",),
    ("matcher.errors", "matcher.settings", "matcher.lengths", "matcher.collecting", "matcher.words"),
    ("catalog_schema",),
)
# The rooms of the store, top to bottom. `chain` is the plug-in of `database.opening`, and may know every room below.
STORE_FLOORS = (
    ("sharing",),
    ("maintenance",),
    ("documents",),
    ("readings",),
    ("importing",),
    ("mapping",),
    ("chain",),
    ("catalog", "records"),
    ("lists",),
    ("database",),
)
# The demo's data stand beside the house: they know the schema alone, and only the top looks at them.
DEMO = "data_demo"
DEMO_VISITORS = {"matcher.commands", "matcher.web", "matcher.shop"}

FLOOR_OF = {room: number for number, floor in enumerate(FLOORS) for room in floor}
ROOMS = {*FLOOR_OF, DEMO}


def may_import(room: str, other: str) -> bool:
    """Whether the table above lets `room` import `other`."""
    if DEMO in (room, other):
        return room == other or (room == DEMO and other == "catalog_schema") or room in DEMO_VISITORS
    return FLOOR_OF[room] <= FLOOR_OF[other]


def room_of(module: str) -> str:
    """The room of a module of the house: `matcher.rules.dash` is in `matcher.rules`."""
    return ".".join(module.split(".")[: 2 if module.startswith("matcher.") else 1])


def module_name(path: Path) -> str:
    """`matcher/rules/dash.py` is `matcher.rules.dash`; an `__init__.py` is its folder."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def names_imported(node: ast.AST, package: str) -> Iterator[str]:
    """Every dotted name that one statement imports; relative ones are spelled out."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        above = package.split(".")[: len(package.split(".")) + 1 - node.level] if node.level else []
        source = ".".join([*above, *([node.module] if node.module else [])])
        yield from (f"{source}.{alias.name}" for alias in node.names)


def rooms_imported(source: str, package: str) -> set[str]:
    """The rooms that a module of `package` imports, also late or for types only."""
    names = {name for node in ast.walk(ast.parse(source)) for name in names_imported(node, package)}
    ours = {name for name in names if name.split(".")[0] in PACKAGES}
    # `from matcher import rules` names a room, `from matcher import Shop` what lies at the front door.
    return {room_of(name) if room_of(name) in ROOMS else name.split(".")[0] for name in ours}


def python_sources() -> list[Path]:
    """Every Python file of the three packages."""
    return sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))


def imports_by_module() -> dict[str, set[str]]:
    """Module name to the rooms it imports, over the whole house."""
    return {
        module_name(path): rooms_imported(
            path.read_text(encoding="utf-8"),
            module_name(path if path.name == "__init__.py" else path.parent / "__init__.py"),
        )
        for path in python_sources()
    }


def test_every_room_has_its_floor() -> None:
    assert {room_of(module_name(path)) for path in python_sources()} <= ROOMS


def test_no_module_imports_upward() -> None:
    upward = {
        f"{module} imports {room}"
        for module, rooms in imports_by_module().items()
        for room in rooms
        if not may_import(room_of(module), room)
    }
    assert upward == set()


def test_the_rooms_of_the_store_import_downward() -> None:
    floor = {f"matcher.store.{room}": number for number, rooms in enumerate(STORE_FLOORS) for room in rooms}
    upward = set()
    for path in python_sources():
        room = ".".join(module_name(path).split(".")[:3])
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if room in floor else ():
            for name in names_imported(node, ""):
                other = ".".join(name.split(".")[:3])
                if other in floor and floor[other] < floor[room] and other != "matcher.store.chain":
                    upward.add(f"{module_name(path)} imports {other}")
    assert upward == set()


def test_no_two_rooms_import_each_other() -> None:
    graph: dict[str, set[str]] = {}
    for module, rooms in imports_by_module().items():
        graph.setdefault(room_of(module), set()).update(rooms - {room_of(module)})
    TopologicalSorter(graph).prepare()  # raises CycleError with the rooms in it


def modules_imported(path: Path, known: set[str]) -> set[str]:
    """The modules of the house that one imports, inside functions and for types only included."""
    package = module_name(path if path.name == "__init__.py" else path.parent / "__init__.py")
    names = {name for node in ast.walk(ast.parse(path.read_text("utf-8"))) for name in names_imported(node, package)}
    modules = {name if name in known else name.rpartition(".")[0] for name in names}
    return (modules & known) - {module_name(path)}


def test_no_two_modules_import_each_other() -> None:
    known = {module_name(path) for path in python_sources()}
    graph = {module_name(path): modules_imported(path, known) for path in python_sources()}
    TopologicalSorter(graph).prepare()  # raises CycleError with the modules in it


# The rooms of the search, top to bottom, as those of the house; what is imported for types alone may point up.
SEARCH_FLOORS = (
    ("what_if", "matrix"),
    ("options",),
    ("gathering", "distinct"),
    ("ranking",),
    ("tree",),
    ("field", "rooms"),
    ("packages",),
    ("bass",),
    ("wished",),
    ("candidates",),
    ("question",),
    ("feeds",),
    ("fits",),
    ("catalog", "scoring", "headroom"),
    ("exact",),
)


def test_within_the_search_no_room_imports_upward() -> None:
    folder = ROOT / "matcher" / "search"
    floor_of = {room: number for number, floor in enumerate(SEARCH_FLOORS) for room in floor}
    upward = set()
    for path in sorted(folder.rglob("*.py")):
        room = path.relative_to(folder).with_suffix("").parts[0]
        for name in names_at_work(ast.parse(path.read_text("utf-8"))):
            other = name.split(".")[2]
            if room != "__init__" and floor_of[room] > floor_of[other]:
                upward.add(f"{path.relative_to(ROOT)} imports {name}")
    assert upward == set()


def names_at_work(tree: ast.AST) -> Iterator[str]:
    """Every name of the search that a module imports to work with, late or not; not those for types alone."""
    for node in ast.iter_child_nodes(tree):
        if not (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"):
            yield from (name for name in names_imported(node, "") if name.startswith("matcher.search."))
            yield from names_at_work(node)


def test_every_module_says_what_it_is() -> None:
    silent = [path for path in python_sources() if not ast.get_docstring(ast.parse(path.read_text("utf-8")))]
    assert silent == []


MAX_LINES = 400
OTHER_FILES = ("README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", "docs", "tests", ".ci")
LEFT_UNDONE = re.compile(r"\b(TODO|FIXME|XXX)\b|\bissue #", re.IGNORECASE)


def texts() -> Iterator[tuple[Path, str]]:
    for name in (*PACKAGES, *OTHER_FILES):
        top = ROOT / name
        for path in sorted(top.rglob("*")) if top.is_dir() else [top]:
            if path.is_file() and "__pycache__" not in path.parts and path != Path(__file__).resolve():
                try:
                    yield path, path.read_text(encoding="utf-8")
                except UnicodeDecodeError:
                    continue  # a picture, a spreadsheet: no text to read


def test_nothing_is_left_undone_in_writing() -> None:
    lines = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()[:80]}"
        for path, text in texts()
        for number, line in enumerate(text.splitlines(), start=1)
        if LEFT_UNDONE.search(line)
    ]
    assert lines == []


def test_no_source_is_too_long_to_read() -> None:
    sources = [*python_sources(), *(ROOT / "docs").rglob("*.py")]
    lengths = {str(path.relative_to(ROOT)): len(path.read_text("utf-8").splitlines()) for path in sources}
    assert {path: length for path, length in lengths.items() if length > MAX_LINES} == {}


PROBE = """
import atexit, json, sys
atexit.register(lambda: print(json.dumps(sorted(sys.modules)), file=sys.stderr))
from matcher.commands import main
main()
"""

# A command that answers at once must not wait for what it does not use.
COLD_STARTS = [(("--help",), {"numpy", "jsonschema", "pydantic"})]


def modules_after(*arguments: str) -> set[str]:
    """The modules that `boltback` with these arguments has loaded when it ends."""
    run = subprocess.run([sys.executable, "-c", PROBE, *arguments], capture_output=True, text=True, cwd=ROOT)
    assert run.returncode == 0, run.stderr
    return set(json.loads(run.stderr.splitlines()[-1]))


@pytest.mark.parametrize(("arguments", "heavy"), COLD_STARTS)
def test_a_cold_start_loads_nothing_heavy(arguments: tuple[str, ...], heavy: set[str]) -> None:
    loaded = modules_after(*arguments)
    assert "matcher.commands" in loaded
    assert loaded & heavy == set()


# What `fit` of a loudspeaker has no use for: frames, models, pages, the rules of other subjects, other commands.
NOT_FOR_A_FIT = re.compile(
    r"(jsonschema|jinja2|starlette|typst|xlsxwriter|dask|catalog_schema\.(answers|figures|parts|vehicles|jobs)"
    r"|matcher\.(papers|web|drawings|formulas)|matcher\.rules\.(bass|cargo|charging|film|package)"
    r"|matcher\.search\.(fits\.mounted|exact|candidates|bass|what_if|cores|options)|matcher\.answers\.(options|packages)|matcher\.calculators"
    r"|matcher\.store\.(loading|documents|tables)|matcher\.commands\.(calc\w*|catalog|demo|documents|reading))(\.|$)"
)


def test_a_fit_loads_only_what_it_asks(tmp_path: Path) -> None:
    part, opening = speaker(), speaker_opening()
    car = vehicle(opening)
    store = store_file(tmp_path / "shop.duckdb", part, car)
    place = f"{car['vehicle_id']}/{opening['opening_id']}"
    loaded = modules_after("fit", part["part_id"], place, "--store", str(store), "--json")
    assert "matcher.rules.speaker" in loaded
    assert sorted(name for name in loaded if NOT_FOR_A_FIT.match(name)) == []
