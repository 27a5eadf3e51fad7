"""Which value of a missing figure decides: where a rule's margin, as a line in that figure, meets its tolerances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from matcher.rules.rule import Rule, shared_sql
from matcher.rules.terms import Figure, literal
from matcher.settings import Settings
from matcher.store.connection import Connection

PROBES = (Decimal(0), Decimal(100), Decimal(200))
"""Values at which a margin is read: on a line the third tells nothing that the first two do not."""


class Asked(NamedTuple):
    """Rules asked of some rows: the relations they stand on, and what to read beside the checks."""

    ctes: str
    source: str
    beside: tuple[str, ...]
    rules: tuple[Rule, ...]


class Decider(NamedTuple):
    """The value of a figure, exactly known, at which a rule just holds."""

    value: Decimal
    is_least: bool
    """Whether it holds from there on, or up to there."""


def deciders(
    con: Connection,
    asked: Asked,
    params: Sequence[object],
    settings: Settings,
    absent: Sequence[Mapping[str, Sequence[str]]],
) -> list[dict[str, Decider]]:
    """For every row, by rule: which value decides, where one figure is missing and the margin is a line in it."""
    pairs = dict.fromkeys(
        (rule, figure)
        for names in absent
        for rule in asked.rules
        if (figure := _only(rule, names.get(rule.name, ()))) is not None
    )
    if not pairs:
        return [{} for _ in absent]
    shared = shared_sql(asked.rules, settings)
    columns = [*shared, *(column for rule, figure in pairs for column in _probed(rule, figure, settings))]
    rows = con.execute(f"{asked.ctes} SELECT {', '.join(columns)} FROM {asked.source}", params).fetchall()
    first, each = 2 * len(shared), 2 * len(PROBES)
    found: list[dict[str, Decider]] = []
    for names, row in zip(absent, rows, strict=True):
        made = {}
        for at, (rule, figure) in enumerate(pairs):
            if _only(rule, names.get(rule.name, ())) == figure:
                made[rule.name] = _decider(row[first + each * at : first + each * (at + 1)])
        found.append({name: decider for name, decider in made.items() if decider is not None})
    return found


def _only(rule: Rule, missing: Sequence[str]) -> Figure | None:
    """The figure of a rule that alone is missing, where it has a measure."""
    if len(set(missing)) != 1:
        return None
    figures = (*rule.have.figures(), *rule.need.figures())
    measured = (one for one in figures if one.subject in MEASURED and one.field.endswith(UNITS))
    return next((one for one in measured if str(one) == missing[0]), None)


MEASURED = frozenset({"part", "opening", "adapter", "mouth", "hole", "pair"})
"""Subjects whose figures are read as they stand, not worked out of others."""
UNITS = ("_mm", "_kg", "_in")
"""How the name of a figure ends that is measured."""


def _probed(rule: Rule, figure: Figure, settings: Settings) -> list[str]:
    """SQL of a rule's margin and tolerance with each probe in place of the figure, itself exactly known."""
    margin = f"({rule.have.value(settings)}) - ({rule.need.value(settings)})"
    tol = rule.tol_sql(settings).replace(figure.tol(settings), "0")
    return [
        f"({sql.replace(figure.column(), f'{literal(probe)}::DECIMAL(15,6)')})::DECIMAL(15,6)"
        for probe in PROBES
        for sql in (margin, tol)
    ]


def _decider(read: Sequence[Any]) -> Decider | None:
    """The line through three margins where it meets the tolerance."""
    margins, tols = read[::2], read[1::2]
    if None in margins or None in tols or len(set(tols)) > 1:
        return None
    first, second, third = margins
    if first == second or second - first != third - second:
        return None
    slope = (second - first) / (PROBES[1] - PROBES[0])
    value = PROBES[0] + (tols[0] - first) / slope
    return Decider(value, slope > 0) if value > 0 else None
