"""A rule: one declaration that checks one part, sweeps a million, and writes its own page."""

from __future__ import annotations

import re
from dataclasses import dataclass

from catalog_schema.sources import COMMON_PRACTICE, Source
from matcher.rules.terms import NOTHING, Condition, Term, as_term, join_lists
from matcher.rules.terms import Number as Number
from matcher.settings import Settings

SKIP, FITS, MEASURE, NO = 3, 2, 1, 0
"""What a rule says of a candidate, worst lowest: so the worst of several is their least."""


@dataclass(frozen=True)
class Rule:
    """What there is against what is needed, in one unit.

    The margin is ``have`` less ``need``. ``when`` says for which candidates the rule is asked;
    where that is not known, a rule that would hold anyway holds, any other wants measuring.
    Where what is needed depends on a choice that is not known, it says no only if every choice would.
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
        pieces = [
            f"{self.have.value(settings)} AS {self.column}_have",
            f"{self.need.value(settings)} AS {self.column}_need",
            f"{self.tol_sql(settings)} AS {self.column}_tol",
        ]
        if self.when is not None:
            pieces.append(f"{self.when.sql} AS {self.column}_when")
        if self.bound:
            pieces.append(f"{self.bound} AS {self.column}_bound")
        return ", ".join(pieces)

    @property
    def bound(self) -> str:
        """SQL of whether what is needed is only a bound: then the rule may say no, but never that it fits."""
        return self.need.bound()

    def need_sql(self) -> str:
        """SQL, over the columns of `measured_sql`, of what is needed; null for a bound that rules nothing out."""
        if not self.bound:
            return f"{self.column}_need"
        ruled_out = f"coalesce({self.column}_have - {self.column}_need < -{self.column}_tol, false)"
        return f"CASE WHEN {ruled_out} OR NOT {self.column}_bound THEN {self.column}_need END"

    def open_sql(self) -> str:
        """SQL, over the columns of `measured_sql`, of whether it is not known if the rule is asked at all."""
        return "false" if self.when is None or self.when.is_certain else f"{self.column}_when IS NULL"

    def tol_sql(self, settings: Settings) -> str:
        have, need = self.have.tol(settings), self.need.tol(settings)
        if "0" in (have, need):
            return have if need == "0" else need
        return f"{have} + {need}"

    def code_sql(self) -> str:
        """SQL of what the rule says, over the columns of `measured_sql`: SKIP, FITS, MEASURE or NO."""
        tol, margin = f"{self.column}_tol", f"{self.column}_have - {self.column}_need"
        cases = [] if self.when is None else [f"WHEN NOT {self.column}_when THEN {SKIP}"]
        if self.bound:
            cases.append(f"WHEN {self.column}_bound AND {margin} >= -{tol} THEN {MEASURE}")
        cases.append(f"WHEN {margin} >= {tol} THEN {FITS}")
        if self.when is not None and not self.when.is_certain:
            cases.append(f"WHEN {self.column}_when IS NULL THEN {MEASURE}")
        return f"CASE {' '.join(cases)} WHEN {margin} < -{tol} THEN {NO} ELSE {MEASURE} END"

    def missing_sql(self) -> str:
        """SQL of the figures that keep it from an answer, as often as they stand in it."""
        when = NOTHING if self.when is None else self.when.missing()
        return join_lists(when, self.have.missing(), self.need.missing())


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
    made = Rule(name, scope, unit, as_term(have), as_term(need), compares, flaw, cure, when, lifted_at, source)
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
