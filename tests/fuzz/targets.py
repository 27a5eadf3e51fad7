"""What takes something in from outside, and what has to hold whatever that was: taken or refused, never anything else.

A target raises where the promise is broken; whatever the program itself refuses is its own error with its fix.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

import data_demo
from catalog_schema.columns import columns_of, family_columns
from catalog_schema.figures import Figure
from catalog_schema.kinds import FigureKind, MoneyKind
from catalog_schema.parts import FAMILIES
from catalog_schema.problems import FieldError
from catalog_schema.vehicles import OPENINGS, Electrical, Runs
from matcher.errors import BoltbackError
from matcher.store.database.connection import Connection
from matcher.store.lists.files import read_document
from matcher.store.lists.listing import BadCell
from matcher.store.maintenance.check import check_store
from matcher.store.maintenance.check_rows import cell_faults
from matcher.store.mapping.kept_maps import parse_map
from tests.factories import Bench, OpenStore, plain, speaker_opening
from tests.factories import speaker as a_speaker
from tests.factories import vehicle as a_vehicle
from tests.fuzz.hostile import documents, spoiled_bytes, texts, things

COLUMNS = [
    *(column for family in FAMILIES for column in family_columns(family)),
    *(column for model in (*OPENINGS.values(), Electrical, Runs) for column in columns_of(model)),
]
LARGEST = Decimal(100_000_000)
LONGEST = 6_000
"""Characters of a refusal, at most: a dozen faults, each with what was found and what would do."""


class _Undone(OpenStore):
    """A store whose changes are transactions all the same, and are all taken back."""

    @contextmanager
    def changing(self, *, own: bool = False) -> Iterator[Connection]:
        self.con.execute("begin transaction")
        try:
            yield self.con  # what was taken in is looked at inside
        finally:
            self.con.execute("rollback")


class Counter(Bench):
    """A small shop that everything is thrown at; nothing stays."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder
        self.con.execute("set threads = 1")
        self.lay(a_speaker(), a_vehicle(speaker_opening()))
        self.con.execute("insert into load (version, made_at, what) values (1, now(), 'load')")
        self.store = _Undone(self.con)


@dataclass(frozen=True)
class Target:
    """One way in."""

    name: str
    given: Callable[[], st.SearchStrategy[Any]]
    take: Callable[[Counter, Any], bool]
    """Takes the input in, and looks at what it has become; whether it was taken."""


def take_cell(_: Counter, drawn: tuple[int, Any]) -> bool:
    """A cell read by the kind of a field: a figure that comes out is a number in its range."""
    column = COLUMNS[drawn[0] % len(COLUMNS)]
    try:
        read = column.kind.read(drawn[1])
    except FieldError as error:
        if not error.expected:
            raise AssertionError("refused without a word") from error
        return False
    number = read.value if isinstance(read, Figure) else read
    if isinstance(column.kind, FigureKind | MoneyKind) and number is not None:
        _is_sane(column.kind, read, number, drawn[1])
    return True


def _is_sane(kind: Any, read: Any, number: Decimal, cell: Any) -> None:
    assert isinstance(number, Decimal) and number.is_finite() and abs(number) <= max(LARGEST, 10**9), (cell, number)
    assert not isinstance(cell, bool), "yes is no number"
    above, least = getattr(kind, "above", None), getattr(kind, "least", 0)
    assert above is None or number > above, (cell, number)
    assert least is None or number >= least, (cell, number)
    tol = getattr(read, "tol", None)
    assert tol is None or (tol.is_finite() and tol >= 0), (cell, tol)
    if isinstance(cell, int | float):
        assert abs(Decimal(cell) - number) <= Decimal("0.000001") * max(1, abs(number)), (cell, number)


ROW = {
    "part_id": "X",
    "maker": "M",
    "model": "m",
    "price": 9,
    "shape": "round",
    "size": "165 mm",
    "impedance_ohm": 4,
    "rms_w": 50,
    "depth_mm": 60,
    "cutout_w_mm": 140,
}


@st.composite
def rows(draw: st.DrawFn) -> tuple[str, list[dict[str, Any]], bytes | None]:
    """Rows of a list, some cells of them hostile, and the format to write them in; or a spoiled file."""
    how = draw(st.sampled_from(["csv", "json", "jsonl", "xlsx", "parquet"]))
    cells = texts if how in ("csv", "xlsx", "parquet") else things
    found = []
    for number in range(draw(st.integers(1, 3))):
        changed = draw(st.dictionaries(st.sampled_from(sorted(ROW)), cells, min_size=1, max_size=3))
        found.append(ROW | {"part_id": f"X{number}"} | changed)
    return how, found, draw(st.none() | st.none() | spoiled_bytes([b""]))


