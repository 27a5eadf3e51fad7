"""One task of a matrix: some places against the parts of their families, from a published catalog into one file.

It takes names and numbers and returns a path, so any engine can run it, on any machine with access to both folders: in
a loop, `client.map` of Dask, `ray.remote`. It uses an in-memory DuckDB of its own, never a store.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

import numpy as np

from catalog_schema.ladder import LADDER
from catalog_schema.parts import FAMILIES
from matcher.kernel.distinct import distinct
from matcher.kernel.explain import VERDICTS
from matcher.rules.rule import FITS, NO
from matcher.search.catalog.parts import parts_of_rows
from matcher.search.matrix.ask import Ask, Shown
from matcher.search.matrix.kinds import ASKED, KINDS
from matcher.search.matrix.parts import parts_sql, read_sets
from matcher.search.matrix.spots import Spots
from matcher.search.matrix.tables import Filling, Tables
from matcher.search.matrix.verdicts import MOST_RULES, UNKNOWN, WORD, NumberedOutcomes, Numbers, RankedOutcomes
from matcher.store.database.connection import Connection, aside, quoted
from matcher.store.database.durable import put_in_place, write_parquet
from matcher.store.sharing.snapshots import Snapshot, read_snapshot

STEPS = 8
"""More steps than the ladder has, including one for no step."""
HELD = 16_000_000
"""Number of rows kept in arrays; more go into the database, which can spill to disk."""
QUESTION, PLACES, FITTING, REFUSED = "question.json", "places.parquet", "fits", "refused"
"""Contents of the folder of a matrix."""


@dataclass(frozen=True, slots=True)
class MatrixQuestion:
    """A question about a whole catalog."""

    kinds: tuple[str, ...]
    vehicle_id: str | None
    step: int
    """Step of the alteration ladder of the verdicts."""
    every: bool
    """Whether pairs that do not fit are written as well."""
    adapters: bool
    """Whether adapters of the catalog may be used."""
    parts: int
    """Most parts of a family in a share."""
    places: int
    """Most places in a share."""
    slices: int
    """Number of slices of parts; a share is some places against one slice."""
    tasks: int
    catalog: str
    """Checksum of the catalog, the vehicles and the settings."""
    memory: str = "2GB"

    def text(self) -> str:
        """Serialized as in the folder of a matrix."""
        return json.dumps(asdict(self), indent=1)


def read_matrix_question(out: Path) -> MatrixQuestion:
    """Read the question of the matrix in a folder."""
    found = json.loads((out / QUESTION).read_text(encoding="utf-8"))
    return MatrixQuestion(**{**found, "kinds": tuple(found["kinds"])})


def task_file(folder: Path, task: int) -> Path:
    """Path of a task's rows once they are complete."""
    return folder / f"p{task:05d}.parquet"


def matrix_task(task: int, tasks: int, snapshot: str, out: str) -> str:
    """Evaluate one share of a matrix, and write its rows.

    Parameters
    ----------
    task, tasks
        Index of the share, and the number of shares.
    snapshot
        Folder of one published version of a catalog.
    out
        Folder of the matrix, with its question, places and parts.

    Returns
    -------
    str
        File of the share's rows. It is written under a temporary name and renamed: it is complete or absent.
    """
    folder = Path(out)
    question = read_matrix_question(folder)
    published = read_snapshot(Path(snapshot))
    with aside(threads=1, memory_limit=question.memory) as con:
        lay_catalog(con, published)
        first = task // question.slices * question.places
        con.execute(
            f"CREATE TEMP TABLE place AS FROM read_parquet({quoted(folder / PLACES)}) "
            f"WHERE place_no >= {first} AND place_no < {first + question.places}"
        )
        rows = ShareRows(con, adapters=question.adapters)
        for kind in question.kinds:
            if con.execute("SELECT 1 FROM place WHERE kind = ? LIMIT 1", [kind]).fetchone():
                _ask(con, kind, question, published, folder, task % question.slices, rows)
        put_in_place(task_file(folder / REFUSED, task), lambda half: write_parquet(con, rows.refused_sql(), half))
        done = task_file(folder / FITTING, task)
        # The last: where it is, the share is done.
        put_in_place(done, lambda half: write_parquet(con, rows.told_sql(), half))
        return str(done)


