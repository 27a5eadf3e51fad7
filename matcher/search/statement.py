"""Rules as SQL: one statement for one part or a million.

A sweep reads two numbers a candidate: the worst that its rules say, and the worst of those that
a drill would lift. A check reads every rule's have, need, tolerance and verdict from the same terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from catalog_schema.answers import Check, Verdict
from matcher.rules.rule import FITS, MEASURE, NO, SKIP, Rule
from matcher.settings import Settings
from matcher.store.connection import Connection

VERDICTS: dict[int, Verdict] = {NO: "no", MEASURE: "measure", FITS: "fits"}


@dataclass(frozen=True, slots=True)
class Asked:
    """Rules asked of some rows: the relations they stand on, and what to read beside the checks."""

    ctes: str
    source: str
    beside: tuple[str, ...]
    rules: tuple[Rule, ...]


def check_rows(
    con: Connection, asked: Asked, params: Sequence[object], settings: Settings
) -> list[tuple[tuple[Any, ...], list[Check]]]:
    """For every row of the source: what stands beside, and a check for each rule that applies."""
    beside = [f"{column} AS beside_{position}" for position, column in enumerate(asked.beside)]
    measured = [rule.measured_sql(settings) for rule in asked.rules]
    codes = ", ".join(f"{rule.code_sql()} AS {rule.column}_code" for rule in asked.rules)
    inner = f"SELECT {', '.join([*beside, *measured])} FROM {asked.source}"
    rows = con.execute(f"{asked.ctes} SELECT *, {codes} FROM ({inner})", params).fetchall()
    unsure = _unsure(rows, asked)
    absent = _missing(con, asked, params, unsure) if unsure else [{}] * len(rows)
    return [_row(row, asked, names) for row, names in zip(rows, absent, strict=True)]


def _row(
    row: tuple[Any, ...], asked: Asked, missing: dict[str, list[str]]
) -> tuple[tuple[Any, ...], list[Check]]:
    first, after = len(asked.beside), len(asked.beside) + 4 * len(asked.rules)
    checks = []
    for position, rule in enumerate(asked.rules):
        have, need, tol, _ = row[first + 4 * position : first + 4 * position + 4]
        code = row[after + position]
        if code != SKIP:
            checks.append(_check(rule, code, have, need, tol, missing.get(rule.name, [])))
    return row[:first], checks


def _unsure(rows: Sequence[tuple[Any, ...]], asked: Asked) -> list[Rule]:
    """The rules that some row leaves open for want of a figure."""
    first, after = len(asked.beside), len(asked.beside) + 4 * len(asked.rules)
    return [
        rule
        for position, rule in enumerate(asked.rules)
        if any(
            row[after + position] == MEASURE and None in row[first + 4 * position : first + 4 * position + 4]
            for row in rows
        )
    ]


def _missing(
    con: Connection, asked: Asked, params: Sequence[object], unsure: list[Rule]
) -> list[dict[str, list[str]]]:
    """For every row: the figures that each of these rules wants."""
    columns = ", ".join(rule.missing_sql() for rule in unsure)
    rows = con.execute(f"{asked.ctes} SELECT {columns} FROM {asked.source}", params).fetchall()
    return [{rule.name: lists for rule, lists in zip(unsure, row, strict=True)} for row in rows]


def _check(
    rule: Rule,
    code: int,
    have: Decimal | None,
    need: Decimal | None,
    tol: Decimal | None,
    missing: list[str] | None,
) -> Check:
    absent = list(missing) if code == MEASURE else []
    known = have is not None and need is not None and not absent
    return Check(
        rule=rule.name,
        verdict=VERDICTS[code],
        have=_plain(have),
        need=_plain(need),
        margin=_plain(have - need) if known and have is not None and need is not None else None,
        tol=_plain(tol) or Decimal(0),
        unit=rule.unit,
        missing=absent,
        source=str(rule.source),
    )


def _plain(number: Decimal | int | None) -> Decimal | None:
    """The number without idle zeros, never in powers of ten."""
    if number is None:
        return None
    number = Decimal(number).normalize()
    return number.quantize(Decimal(1)) if number == number.to_integral_value() else number
