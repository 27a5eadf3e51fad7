"""A family's parts by the sets of figures that rules read of them.

A rule reads few figures of a part, and many parts share them. So each set of figures has a number, a rule is asked of
each set once, and a part is known by its numbers, whatever the opening.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from matcher.rules.dash import DASH
from matcher.rules.rule import FITS, NO, Rule, rules_of
from matcher.rules.speaker import SPEAKER
from matcher.search.fits.relations import part_sql, same_sql, worst_of
from matcher.search.fits.term_sql import rule_columns
from matcher.settings import Settings
from matcher.store.connection import Connection
from matcher.store.shelf import Shelf


def rules_at(kind: str) -> str:
    """The question asked of a part at a mouth."""
    return DASH if kind == "dash" else SPEAKER


def columns_read(subject: str, sql: str) -> tuple[str, ...]:
    """The columns of a subject that some SQL reads."""
    return tuple(dict.fromkeys(re.findall(rf'\b{subject}\."?(\w+)"?', sql)))


def rules_sql(rules: Sequence[Rule], settings: Settings) -> str:
    """SQL of all that some rules read of a row."""
    return ", ".join(rule_columns(rule, settings) for rule in rules)


def mouth_columns(kind: str, settings: Settings) -> tuple[str, ...]:
    """All that the rules read of a mouth."""
    return columns_read("mouth", rules_sql(rules_of(rules_at(kind)), settings))


def said_columns(bits: str, size: int) -> str:
    """SQL of the bits of all rows that their ``code`` does not refuse, as ``can``, and of those that it makes sure."""
    return (
        f"bit_or({bits}) FILTER (code != {NO}) AS can, "
        f"coalesce(bit_or({bits}) FILTER (code >= {FITS}), bitstring('0', {size})) AS sure"
    )


@dataclass(frozen=True)
class Panel:
    """Rules that read the same figures of a part, asked together."""

    rules: tuple[Rule, ...]
    lifted: bool
    """Whether new screw holes lift them."""
    part: tuple[str, ...]
    mouth: tuple[str, ...]
    sql: str

    def said_sql(self, sets: str, size: int) -> str:
        """SQL of what they say to each set of figures: the mouths that may do, and those that surely do."""
        given = ", ".join(f'"{name}"' for name in self.mouth)
        return (
            f"SELECT number, {said_columns('mask', size)} FROM ("
            f"SELECT number, mask, {worst_of(self.rules)} AS code FROM (SELECT part.number, mask, {self.sql} "
            f"FROM {sets} AS part, opening, "
            f"(SELECT {given}, bit_or(bit) AS mask FROM mouth GROUP BY ALL) AS mouth)) GROUP BY number"
        )


def own_rules(kind: str, settings: Settings, *, lifted: bool) -> list[Rule]:
    """The rules that say the same at every mouth."""
    return [
        rule
        for rule in rules_of(rules_at(kind))
        if (rule.lifted_at is not None) == lifted and not columns_read("mouth", rules_sql([rule], settings))
    ]


def panels_of(kind: str, settings: Settings) -> tuple[Panel, ...]:
    """The other rules, by the figures that they read of a part."""
    groups: dict[object, list[Rule]] = {}
    for rule in rules_of(rules_at(kind)):
        sql = rules_sql([rule], settings)
        if columns_read("mouth", sql):
            measures = frozenset(name.removesuffix("_tol") for name in columns_read("part", sql) if "_mm" in name)
            groups.setdefault((rule.lifted_at is not None, measures), []).append(rule)
    return tuple(_panel(rules, settings) for rules in groups.values())


def _panel(rules: list[Rule], settings: Settings) -> Panel:
    sql = rules_sql(rules, settings)
    lifted = rules[0].lifted_at is not None
    return Panel(tuple(rules), lifted, columns_read("part", sql), columns_read("mouth", sql), sql)


@dataclass(frozen=True, slots=True)
class Sets:
    """The parts of a family with the numbers of their sets of figures, ``set_0``…, one for each panel."""

    parts: str
    """The relation of the parts, with the columns that were asked for; it lasts as long as the connection."""
    panels: tuple[Panel, ...]
    further: tuple[tuple[str, ...], ...] = ()
    """Other figures whose sets are numbered, after those of the panels."""

    @property
    def grouped(self) -> list[tuple[str, ...]]:
        """The figures of each set that has a number."""
        return [*(panel.part for panel in self.panels), *self.further]

    def figures(self, at: int) -> str:
        """The relation of the sets of some figures: their number and their figures."""
        return f"{self.parts}_{at}"


def lay_sets(
    con: Connection,
    shelf: Shelf,
    place: tuple[str, str],
    columns: Sequence[str],
    further: tuple[tuple[str, ...], ...],
    settings: Settings,
) -> Sets:
    """The parts of a family by what is read of them at openings of a kind.

    Parameters
    ----------
    place
        The kind of the openings, and the family.
    columns
        What stands beside the numbers of their sets.
    further
        Figures whose sets are numbered after those of the panels.
    """
    kind, family = place
    sets, parts = Sets(shelf.place("parts"), panels_of(kind, settings), further), part_sql(family, settings)
    _lay_figures(con, shelf, sets, parts)
    numbers = "".join(f", of_{at}.number AS set_{at}" for at, _ in enumerate(sets.grouped))
    joins = " ".join(
        f"JOIN {sets.figures(at)} AS of_{at} ON {same_sql('part', f'of_{at}', names)}"
        for at, names in enumerate(sets.grouped)
    )
    numbered = f"SELECT {_listed(columns)}{numbers} FROM ({parts}) AS part {joins}"
    con.execute(f"{shelf.create} TABLE {sets.parts} AS {numbered}")
    return sets


def _lay_figures(con: Connection, shelf: Shelf, sets: Sets, parts: str) -> None:
    """All sets of figures of some parts, which are read once, each kind of set as a relation of its own.

    To the database each is then as small as it is: it joins the parts to them accordingly.
    """
    names = list(dict.fromkeys(name for names in sets.grouped for name in names))
    groups = {frozenset(some): f"({_listed(some)})" for some in sets.grouped}
    every = f"{sets.parts}_sets"
    con.execute(
        f"{shelf.create} TABLE {every} AS SELECT GROUPING({_listed(names)}) AS beside, {_listed(names)} "
        f"FROM ({parts}) AS part GROUP BY GROUPING SETS ({', '.join(groups.values())})"
    )
    for at, some in enumerate(sets.grouped):
        beside = sum(1 << place for place, name in enumerate(reversed(names)) if name not in some)
        con.execute(
            f"{shelf.create} TABLE {sets.figures(at)} AS SELECT (row_number() OVER () - 1)::INTEGER AS number, "
            f"{_listed(some)} FROM {every} AS part WHERE beside = {beside}"
        )
    con.execute(f"DROP TABLE {every}")


def _listed(names: Iterable[str]) -> str:
    return ", ".join(f'part."{name}"' for name in names)