def write_list(folder: Path, how: str, found: list[dict[str, Any]]) -> Path:
    """A list's file, as another program would write it."""
    import csv

    path = folder / f"list.{how}"
    path.unlink(missing_ok=True)
    shown = [{name: _text(cell) for name, cell in row.items()} for row in found]
    if how == "csv":
        with path.open("w", encoding="utf-8", errors="surrogatepass", newline="") as stream:
            writer = csv.DictWriter(stream, list(ROW))
            writer.writeheader()
            writer.writerows(shown)
    elif how in ("json", "jsonl"):
        lines = [json.dumps(row, default=str) for row in found]
        path.write_text(f"[{','.join(lines)}]" if how == "json" else "\n".join(lines), encoding="utf-8")
    elif how == "xlsx":
        _write_xlsx(path, shown)
    else:
        _write_parquet(path, shown)
    return path


def _text(cell: Any) -> str:
    return cell if isinstance(cell, str) else f"{cell}"


def _write_xlsx(path: Path, shown: list[dict[str, str]]) -> None:
    from xlsxwriter import Workbook  # type: ignore[import-untyped]

    with Workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False}) as book:
        sheet = book.add_worksheet()
        for line, cells in enumerate([list(ROW), *([row[name] for name in ROW] for row in shown)]):
            for place, cell in enumerate(cells):
                sheet.write_string(line, place, cell.encode("utf-8", "replace").decode()[:30_000])


def _write_parquet(path: Path, shown: list[dict[str, str]]) -> None:
    with duckdb.connect() as con:
        con.execute(f"create table t ({', '.join(f'{name} varchar' for name in ROW)}, vas_l double)")
        for row in shown:
            cells = [row[name].encode("utf-8", "replace").decode() for name in ROW]
            con.execute(f"insert into t values ({', '.join('?' * len(ROW))}, 'nan')", cells)
        con.execute(f"copy t to '{path}' (format parquet)")


def take_list(counter: Counter, drawn: tuple[str, list[dict[str, Any]], bytes | None]) -> bool:
    """A list: every line is loaded, kept with its reasons or skipped, and the store is sound with it."""
    how, found, _ = drawn
    path = write_list(counter.folder, how, found)
    return load_list(counter, path)


def load_list(counter: Counter, path: Path, *, spotless: bool = True) -> bool:
    """Load a list; whether it was taken, or with ``spotless=False`` whether every row of it was."""
    from matcher.store.importing.intake import Order
    from matcher.store.importing.loading import load_into
    from matcher.store.importing.report import LoadReport
    from matcher.store.lists.files import look_at

    report = LoadReport(files=[str(path)])
    try:
        with counter.store.changing() as con:
            load_into(con, report, [(look_at(path), Order(path, "speaker"))])
            _rows_hold(con)
    except BoltbackError as error:
        return _refused(error)
    finally:
        _forget(counter.con)
    told = report.loaded + len(report.problems) + sum(report.skipped.values())
    assert told == report.lines, (told, report.lines)
    faults = [f"{fault}" for row in report.problems for fault in row.faults]
    assert all(len(fault) < LONGEST for fault in faults), faults[0][:500]
    return spotless or not report.problems


def _forget(con: Connection) -> None:
    for (name,) in con.execute("select table_name from duckdb_tables() where temporary").fetchall():
        con.execute(f'drop table temp."{name}"')


def _holds(counter: Counter) -> None:
    found = check_store(counter.store)
    assert found.sound, found.problems[:3]


def _rows_hold(con: Connection) -> None:
    """The check of one family alone: the whole of it takes longer than the load."""
    faults = list(cell_faults(con, "speaker_rows", family_columns("speaker"), "part_id", ""))
    assert not faults, faults[:3]


def _refused(error: BoltbackError) -> bool:
    assert f"{error}" and (error.fix or error.problems), f"no fix: {error}"
    f"{error}".encode()  # it can be said on any terminal
    assert len(f"{error}") < LONGEST, f"{error}"[:500]
    return False


def take_list_file(counter: Counter, whole: bytes) -> bool:
    """A list's file with bytes turned over."""
    path = counter.folder / (
        "broken.xlsx" if whole[:2] == b"PK" else "broken.parquet" if whole[:4] == b"PAR1" else "broken.csv"
    )
    path.write_bytes(whole)
    return load_list(counter, path)


def list_files() -> st.SearchStrategy[bytes]:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        whole = [write_list(Path(folder), how, [ROW]).read_bytes() for how in ("csv", "xlsx", "parquet", "json")]
    return spoiled_bytes(whole)


