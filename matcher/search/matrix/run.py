"""A whole matrix: its question, its shares, results that exist already, and the totals."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from pathlib import Path

from catalog_schema.checks import Answer
from catalog_schema.ladder import LADDER
from matcher.errors import InputError
from matcher.search.matrix.engines import Engine
from matcher.search.matrix.kinds import ASKED
from matcher.search.matrix.parts import SETS, write_parts
from matcher.search.matrix.places import lay_places
from matcher.search.matrix.task import (
    FITTING,
    PLACES,
    QUESTION,
    REFUSED,
    MatrixQuestion,
    lay_catalog,
    read_matrix_question,
    shares_left,
)
from matcher.settings import DEFAULTS
from matcher.store.database.connection import aside, quoted
from matcher.store.database.durable import alone, not_written, put_in_place, write_parquet
from matcher.store.database.opening import Store
from matcher.store.sharing.publish import publish
from matcher.store.sharing.snapshots import Snapshot

CATALOG, LOCK = "catalog", ".running"
PLACES_A_TASK = 256
"""Most distinct places in one share."""
PARTS_A_TASK = 1_000_000
"""Most parts of a family in one share."""
PAIRS_A_TASK = 64_000_000
"""Most pairs in one share."""
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Matrix(Answer):
    """Result of a matrix; its rows are in files."""

    folder: str
    asked: str
    """Step of the alteration ladder of the verdicts."""
    openings: int
    places: int
    """Number of distinct openings, each evaluated once."""
    pairs: int
    """Number of pairs of part and opening of one kind: the sum of all verdicts."""
    verdicts: dict[str, int]
    refused: dict[str, int] = field(default_factory=dict)
    """Pairs that do not fit, by the first rule that refuses them."""
    tasks: int = 0
    skipped: int = 0
    """Number of tasks with existing results."""


@dataclass(frozen=True, slots=True)
class MatrixContents:
    """Contents of a matrix."""

    kinds: tuple[str, ...]
    vehicle_id: str | None
    step: int
    every: bool
    adapters: bool


def run_matrix(store: Store, out: Path, wanted: MatrixContents, engine: Engine, tell: Tell) -> Matrix:
    """Check every part of the catalog at every opening of its kind, and write the answers into a folder.

    Results of an earlier run of the same question are reused; those of other questions are removed.

    Raises
    ------
    InputError
        if the folder cannot be written, or another process is working in it.
    """
    out = out.resolve()
    try:
        out.mkdir(parents=True, exist_ok=True)
        busy = InputError(f"another process works on the matrix in {out}", fix="wait, or name another --out")
        with alone(out / LOCK, busy):
            tell("publishing the catalog for the tasks")
            published = publish(store, out / CATALOG, kept=2)
            question = _prepare(out, published, wanted, tell)
            left = shares_left(out, question.tasks)
            for done, _ in enumerate(engine.run(left, question.tasks, str(published.folder), str(out)), 1):
                tell(f"{done + question.tasks - len(left):,} of {question.tasks:,} shares are done")
            _clear_halves(out)  # of a worker that was killed: another one did its share
            return _summary(out, question, question.tasks - len(left))
    except OSError as error:
        raise not_written(out, error) from None


def _prepare(out: Path, published: Snapshot, wanted: MatrixContents, tell: Tell) -> MatrixQuestion:
    """Write the question and its places; remove answers to other questions."""
    with aside() as con:
        lay_catalog(con, published)
        lay_places(con, wanted.kinds, wanted.vehicle_id)
        ((places,),) = con.execute("SELECT count(*) FROM place WHERE represents").fetchall()
        question = _question(places, published, wanted)
        if not _is_same(out, question):
            if (out / QUESTION).exists():
                tell("another catalog or another question was answered here: starting anew")
            for folder in (FITTING, REFUSED, SETS):
                shutil.rmtree(out / folder, ignore_errors=True)
            write_parts(con, out, wanted.kinds, published.settings)
            put_in_place(out / PLACES, lambda path: write_parquet(con, "FROM place", path))
            put_in_place(out / QUESTION, lambda path: path.write_text(question.text(), encoding="utf-8"))
    for folder in (FITTING, REFUSED):
        (out / folder).mkdir(exist_ok=True)
    _clear_halves(out)
    return question


def _clear_halves(out: Path) -> None:
    """Remove incomplete files of tasks that were killed."""
    for folder in (FITTING, REFUSED):
        for half in (out / folder).glob(".p*"):
            half.unlink(missing_ok=True)


def _question(places: int, published: Snapshot, wanted: MatrixContents) -> MatrixQuestion:
    """Divide the question into shares that fit into a worker's memory: some places against some parts."""
    parts = max(1, *(published.tables[ASKED[kind].family].rows for kind in wanted.kinds))
    slices = -(-parts // PARTS_A_TASK)
    share = max(1, min(PLACES_A_TASK, PAIRS_A_TASK * slices // parts))
    return MatrixQuestion(
        **asdict(wanted),
        parts=-(-parts // slices),
        places=share,
        slices=slices,
        tasks=slices * max(1, -(-places // share)),
        catalog=_checksum(published),
    )


def _is_same(out: Path, question: MatrixQuestion) -> bool:
    """Whether a folder has answers to this question, on any engine."""
    try:
        found = asdict(read_matrix_question(out))
    except (OSError, ValueError, KeyError, TypeError):
        return False
    ours = asdict(question)
    return all(found[name] == ours[name] for name in ours if name != "memory")


def _checksum(published: Snapshot) -> str:
    """Checksum of a published catalog, independent of its publication date."""
    settings = published.settings
    held = {
        "tables": {name: table.sha256 for name, table in published.tables.items()},
        "settings": {name: str(settings[name]) for name in sorted(DEFAULTS)},
    }
    return hashlib.sha256(json.dumps(held, sort_keys=True).encode()).hexdigest()


def _summary(out: Path, question: MatrixQuestion, skipped: int) -> Matrix:
    """Add up the shares: each place counts for all equal openings."""
    with aside() as con:
        for name, files in (("places", PLACES), (FITTING, f"{FITTING}/*.parquet"), (REFUSED, f"{REFUSED}/*.parquet")):
            con.execute(f"CREATE VIEW {name} AS FROM read_parquet({quoted(out / files)})")
        con.execute("CREATE TEMP TABLE many AS SELECT place_no, count(*) AS many FROM places GROUP BY 1")
        ((openings, places),) = con.execute("SELECT coalesce(sum(many), 0)::BIGINT, count(*) FROM many").fetchall()
        found = con.execute(
            "SELECT verdict, sum(found * many)::BIGINT FROM (SELECT place_no, verdict, count(*) AS found FROM fits "
            "WHERE verdict <> 'no' GROUP BY ALL) JOIN many USING (place_no) GROUP BY ALL"
        ).fetchall()
        refused = con.execute(
            "SELECT rule, sum(parts * many)::BIGINT AS pairs FROM refused JOIN many USING (place_no) "
            "GROUP BY ALL ORDER BY pairs DESC, rule"
        ).fetchall()
    verdicts = {"fits": 0, "measure": 0} | dict(found) | {"no": sum(pairs for _, pairs in refused)}
    return Matrix(
        folder=str(out),
        asked=LADDER[question.step],
        openings=openings,
        places=places,
        pairs=sum(verdicts.values()),
        verdicts=verdicts,
        refused=dict(refused),
        tasks=question.tasks,
        skipped=skipped,
    )


def kinds_wanted(family: str | None) -> tuple[str, ...]:
    """Kinds of opening to check: all, or those of one family.

    Raises
    ------
    InputError
        if no rule places this family at an opening.
    """
    found = tuple(kind for kind, asking in ASKED.items() if family in (None, asking.family))
    if not found:
        families = ", ".join(asking.family for asking in ASKED.values())
        raise InputError(f"no rule places a {family} at an opening", fix=f"one of {families}")
    return found
