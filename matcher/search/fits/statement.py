"""Rules as SQL: one statement for one part or a million.

A sweep reads two numbers a candidate: the worst that its rules say, and the worst of those that
a drill would lift. A check reads every rule's have, need, tolerance and verdict from the same terms.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from decimal import Decimal
from typing import Any, NamedTuple

from catalog_schema.checks import Check, Verdict
from matcher.rules.rule import FITS, MEASURE, NO, SKIP, Rule, shared_sql
from matcher.search.fits.decider import Asked as Asked
from matcher.search.fits.decider import Decider, deciders
from matcher.settings import Settings
from matcher.store.connection import Connection

VERDICTS: dict[int, Verdict] = {NO: "no", MEASURE: "measure", FITS: "fits"}


def check_rows(
    con: Connection, asked: Asked, params: Sequence[object], settings: Settings
) -> list[tuple[tuple[Any, ...], list[Check]]]:
    """For every row of the source: what stands beside, and a check for each rule that applies."""
    shared = shared_sql(asked.rules, settings)
    measured = [column for rule in asked.rules for column in rule.measured_columns(settings)]
    statement = f"{asked.ctes} SELECT {', '.join([*shared, *asked.beside, *measured])} FROM {asked.source}"
    before, after = 2 * len(shared), 2 * len(shared) + len(asked.beside)
    rows = con.execute(statement, params).fetchall()
    read = [(row[before:after], _read(row[after:], asked.rules)) for row in rows]
    unsure = list(dict.fromkeys(each.rule for _, found in read for each in found if each.is_unsure))
    absent = _missing(con, asked, params, unsure) if unsure else [{}] * len(rows)
    deciding = deciders(con, asked, params, settings, absent) if unsure else [{}] * len(rows)
    return [
        (beside, [_check(each, names, decided) for each in found if each.code != SKIP])
        for (beside, found), names, decided in zip(read, absent, deciding, strict=True)
    ]


def _check(each: Read, names: dict[str, list[str]], decided: dict[str, Decider]) -> Check:
    check = each.check(names.get(each.rule.name, []))
    decider = decided.get(each.rule.name) if check.missing and not each.is_open else None
    if decider is None:
        return check
    value = _plain(decider.value)
    return replace(check, fits_from=value) if decider.is_least else replace(check, fits_up_to=value)


@contextmanager
def planned_briefly(con: Connection) -> Iterator[None]:
    """Within it what is asked on this connection is planned without thinking twice.

    For a question on one row, a better plan takes longer to find than it saves. Filters still reach the tables.
    """
    con.execute(f"SET disabled_optimizers = '{_idle(con)}'")
    try:
        yield
    finally:
        con.execute("RESET disabled_optimizers")


def _idle(con: Connection) -> str:
    """All of the database's optimizers but that which brings filters to the tables."""
    row = con.execute(
        "SELECT string_agg(name, ',') FROM duckdb_optimizers() WHERE name <> 'filter_pushdown'"
    ).fetchone()
    return row[0] if row else ""


class Read(NamedTuple):
    """What a rule reads of a row, and what it says."""

    rule: Rule
    have: Decimal | None
    need: Decimal | None
    tol: Decimal | None
    code: int
    is_open: bool
    """Whether a choice is not known that could change the answer."""

    @property
    def is_unsure(self) -> bool:
        """Whether it wants a figure, or a choice, that is not known."""
        return self.code == MEASURE and (self.is_open or self.have is None or self.need is None)

    def check(self, missing: Sequence[str]) -> Check:
        """As an answer shows it."""
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
            loose=self.rule.measures() if self.code == MEASURE and not self.is_unsure else [],
            source=str(self.rule.source),
        )


def _read(cells: Sequence[Any], rules: Sequence[Rule]) -> list[Read]:
    found, following = [], iter(cells)
    for rule in rules:
        have, need, tol = (next(following) for _ in range(3))
        when = True if rule.when is None else next(following)
        bound = next(following) if rule.bound else False
        code = rule.code(have, need, tol, when, bound)
        if bound and code == MEASURE:
            need = None  # the least that it could be is not what is needed
        found.append(Read(rule, have, need, tol, code, when is None or bool(bound)))
    return found


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