def lay_catalog(con: Connection, published: Snapshot) -> None:
    """Give a connection access to a published catalog's tables by their names in a store."""
    for name in published.tables:
        con.execute(f'CREATE VIEW "{name}" AS FROM read_parquet({quoted(published.path(name))})')
        if name in FAMILIES:
            con.execute(f'CREATE VIEW "{name}_rows" AS SELECT part_id, supplier, NULL AS until FROM "{name}"')


def _ask(
    con: Connection, kind: str, question: MatrixQuestion, published: Snapshot, out: Path, at: int, rows: ShareRows
) -> None:
    """Evaluate the places of one kind of opening."""
    asking, settings, every = ASKED[kind], published.settings, question.every
    adapters = parts_of_rows(con, "adapter", settings) if question.adapters else None
    spots = Spots(con, asking, question.step, every, adapters, settings)
    outcomes, sets = NumberedOutcomes(), read_sets(con, out, asking, settings)
    filling = Filling(asking, spots, outcomes, settings, every)
    firsts = [distinct([numbers], len(numbers)).first for numbers in sets.numbers]
    tables = [filling.table(one, sets.parts.columns.take(first), len(first)) for one, first in enumerate(firsts)]
    numbers, here = spots.numbers(outcomes), con.execute(parts_sql(out, asking, at * question.parts, question.parts))
    ranked, parts = outcomes.ranked(), here.fetchnumpy()
    tables = [replace(one, numbers=ranked.rank[one.numbers]) for one in tables]
    of_sets = [np.asarray(parts[f"p{one}"], np.intp) for one in range(len(tables))]
    share = Tables(tables, np.asarray(parts["part_no"]), of_sets)
    ask = Ask(share, ranked.refused, ranked.sure, question.step, every)
    rows.begin(kind, ranked)
    for place in spots.places(ranked.rank[numbers]):
        shown = ask.of(place)
        rows.add(place.place_no, share.part_no, shown)
        rows.refuse(place.place_no, ask.refusals(place, shown))


def shares_left(out: Path, tasks: int) -> Sequence[int]:
    """Return the shares of a matrix without results."""
    return [task for task in range(tasks) if not task_file(out / FITTING, task).is_file()]


