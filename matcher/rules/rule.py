"""A rule: one declaration that checks one part, sweeps a million, and writes its own page."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from importlib import import_module
from pkgutil import iter_modules

from catalog_schema.checks import verdict_of
from catalog_schema.sources import COMMON_PRACTICE, Source
from matcher.rules.layouts import Shared
from matcher.rules.terms import NOTHING, Condition, Exact, Term, as_term, join_lists, parts_of
from matcher.rules.terms import Number as Number
from matcher.settings import Settings

SKIP, FITS, MEASURE, NO = 3, 2, 1, 0
"""What a rule says of a candidate, worst lowest: so the worst of several is their least."""


@dataclass(frozen=True, eq=False, repr=False)
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

    def measured_columns(self, settings: Settings) -> list[str]:
        """SQL of what the rule reads of a row: have, need, tolerance, and where they may vary: when, bound."""
        columns = [self.have.value(settings), self.need.value(settings), self.tol_sql(settings)]
        if self.when is not None:
            columns.append(self.when.sql)
        return [*columns, self.bound] if self.bound else columns

    def measured_sql(self, settings: Settings) -> str:
        """The same as named columns, which `code_sql` stands over."""
        names = ["have", "need", "tol", *([] if self.when is None else ["when"]), *(["bound"] if self.bound else [])]
        columns = self.measured_columns(settings)
        return ", ".join(f"{column} AS {self.column}_{name}" for column, name in zip(columns, names, strict=True))

    @property
    def bound(self) -> str:
        """SQL of whether what is needed is only a bound: then the rule may say no, but never that it fits."""
        return self.need.bound()

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

    def code(
        self, have: Decimal | None, need: Decimal | None, tol: Decimal | None, when: bool | None, bound: bool | None
    ) -> int:
        """What `code_sql` says, of one row: SKIP, FITS, MEASURE or NO."""
        if when is False:
            return SKIP
        if have is None or need is None or tol is None:
            return MEASURE
        verdict = verdict_of(have - need, tol)
        if bound:
            return MEASURE if verdict != "no" or when is None else NO
        if when is None:
            return FITS if verdict == "fits" else MEASURE
        return {"fits": FITS, "measure": MEASURE, "no": NO}[verdict]

    def measures(self) -> list[str]:
        """The measured figures in it, as ``subject.field``: each length has a tolerance, any other may have one."""
        from catalog_schema.units import unit_of_field

        figures = (*self.have.figures(), *self.need.figures())
        measured = (one for one in figures if not isinstance(one, Exact) and unit_of_field(one.field))
        return list(dict.fromkeys(map(str, measured)))

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


def shared_sql(rules: Iterable[Rule], settings: Settings) -> list[str]:
    """SQL of what several of some rules speak of, to stand before their columns in a statement."""
    terms = (part for rule in rules for side in (rule.have, rule.need) for part in parts_of(side))
    shared = dict.fromkeys(term for term in terms if isinstance(term, Shared))
    return [term.columns(settings) for term in shared]


def rules_of(scope: str) -> list[Rule]:
    """The rules asked in a question, in the order they were declared."""
    return [made for made in _REGISTRY.values() if made.scope == scope]


def every_rule() -> list[Rule]:
    """All rules, by their question; those of one in the order they were declared."""
    package = import_module("matcher.rules")
    for subject in iter_modules(package.__path__):
        import_module(f"{package.__name__}.{subject.name}")
    return sorted(_REGISTRY.values(), key=lambda made: made.scope)


def rule_named(name: str) -> Rule:
    """A rule by its name; a KeyError where there is none."""
    if name not in _REGISTRY:
        every_rule()
    return _REGISTRY[name]
