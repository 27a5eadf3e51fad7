"""The rows of a share, as they come from its places: kept as numbers, told in words when they are written."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from catalog_schema.ladder import LADDER
from matcher.kernel.explain import VERDICTS
from matcher.rules.rule import FITS, MEASURE, NO
from matcher.search.matrix.ask import Shown
from matcher.search.matrix.kinds import ASKED, KINDS
from matcher.search.matrix.telling import Telling
from matcher.search.matrix.verdicts import MOST_RULES, UNKNOWN, WORD, Numbers
from matcher.store.connection import Connection
from matcher.store.listing import quoted

STEPS = 8
"""More than the ladder has, with one for no step at all."""
HELD = 16_000_000
"""So many rows are kept as they are; more go into the database, which may spill them."""


@dataclass
class Rows:
    """What a share has to tell so far: of each row where it is, and as its word what is told and what step it takes."""

    con: Connection
    telling: Telling
    adapters: bool
    held: list[dict[str, Numbers]] = field(default_factory=list)
    many: int = 0
    refused: list[tuple[int, str, str, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        adapter = ", adapter_no INTEGER" if self.adapters else ""
        self.con.execute(f"CREATE TEMP TABLE spilled (place_no INTEGER, part_no INTEGER, word INTEGER{adapter})")

    def add(self, place_no: int, part_no: Numbers, shown: Shown) -> None:
        """Keep the rows of one place; ``part_no`` are the numbers of the share's parts."""
        rows = {"place_no": np.full(len(shown.at), place_no, np.int32), "part_no": part_no.take(shown.at)}
        rows["word"] = shown.told * np.int32(STEPS) + shown.takes
        if self.adapters:
            rows["adapter_no"] = shown.adapter_no
        self.held.append(rows)
        self.many += len(shown.at)
        if self.many >= HELD:
            self.con.execute(f"INSERT INTO spilled FROM {self._together()}")
            self.held, self.many = [], 0

    def refuse(self, kind: str, place_no: int, counts: Numbers) -> None:
        """Keep how many parts each rule refuses at a place."""
        asking = ASKED[kind]
        for at in counts.nonzero()[0]:
            self.refused.append((place_no, asking.family, asking.rules[at].name, int(counts[at])))

    def refused_sql(self) -> str:
        """SQL of the pairs that do not go in: (place_no, family, rule, parts)."""
        columns = [list(column) for column in zip(*self.refused, strict=True)] or [[], [], [], []]
        names = {"place_no": "INTEGER", "family": "VARCHAR", "rule": "VARCHAR", "parts": "BIGINT"}
        lists = ", ".join(f"unnest(${at}::{kind}[]) AS {name}" for at, (name, kind) in enumerate(names.items(), 1))
        self.con.execute(f"CREATE OR REPLACE TEMP TABLE refused AS SELECT {lists}", columns)
        return "FROM refused ORDER BY place_no, rule"

    def told_sql(self) -> str:
        """SQL of the rows as they are written, by place and part."""
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
        """The relation of the rows that are held."""
        names = self.held[0]
        self.con.register("held", {name: np.concatenate([one[name] for one in self.held]) for name in names})
        return "held"

    def _lay_words(self) -> None:
        """Lay what each word says, as ``words``: (word, family, verdict, alteration, rule, margin, tol)."""
        self.con.register("told", self.telling.columns())
        rules = [(kind, at, rule.name) for kind, name in enumerate(KINDS) for at, rule in enumerate(ASKED[name].rules)]
        named = ", ".join(f"({kind}, {at}, {quoted(name)})" for kind, at, name in rules)
        rule = _enum(dict.fromkeys(name for *_, name in rules))
        exact = "(nullif({0}, {unknown}) * 0.000001::DECIMAL(7, 6))::DECIMAL(18, 6) AS {0}"
        self.con.execute(
            f"CREATE TEMP TABLE words AS SELECT (number * {STEPS} + step)::INTEGER AS word, "
            f"{_worded(ASKED[kind].family for kind in KINDS)}[told.kind + 1] AS family, "
            f"{_worded(VERDICTS[code] for code in (NO, MEASURE, FITS))}[least(key // {WORD}, {FITS}) + 1] AS verdict, "
            f"{_worded(LADDER)}[step + 1] AS alteration, named::{rule} AS rule, "
            f"{exact.format('margin', unknown=UNKNOWN)}, {exact.format('tol', unknown=UNKNOWN)} "
            f"FROM (SELECT *, row_number() OVER () - 1 AS number FROM told) AS told "
            f"JOIN (VALUES {named}) AS rules(of_kind, nth, named) ON of_kind = kind AND nth = key % {MOST_RULES}, "
            f"range({len(LADDER) + 1}) AS steps(step)"
        )


def _worded(words: Iterable[str]) -> str:
    """SQL of a list of words that stand in the files as numbers of them."""
    names = list(words)
    return f"([{', '.join(map(quoted, names))}]::{_enum(names)}[])"


def _enum(words: Iterable[str]) -> str:
    return f"ENUM ({', '.join(map(quoted, words))})"
