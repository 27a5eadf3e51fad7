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
    outer = [f"beside_{position}" for position in range(len(asked.beside))]
    outer += [
        f"{rule.column}_have, {rule.need_sql()}, {rule.column}_tol, {rule.open_sql()}, {rule.code_sql()}"
        for rule in asked.rules
    ]
    inner = f"SELECT {', '.join([*beside, *measured])} FROM {asked.source}"
    rows = con.execute(f"{asked.ctes} SELECT {', '.join(outer)} FROM ({inner})", params).fetchall()
    read = [(row[: len(beside)], _read(row[len(beside) :], asked.rules)) for row in rows]
    unsure = list(dict.fromkeys(each.rule for _, each_rule in read for each in each_rule if each.is_unsure))
    absent = _missing(con, asked, params, unsure) if unsure else [{}] * len(rows)
    return [
        (first, [each.check(names.get(each.rule.name, [])) for each in found if each.code != SKIP])
        for (first, found), names in zip(read, absent, strict=True)
    ]


@dataclass(frozen=True, slots=True)
class Read:
    """What a rule says of a row."""

    rule: Rule
    have: Decimal | None
    need: Decimal | None
    tol: Decimal | None
    is_open: bool
    """Whether a choice is not known that could change the answer."""
    code: int

    @property
    def is_unsure(self) -> bool:
        """Whether it wants a figure, or a choice, that is not known."""
        return self.code == MEASURE and (self.is_open or self.have is None or self.need is None)

    def check(self, missing: Sequence[str]) -> Check:
        have, need = self.have, self.need
        return Check(
            rule=self.rule.name,
            verdict=VERDICTS[self.code],
            have=_plain(have),
            need=_plain(need),
            margin=None if self.is_unsure or have is None or need is None else _plain(have - need),
            tol=_plain(self.tol) or Decimal(0),
            unit=self.rule.unit,
            missing=list(dict.fromkeys(missing)) if self.is_unsure else [],
            source=str(self.rule.source),
        )


def _read(cells: tuple[Any, ...], rules: Sequence[Rule]) -> list[Read]:
    return [Read(rule, *cells[5 * position : 5 * position + 5]) for position, rule in enumerate(rules)]


def _missing(con: Connection, asked: Asked, params: Sequence[object], unsure: list[Rule]) -> list[dict[str, list[str]]]:
    """For every row: the figures that each of these rules wants."""
    columns = ", ".join(rule.missing_sql() for rule in unsure)
    rows = con.execute(f"{asked.ctes} SELECT {columns} FROM {asked.source}", params).fetchall()
    return [{rule.name: lists for rule, lists in zip(unsure, row, strict=True)} for row in rows]


def _plain(number: Decimal | int | None) -> Decimal | None:
    """The number without idle zeros, never in powers of ten."""
    if number is None:
        return None
    number = Decimal(number).normalize()
    return number.quantize(Decimal(1)) if number == number.to_integral_value() else number
