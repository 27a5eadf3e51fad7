"""Rules: one declaration checks one part or a million, and generates its own documentation page."""

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
"""Verdict codes of a rule for a candidate, worst lowest, so that the worst of several is their minimum.

Codes between FITS and NO mean that something is to be measured first, by its risk (`matcher.rules.risks`).
"""
MEASURE: dict[Risk, int] = {"stops": STOPS, "delays": DELAYS, "mended": MENDED}
"""Codes for values to be measured, by risk."""


@dataclass(frozen=True, eq=False, repr=False)
class Rule:
    """A comparison of an available value with a required one, in the same unit.

    The margin is ``have`` minus ``need``. ``when`` selects the candidates to which the rule applies. If that is
    unknown, a rule that would hold anyway holds, and any other is to be measured. If the required value depends on an
    unknown choice, the verdict is no only if every choice gives no. ``lifted_at`` is the step of the alteration ladder
    from which the rule is waived.
    """

    name: str
    scope: str
    """The question in which the rule is checked, which determines the subjects it may read."""
    unit: str
    have: Term
    need: Term
    compares: str
    """Compared figures in words, for the rule's page."""
    flaw: str
    """Fault reported by a NO."""
    fix: str = ""
    """Change that would help."""
    when: Condition | None = None
    lifted_at: str | None = None
    source: Source = COMMON_PRACTICE

    @property
    def terms(self) -> tuple[Term, ...]:
        """Return all terms that the rule reads."""
        return (self.have, self.need) if self.when is None else (self.have, self.need, self.when)

    @property
    def measure(self) -> int:
        """Return the verdict code if a figure is to be measured."""
        return MEASURE[risk_of(self.name)]

    def measures(self) -> list[str]:
        """Return its measured figures as ``subject.field``: lengths always have a tolerance, others may have one."""
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
    """Declare a rule; its name never changes."""
    if name in _REGISTRY:
        raise ValueError(f"the rule {name} is declared twice")
    made = Rule(name, scope, unit, as_term(have), as_term(need), compares, flaw, fix, when, lifted_at, source)
    _REGISTRY[name] = made
    _BY_SCOPE.setdefault(scope, []).append(made)
    return made


def rules_of(scope: str) -> list[Rule]:
    """Return the rules of a scope in the order of their declaration."""
    return list(_BY_SCOPE.get(scope, ()))


@cache
def figures_of(rules: tuple[Rule, ...]) -> tuple[FigureTerm, ...]:
    """Return the figures that several rules read, each once."""
    return read_by(*(term for made in rules for term in made.terms))


def every_rule() -> list[Rule]:
    """Return all rules by scope, each scope in the order of declaration."""
    package = import_module("matcher.rules")
    for subject in iter_modules(package.__path__):
        import_module(f"{package.__name__}.{subject.name}")
    return sorted(_REGISTRY.values(), key=lambda made: made.scope)


def rule_named(name: str) -> Rule:
    """Return the rule of a name; KeyError if there is none."""
    if name not in _REGISTRY:
        every_rule()
    return _REGISTRY[name]
