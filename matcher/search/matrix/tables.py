"""What is said of a share's sets of figures, as tables of numbers: a pair of part and spot only looks it up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from matcher.rules.rule import MEASURE
from matcher.search.matrix.kinds import Asking
from matcher.search.matrix.sheets import Sheet
from matcher.search.matrix.telling import UNKNOWN, Numbers, Telling
from matcher.search.matrix.verdicts import DOUBT, FREE, NO_RULE, WORD
from matcher.store.connection import Connection


@dataclass(frozen=True)
class Table:
    """What a sheet says, row by row for each set of a spot's figures."""

    is_lifted: bool
    parts: int
    """Sets of the parts' figures: the length of a row."""
    first: Numbers
    """The first rule that says no, or what the worst says."""
    key: Numbers
    told: Numbers
    """The number of what is told of the worst."""

    def row(self, values: Numbers, spot: int) -> Numbers:
        """Of some values those for one set of a spot's figures, by the set of a part's."""
        return values[spot * self.parts : (spot + 1) * self.parts]


def read_table(con: Connection, asking: Asking, sheet: Sheet, telling: Telling, *, every: bool) -> Table:
    """Ask a sheet of all sets against all sets."""
    count = f"SELECT (SELECT count(*) FROM {sheet.sets}), (SELECT coalesce(max(g{sheet.at}), -1) + 1 FROM spot)"
    ((parts, spots),) = con.execute(count).fetchall()
    firsts, keys = np.full(parts * spots, FREE, np.int8), np.full(parts * spots, int(NO_RULE), np.int64)
    table = Table(sheet.is_lifted, parts, firsts, keys, np.zeros(parts * spots, np.int32))
    for some in sheet.slices(parts, spots):
        _fill(table, telling, _columns(con, sheet.said_sql(asking, parts, some, every=every)))
    return table


def _fill(table: Table, telling: Telling, said: dict[str, Numbers]) -> None:
    """Take into a table what was said of some of its cells."""
    key, refused = np.ma.filled(said["key"], 0), said["refused"]
    judged = np.where(key // WORD == MEASURE, DOUBT, FREE)
    table.first[said["cell"]] = np.where(np.ma.getmaskarray(refused), judged, np.ma.getdata(refused))
    margin = np.where(np.ma.getmaskarray(said["margin"]), UNKNOWN, _millionths(said["margin"]))
    kept = ~np.ma.getmaskarray(said["key"])
    table.key[said["cell"][kept]] = key[kept]
    table.told[said["cell"][kept]] = telling.numbers(key[kept], margin[kept], _millionths(said["tol"])[kept])


def _columns(con: Connection, sql: str) -> dict[str, Numbers]:
    """The columns of a question as numbers; what is not known is masked."""
    return {name: np.asanyarray(column) for name, column in con.execute(sql).fetchnumpy().items()}


def _millionths(figures: Numbers) -> Numbers:
    return np.rint(np.ma.filled(figures, 0).astype(np.float64) * 1e6).astype(np.int64)


@dataclass(frozen=True)
class Tables:
    """All sheets of a share, and the parts that they are asked of."""

    every: Sequence[Table]
    part_no: Numbers
    sets: Sequence[Numbers]
    """Of each sheet: which set of figures each part has. The parts stand in the order of their sets of the gate."""

    @cached_property
    def begins(self) -> Numbers:
        """Where each set of the gate begins among the parts, and where the last one ends."""
        return np.asarray(np.searchsorted(self.sets[0], np.arange(self.every[0].parts + 1)))

    @cached_property
    def many(self) -> Numbers:
        """How many parts have each set of the gate."""
        return np.diff(self.begins)

    def of_sets(self, wanted: Numbers) -> Numbers:
        """The parts whose sets of the gate are wanted (a yes or no for each)."""
        begins, many = self.begins[:-1][wanted], self.many[wanted]
        after = np.cumsum(many) - many
        return np.asarray(np.arange(many.sum()) + np.repeat(begins - after, many))


def read_tables(
    con: Connection, asking: Asking, asked: Sequence[Sheet], parts: str, telling: Telling, *, every: bool
) -> Tables:
    """Ask all sheets, and read the parts that the SQL of ``parts`` gives."""
    held = _columns(con, parts)
    sets = [held[f"p{one.at}"].astype(np.intp) for one in asked]
    return Tables([read_table(con, asking, one, telling, every=every) for one in asked], held["part_no"], sets)