MAP = {
    "name": "ours",
    "family": "speaker",
    "columns": {
        "No": {"field": "part_id"},
        "What": {"find": [{"template": "{depth_mm} deep"}], "rest": "model"},
        "Price": {"field": "price"},
        "Ohm": {"field": "impedance_ohm"},
        "Power": {"field": "rms_w"},
        "Size": {"templates": [{"template": "{size} r", "set": {"shape": "round"}}]},
    },
    "constants": {"maker": "M"},
    "unknown": ["-"],
}


MAP_CELLS = {"No": "7", "What": "One, 60.5 deep", "Size": "165 mm r", "Price": "9", "Ohm": "4", "Power": "50"}


def take_map(_: Counter, text: str) -> bool:
    """A map, and a list read through it."""
    from matcher.store.mapping.row_maps import MappedRows

    try:
        made = parse_map(text, "map.json")
        if made.family or made.family_column:
            mapped = MappedRows(made, list(MAP_CELLS), "list.csv")
            found = mapped.family_of(list(MAP_CELLS.values()))
            if not isinstance(found, BadCell):
                found.read(list(MAP_CELLS.values()))
    except BoltbackError as error:
        return _refused(error)
    return True


def take_vehicle(counter: Counter, text: str) -> bool:
    return _take_document(counter, text, "vehicle")


def take_job(counter: Counter, text: str) -> bool:
    """A job on the vehicle that is there."""
    return _take_document(counter, text, "job")


def _take_document(counter: Counter, text: str, kind: str) -> bool:
    from matcher.store.documents.saving import SAVERS

    path = counter.folder / f"{kind}.json"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        with counter.store.changing() as con:
            name = SAVERS[kind](con, read_document(path, kind), str(path))
            _holds(counter)
            answer = counter.vehicles.get(name) if kind == "vehicle" else counter.jobs.get(name)
            json.dumps(answer.to_dict(), allow_nan=False)
    except BoltbackError as error:
        return _refused(error)
    return True


SUBJECTS = ["part:speaker-1", "opening:tern/door", "vehicle:tern", "job:j1", "part:", "", "opening:tern", "part:\x00"]
FIELDS = [
    "depth_mm",
    "impedance_ohm",
    "rms_w",
    "price",
    "hole_w_mm",
    "count",
    "shape",
    "battery_ah",
    "cut_w_mm",
    "stock",
]


def take_reading(counter: Counter, drawn: tuple[str, str, Any, Any, Any]) -> bool:
    from matcher.store.readings.readings import add_reading

    subject, field, value, tol, note = drawn
    try:
        with counter.store.changing() as con:
            add_reading(con, subject, field, value, tol=tol, note=note, by="Ada")
            _holds(counter)
            fit = counter.fit("speaker-1", "tern/door")
            json.dumps(fit.to_dict(), allow_nan=False)
    except BoltbackError as error:
        return _refused(error)
    return True


VEHICLES = [
    *(json.loads(Path(path).read_text("utf-8")) for path in data_demo.vehicles()),
    json.loads(json.dumps(a_vehicle(speaker_opening()), default=plain)),
]
JOB = {
    "job_id": "j2",
    "vehicle_id": "tern",
    "limits": {"alteration": "bolt_on", "budget": 500, "screen_min_in": 7, "must": ["camera"], "at_rest_ma": 20},
    "choose": ["door"],
    "wishes": {"loudness": 3, "price": 1},
    "tiers": [300, 600],
}

TARGETS = [
    Target("figures", lambda: st.tuples(st.integers(0, len(COLUMNS) - 1), things), take_cell),
    Target("lists", rows, take_list),
    Target("lists' files", list_files, take_list_file),
    Target("maps", lambda: documents([MAP]), take_map),
    Target("vehicles", lambda: documents(VEHICLES), take_vehicle),
    Target("jobs", lambda: documents([JOB]), take_job),
    Target(
        "readings",
        lambda: st.tuples(
            st.sampled_from(SUBJECTS) | texts,
            st.sampled_from(FIELDS) | texts,
            st.sampled_from(["60", "6.5 in", 61, {"value": 60, "tol": 2}]) | things,
            st.none() | st.none() | things,
            st.none() | texts,
        ),
        take_reading,
    ),
]


@dataclass
class Thrown:
    """How many inputs were thrown at a target, and how many of them it took."""

    tried: int = 0
    taken: int = 0


def throw(target: Target, folder: Path, most: int) -> Thrown:
    """Throw so many inputs at a target; the first that breaks the promise is raised, made as small as can be."""
    counter, thrown = Counter(folder), Thrown()

    @settings(
        max_examples=most,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    @given(target.given())
    def one(drawn: Any) -> None:
        thrown.tried += 1
        thrown.taken += target.take(counter, drawn)

    try:
        one()
    finally:
        counter.con.close()
    return thrown
