"""A rule: one declaration that checks one part, sweeps a million, and writes its own page."""

from __future__ import annotations

import re
from dataclasses import dataclass

from catalog_schema.sources import COMMON_PRACTICE, Source
from matcher.rules.terms import Condition, Term, as_term
from matcher.rules.terms import Number as Number
from matcher.settings import Settings

SKIP, FITS, MEASURE, NO = 3, 2, 1, 0
"""What a rule says of a candidate, worst lowest: so the worst of several is their least."""


@dataclass(frozen=True)
class Rule:
    """What there is against what is needed, in one unit.

    The margin is ``have`` less ``need``. ``when`` says for which candidates the rule is asked;
    where that is not known, a rule that would hold anyway holds, any other wants measuring.
    ``lifted_at`` is the step of the alteration ladder from which it need not hold.
    """

    name: str
    scope: str
    """The question in which it is asked: which subjects it may speak of."""
    unit: str
    have: Term
    need: Term
    compares: str
    """What it compares, in words, for the rules' page."""
    flaw: str
    """What is wrong where it says no."""
    cure: str = ""
    """What would help."""
    when: Condition | None = None
    lifted_at: str | None = None
    source: Source = COMMON_PRACTICE

    @property
    def column(self) -> str:
        """The rule's name as the stem of SQL columns."""
        return re.sub(r"\W", "_", self.name)

    def measured_sql(self, settings: Settings) -> str:
        """SQL of what the rule reads of a row, as the columns that its code is made of."""
        when = "true" if self.when is None else self.when.sql
        return (
            f"{self.have.value(settings)} AS {self.column}_have, {self.need.value(settings)} AS {self.column}_need, "
            f"{self.tol_sql(settings)} AS {self.column}_tol, {when} AS {self.column}_when"
        )

    def tol_sql(self, settings: Settings) -> str:
        have, need = self.have.tol(settings), self.need.tol(settings)
        if "0" in (have, need):
            return have if need == "0" else need
        return f"{have} + {need}"

    def code_sql(self) -> str:
        """SQL of what the rule says, over the columns of `measured_sql`: SKIP, FITS, MEASURE or NO."""
        margin = f"{self.column}_have - {self.column}_need"
        return (
            f"CASE WHEN NOT {self.column}_when THEN {SKIP} "
            f"WHEN {margin} >= {self.column}_tol THEN {FITS} "
            f"WHEN {self.column}_when IS NULL THEN {MEASURE} "
            f"WHEN {margin} < -{self.column}_tol THEN {NO} ELSE {MEASURE} END"
        )

    def missing_sql(self) -> str:
        """SQL of the figures that keep it from an answer."""
        pieces = [self.have.missing(), self.need.missing()]
        if self.when is not None:
            pieces.insert(0, self.when.missing())
        return f"list_distinct(list_concat({', '.join(pieces)}))"


_REGISTRY: dict[str, Rule] = {}


def rule(
    name: str,
    *,
    scope: str,
    unit: str,
    have: Term | Number,
    need: Term | Number,
    compares: str,
    flaw: str,
    cure: str = "",
    when: Condition | None = None,
    lifted_at: str | None = None,
    source: Source = COMMON_PRACTICE,
) -> Rule:
    """Declare a rule; its name is for ever."""
    if name in _REGISTRY:
        raise ValueError(f"the rule {name} is declared twice")
    made = Rule(
        name, scope, unit, as_term(have), as_term(need), compares, flaw, cure, when, lifted_at, source
    )
    _REGISTRY[name] = made
    return made


def rules_of(scope: str) -> list[Rule]:
    """The rules asked in a question, in the order they were declared."""
    return [made for made in _REGISTRY.values() if made.scope == scope]


def every_rule() -> list[Rule]:
    """All rules, in the order they were declared."""
    return list(_REGISTRY.values())


def rule_named(name: str) -> Rule:
    """A rule by its name; a KeyError where there is none."""
    return _REGISTRY[name]