@dataclass
class ShareRows:
    """Rows of a share so far: place, and a word for verdict and step."""

    con: Connection
    adapters: bool
    kind: str = ""
    """Kind of opening being evaluated."""
    outcomes: list[Numbers] = field(default_factory=lambda: [np.zeros((0, 4), np.int64)])
    """Outcomes of each kind by rank: kind, key, margin and tolerance."""
    begun: int = 0
    """Number of outcomes of earlier kinds."""
    held: list[dict[str, Numbers]] = field(default_factory=list)
    many: int = 0
    refused: list[tuple[int, str, str, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        adapter = ", adapter_no INTEGER" if self.adapters else ""
        self.con.execute(f"CREATE TEMP TABLE spilled (place_no INTEGER, part_no INTEGER, word INTEGER{adapter})")

    def begin(self, kind: str, ranked: RankedOutcomes) -> None:
        """Start with another kind of opening."""
        self.kind, self.begun = kind, sum(map(len, self.outcomes))
        self.outcomes.append(np.insert(ranked.columns, 0, KINDS.index(kind), axis=1))

    def add(self, place_no: int, part_no: Numbers, shown: Shown) -> None:
        """Keep the rows of one place; ``part_no`` are the numbers of the share's parts."""
        rows = {"place_no": np.full(len(shown.at), place_no, np.int32), "part_no": part_no.take(shown.at)}
        rows["word"] = (shown.outcome + np.int32(self.begun)) * np.int32(STEPS) + shown.takes
        if self.adapters:
            rows["adapter_no"] = shown.adapter_no
        self.held.append(rows)
        self.many += len(shown.at)
        if self.many >= HELD:
            self.con.execute(f"INSERT INTO spilled FROM {self._together()}")
            self.held, self.many = [], 0

    def refuse(self, place_no: int, counts: Numbers) -> None:
        """Keep the number of parts that each rule refuses at a place."""
        asking = ASKED[self.kind]
        for at in counts.nonzero()[0]:
            self.refused.append((place_no, asking.family, asking.rules[at].name, int(counts[at])))

    def refused_sql(self) -> str:
        """SQL of the pairs that do not fit: (place_no, family, rule, parts)."""
        columns = [list(column) for column in zip(*self.refused, strict=True)] or [[], [], [], []]
        names = {"place_no": "INTEGER", "family": "VARCHAR", "rule": "VARCHAR", "parts": "BIGINT"}
        lists = ", ".join(f"unnest(${at}::{kind}[]) AS {name}" for at, (name, kind) in enumerate(names.items(), 1))
        self.con.execute(f"CREATE OR REPLACE TEMP TABLE refused AS SELECT {lists}", columns)
        return "FROM refused ORDER BY place_no, rule"

    def told_sql(self) -> str:
        """SQL of the rows as they are written, sorted by place and part."""
        self._lay_words()
        rows = "spilled" if not self.held else f"(FROM spilled UNION ALL FROM {self._together()})"
        adapter = ", adapter.part_id AS adapter_id" if self.adapters else ""
        numbered = "SELECT row_number() OVER (ORDER BY part_id) - 1 AS adapter_no, part_id FROM adapter"
        joined = f" LEFT JOIN ({numbered}) AS adapter USING (adapter_no)" if self.adapters else ""
        return (
            f"SELECT place_no, family, part_no{adapter}, verdict, alteration, rule, margin, tol "
            f"FROM {rows} JOIN words USING (word){joined}"
        )

    def _together(self) -> str:
        """Relation of the rows so far."""
        names = self.held[0]
        self.con.register("held", {name: np.concatenate([one[name] for one in self.held]) for name in names})
        return "held"

    def _lay_words(self) -> None:
        """Write the meaning of each word, as ``words``: (word, family, verdict, alteration, rule, margin, tol)."""
        every = np.concatenate(self.outcomes).T
        self.con.register(
            "told", dict(zip(("kind", "key", "margin", "tol"), map(np.ascontiguousarray, every), strict=True))
        )
        rules = [(kind, at, rule.name) for kind, name in enumerate(KINDS) for at, rule in enumerate(ASKED[name].rules)]
        named = ", ".join(f"({kind}, {at}, {quoted(name)})" for kind, at, name in rules)
        rule = _enum(dict.fromkeys(name for *_, name in rules))
        exact = "(nullif({0}, {unknown}) * 0.000001::DECIMAL(7, 6))::DECIMAL(18, 6) AS {0}"
        self.con.execute(
            f"CREATE TEMP TABLE words AS SELECT (number * {STEPS} + step)::INTEGER AS word, "
            f"{_worded(ASKED[kind].family for kind in KINDS)}[told.kind + 1] AS family, "
            f"{_worded(VERDICTS[code] for code in range(NO, FITS + 1))}[least(key // {WORD}, {FITS}) + 1] AS verdict, "
            f"{_worded(LADDER)}[step + 1] AS alteration, named::{rule} AS rule, "
            f"{exact.format('margin', unknown=UNKNOWN)}, {exact.format('tol', unknown=UNKNOWN)} "
            f"FROM (SELECT *, row_number() OVER () - 1 AS number FROM told) AS told "
            f"JOIN (VALUES {named}) AS rules(of_kind, nth, named) ON of_kind = kind AND nth = key % {MOST_RULES}, "
            f"range({len(LADDER) + 1}) AS steps(step)"
        )


def _worded(words: Iterable[str]) -> str:
    """SQL of a list of words that the files store as numbers."""
    names = list(words)
    return f"([{', '.join(map(quoted, names))}]::{_enum(dict.fromkeys(names))}[])"


def _enum(words: Iterable[str]) -> str:
    return f"ENUM ({', '.join(map(quoted, words))})"
