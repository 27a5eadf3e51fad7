"""One task of a matrix: some places against all parts of their families, from a published catalog into one file.

It takes names and numbers and gives a path back, so any engine may run it, here or on another machine that sees
both folders: in a loop, `client.map` of Dask, `ray.remote`. It opens a DuckDB of its own in memory, never a store.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import duckdb

from catalog_schema.ladder import LADDER
from matcher.rules.rule import FITS, MEASURE, NO
from matcher.search.matrix.kinds import ASKED, Asking
from matcher.search.matrix.pairs import Pairs
from matcher.search.matrix.verdicts import code_of, rule_at
from matcher.search.statement import VERDICTS
from matcher.store.connection import CONFIG, Connection
from matcher.store.durable import put_in_place, write_parquet
from matcher.store.listing import quoted
from matcher.store.snapshots import Snapshot, read_snapshot

QUESTION, PLACES, FITTING, REFUSED = "question.json", "places.parquet", "fits", "refused"
"""What lies in the folder of a matrix."""
KINDS = tuple(ASKED)


@dataclass(frozen=True, slots=True)
class MatrixQuestion:
    """What is asked of a whole catalog."""

    kinds: tuple[str, ...]
    vehicle_id: str | None
    step: int
    """The step of the alteration ladder at which the verdicts are given."""
    every: bool
    """Whether pairs that do not go in are written, too."""
    slices: int
    """Into how many slices the parts are cut; each share is some places against one of them."""
    tasks: int
    catalog: str
    """What the catalog, the vehicles and the settings are, as a checksum."""
    threads: int = 1
    memory: str = "2GB"

    def text(self) -> str:
        return json.dumps(asdict(self), indent=1)


def read_matrix_question(out: Path) -> MatrixQuestion:
    """The question of the matrix in a folder."""
    found = json.loads((out / QUESTION).read_text(encoding="utf-8"))
    return MatrixQuestion(**{**found, "kinds": tuple(found["kinds"])})


def task_file(folder: Path, task: int) -> Path:
    """Where a task's rows are, once they are all there."""
    return folder / f"p{task:05d}.parquet"


def matrix_task(task: int, tasks: int, snapshot: str, out: str) -> str:
    """Ask one share of a matrix's places, and write what comes of it.

    Parameters
    ----------
    task, tasks
        Which share, counted from 0, of how many.
    snapshot
        The folder of one published version of a catalog.
    out
        The folder of the matrix, with its question and its places.

    Returns
    -------
    str
        The file that holds the share's rows. It is written under another name and renamed: it is whole, or absent.
    """
    question = read_matrix_question(Path(out))
    published = read_snapshot(Path(snapshot))
    spill = str(Path(tempfile.gettempdir()) / f"boltback-matrix-{os.getpid()}")
    room = CONFIG | {"threads": question.threads, "memory_limit": question.memory, "temp_directory": spill}
    with duckdb.connect(config=room) as con:
        con.execute("SET enable_progress_bar = false")
        con.execute("SET preserve_insertion_order = false")
        lay_catalog(con, published)
        groups = tasks // question.slices
        con.execute(
            f"CREATE TEMP TABLE place AS FROM read_parquet({quoted(Path(out) / PLACES)}) "
            f"WHERE place_no % {groups} = {task % groups}"
        )
        _ask(con, question, published, task // groups)
        _write(con, task_file(Path(out) / REFUSED, task), "FROM refusals ORDER BY place_no, rule")
        done = task_file(Path(out) / FITTING, task)
        # The last: where it is, the share is done.
        _write(con, done, f"SELECT {_told_sql()} FROM (FROM fits ORDER BY place_no, part_no)")
        return str(done)


def lay_catalog(con: Connection, published: Snapshot) -> None:
    """Let a connection read a published catalog's tables by the names that they have in a store."""
    for name in published.tables:
        con.execute(f'CREATE VIEW "{name}" AS FROM read_parquet({quoted(published.path(name))})')


def _ask(con: Connection, question: MatrixQuestion, published: Snapshot, at: int) -> None:
    # A checksum is the same in every version of the database, its own hash is not.
    parts = f"md5_number_lower(part_id) % {question.slices} = {at}" if question.slices > 1 else "true"
    con.execute(
        "CREATE TEMP TABLE fits (part_no INTEGER, place_no INTEGER, part_id VARCHAR, family TINYINT, code TINYINT, "
        "takes TINYINT, rule TINYINT, margin DECIMAL(18,6), tol DECIMAL(18,6))"
    )
    con.execute("CREATE TEMP TABLE refusals (place_no INTEGER, family VARCHAR, rule VARCHAR, parts BIGINT)")
    for kind in question.kinds:
        if con.execute("SELECT 1 FROM place WHERE kind = ? LIMIT 1", [kind]).fetchone():
            asking = ASKED[kind]
            Pairs(con, asking, parts, question.step, question.every, published.settings).lay()
            _tell(con, asking, question)


def _tell(con: Connection, asking: Asking, question: MatrixQuestion) -> None:
    """Put what was seen of a kind of opening into words, and count what was refused."""
    out = "takes IS NULL OR takes > $step"
    rules = dict(enumerate(rule.name for rule in asking.rules))
    con.execute(
        f"INSERT INTO fits SELECT part_no, place_no, part_id, {KINDS.index(asking.kind)}, {code_of('key')}, takes, "
        f"{rule_at('key')}, margin, tol "
        f"FROM seen JOIN catalog USING (part_no) WHERE $every OR NOT ({out})",
        {"step": question.step, "every": question.every},
    )
    con.execute(
        f"INSERT INTO refusals SELECT place_no, '{asking.family}', {_word('refused', rules)}, sum(many) FROM "
        f"(SELECT place_no, refused, count(*) AS many FROM seen WHERE {out} GROUP BY ALL "
        "UNION ALL FROM unformed) GROUP BY ALL",
        {"step": question.step},
    )


def _told_sql() -> str:
    """SQL of the columns that are written, over what was kept as numbers while it was sorted."""
    rules = [_word("rule", dict(enumerate(rule.name for rule in ASKED[kind].rules))) for kind in KINDS]
    families = {at: ASKED[kind].family for at, kind in enumerate(KINDS)}
    named = " ".join(f"WHEN {at} THEN {words}" for at, words in enumerate(rules))
    verdicts = {code: str(VERDICTS[code]) for code in (FITS, MEASURE, NO)}
    return (
        f"place_no, {_word('family', families)} AS family, part_id, {_word('code', verdicts)} AS verdict, "
        f"{_word('takes', dict(enumerate(LADDER)))} AS alteration, CASE family {named} END AS rule, margin, tol"
    )


def _word(number: str, words: dict[int, str]) -> str:
    cases = " ".join(f"WHEN {at} THEN {quoted(word)}" for at, word in words.items())
    return f"CASE {number} {cases} END"


def _write(con: Connection, path: Path, sql: str) -> None:
    put_in_place(path, lambda half: write_parquet(con, sql, half))


def shares_left(out: Path, tasks: int) -> Sequence[int]:
    """The shares of a matrix that are not there yet."""
    return [task for task in range(tasks) if not task_file(out / FITTING, task).is_file()]
