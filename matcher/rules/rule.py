"""A rule: one declaration that checks one part or a million, and writes its own page."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from catalog_schema.sources import COMMON_PRACTICE, Source
from matcher.rules.risks import Risk, risk_of
from matcher.rules.terms import Condition, Exact, FigureTerm, Term, as_term, read_by
from matcher.rules.terms import Number as Number

SKIP, FITS, MENDED, DELAYS, STOPS, NO = 5, 4, 3, 2, 1, 0
"""Verdict code of a rule for a candidate, worst lowest: so the worst of several is their minimum.

Between FITS and NO something is to be measured first: what that risks is told by `risks`.
"""
MEASURE: dict[Risk, int] = {"stops": STOPS, "delays": DELAYS, "mended": MENDED}
"""The codes of what is to be measured, by risk."""


@dataclass(frozen=True, eq=False, repr=False)
class Rule:
    """The value there is and the value needed, in one unit.

    The margin is ``have`` less ``need``. ``when`` says for which candidates the rule is asked;
    if that is not known, a rule that would hold anyway holds, any other wants measuring.
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
    """Compared figures, in words, for the rules' page."""
    flaw: str
    """Fault that a NO reports."""
    fix: str = ""
    """Change that would help."""
    when: Condition | None = None
    lifted_at: str | None = None
    source: Source = COMMON_PRACTICE

    @property
    def terms(self) -> tuple[Term, ...]:
        """All that it reads."""
        return (self.have, self.need) if self.when is None else (self.have, self.need, self.when)

    @property
    def measure(self) -> int:
        """The code where it is to be measured."""
        return MEASURE[risk_of(self.name)]

    def measures(self) -> list[str]:
        """The measured figures in it, as ``subject.field``: each length has a tolerance, any other may have one."""
        from catalog_schema.units import unit_of_field

        figures = (*self.have.figures(), *self.need.figures())
        measured = (one for one in figures if not isinstance(one, Exact) and unit_of_field(one.field))
        return list(dict.fromkeys(map(str, measured)))


_REGISTRY: dict[str, Rule] = {}
_BY_SCOPE: dict[str, list[Rule]] = {}


def rule(
    name: str,
    *,
    scope: str,
    unit: str,
    have: Term | Number,
    need: Term | Number,
    compares: str,
    flaw: str,
    fix: str = "",
    when: Condition | None = None,
    lifted_at: str | None = None,
    source: Source = COMMON_PRACTICE,
) -> Rule:
    """Declare a rule; its name is for ever."""
    if name in _REGISTRY:
        raise ValueError(f"the rule {name} is declared twice")
    made = Rule(name, scope, unit, as_term(have), as_term(need), compares, flaw, fix, when, lifted_at, source)
    _REGISTRY[name] = made
    _BY_SCOPE.setdefault(scope, []).append(made)
    return made


def rules_of(scope: str) -> list[Rule]:
    """The rules asked in a question, in the order they were declared."""
    return list(_BY_SCOPE.get(scope, ()))


@cache
def figures_of(rules: tuple[Rule, ...]) -> tuple[FigureTerm, ...]:
    """Every figure that some rules read, each once."""
    return read_by(*(term for made in rules for term in made.terms))


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
