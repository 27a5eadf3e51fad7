"""The language in which rules are declared: figures, the shop's settings, and sums of them.

Terms are written once and never changed. A term knows four things of itself, each as SQL: its value,
the tolerance of the figures in it (worst case), which of its figures are missing, and whether its value
is only a bound, the best that a choice not yet known could make of it. So a rule keeps no list by hand.

    opening.depth_mm + mouth.forward_mm  >=  part.depth_mm + setting("clearance_behind_mm", opening.behind)

Names on the left of a dot are subjects: relations of the statement in which the rule is asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any, ClassVar, dataclass_transform

from matcher.rules.conditions import NOTHING as NOTHING
from matcher.rules.conditions import Condition as Condition
from matcher.rules.conditions import add_tols as add_tols
from matcher.rules.conditions import either_holds as either_holds
from matcher.rules.conditions import join_lists as join_lists
from matcher.settings import Settings

Number = int | Decimal

FILLED = frozenset({"mouth", "hole", "pair"})
"""Subjects whose lengths all carry a tolerance already."""
BASED = frozenset({"part", "adapter", "board", "box"})
"""Subjects whose rows carry ``basis_tol``, the tolerance that their basis sets."""


def literal(number: Decimal) -> str:
    """SQL of an exact number, never an integer: sums of it stay decimal."""
    text = f"{number:f}"
    return text if "." in text else f"{text}.0"


def basis_tol_sql(basis: str, otherwise: str, settings: Settings) -> str:
    """SQL of the tolerance that a basis sets; a row that names none has the one meant for its kind."""
    cases = " ".join(f"WHEN '{word}' THEN {tol}" for word, tol in settings.by_word("tolerance_mm"))
    return f"CASE {basis} {cases} ELSE {settings[f'tolerance_mm.{otherwise}']} END"


@dataclass_transform(eq_default=False)
class Term:
    """Something with a value, a tolerance, and figures that may be missing.

    A kind of term is declared like a dataclass, by the annotations of what it is made of. Building real
    dataclasses would cost every command that asks a rule more than asking it does.
    """

    names: ClassVar[tuple[str, ...]] = ()
    """What it is made of."""

    def __init_subclass__(cls) -> None:
        own = (name for name, kind in vars(cls).get("__annotations__", {}).items() if "ClassVar" not in kind)
        cls.names = (*cls.names, *own)

    def __init__(self, *given: Any, **named: Any) -> None:
        vars(self).update(zip(self.names, given, strict=False), **named)

    def value(self, settings: Settings) -> str:
        """SQL of the value; NULL where a figure in it is missing."""
        raise NotImplementedError

    def tol(self, settings: Settings) -> str:
        """SQL of the summed tolerances."""
        return "0"

    def missing(self) -> str:
        """SQL of the list of missing figures, as ``subject.field``."""
        return NOTHING

    def bound(self) -> str:
        """SQL of whether the value is only a bound: then it may rule a part out, never in. Empty: never."""
        return ""

    def figures(self) -> tuple[Figure, ...]:
        """Every figure that may stand in it."""
        return ()

    def __add__(self, other: Term | Number) -> Term:
        return Sum(self, as_term(other))

    def __sub__(self, other: Term | Number) -> Term:
        return Sum(self, Scaled(as_term(other), Decimal(-1)))

    def __mul__(self, factor: Number) -> Term:
        return Scaled(self, Decimal(factor))

    __rmul__ = __mul__


class Figure(Term):
    """A figure or a word of a subject."""

    subject: str
    field: str

    def __str__(self) -> str:
        return f"{self.subject}.{self.field}"

    @property
    def is_length(self) -> bool:
        """Whether it is measured in millimeters, so that its basis sets a tolerance."""
        return self.field.endswith("_mm")

    def column(self) -> str:
        return f'{self.subject}."{self.field}"'

    def value(self, settings: Settings) -> str:
        return self.column()

    def tol(self, settings: Settings) -> str:
        stated = f'{self.subject}."{self.field}_tol"'
        if not self.field.endswith("_mm"):
            return f"coalesce({stated}, 0)"
        if self.subject in FILLED:
            return stated
        if self.subject in BASED:
            return f"coalesce({stated}, {self.subject}.basis_tol)"
        return f"coalesce({stated}, {basis_tol_sql(f'{self.subject}.basis', 'measured', settings)})"

    def missing(self) -> str:
        return f"CASE WHEN {self.column()} IS NULL THEN ['{self.subject}.{self.field}'] ELSE {NOTHING} END"

    def figures(self) -> tuple[Figure, ...]:
        return (self,)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Figure) and str(self) == str(other)

    def __hash__(self) -> int:
        return hash(str(self))

    def is_(self, word: str) -> Condition:
        """Whether a word field holds this word."""
        return Condition(f"({self.column()} = '{word}')", (self,))

    def is_number(self, number: int) -> Condition:
        """Whether a count is this number."""
        return Condition(f"({self.column()} = {number})", (self,))

    def is_known(self) -> Condition:
        """Whether the figure is known at all: always a plain yes or no."""
        return Condition(f"({self.column()} IS NOT NULL)", ())

    def is_true(self) -> Condition:
        """Whether a yes-or-no field says yes."""
        return Condition(self.column(), (self,))


class Exact(Figure):
    """A count, a nominal value or a choice: nothing measured, so it has no tolerance."""

    @property
    def is_length(self) -> bool:
        return False

    def tol(self, settings: Settings) -> str:
        return "0"


class Subject:
    """A relation that rules speak of: ``part.depth_mm`` is its figure."""

    def __init__(self, name: str, counts: frozenset[str] = frozenset()) -> None:
        self._name, self._counts = name, counts

    def __getattr__(self, field: str) -> Figure:
        if field.startswith("__"):
            raise AttributeError(field)
        kind = Exact if field in self._counts else Figure
        return kind(self._name, field)


class Constant(Term):
    """A number that a rule needs for its form: yes is 1, no is 0."""

    number: Decimal

    def __str__(self) -> str:
        return str(self.number)

    def value(self, settings: Settings) -> str:
        return literal(self.number)


class SettingTerm(Term):
    """One of the shop's defaults, by name, and by a word where it goes by one."""

    name: str
    by: Figure | None = None
    otherwise: str | None = None

    def __str__(self) -> str:
        return f"setting.{self.name}" if self.by is None else f"setting.{self.name}[{self.by}]"

    def value(self, settings: Settings) -> str:
        if self.by is None:
            return literal(settings[self.name])
        cases = " ".join(f"WHEN '{word}' THEN {literal(value)}" for word, value in settings.by_word(self.name))
        if self.otherwise is not None:
            written = f"try_cast({self.by.column()} AS DECIMAL(15,6))"
            cases += f" ELSE coalesce({written}, {literal(settings[f'{self.name}.{self.otherwise}'])})"
        else:
            cases += f" ELSE {literal(min(value for _, value in settings.by_word(self.name)))}"
        return f"(CASE {self.by.column()} {cases} END)"

    def bound(self) -> str:
        return "" if self.by is None or self.otherwise is not None else f"{self.by.column()} IS NULL"

    def missing(self) -> str:
        return NOTHING if self.by is None or self.otherwise is not None else self.by.missing()

    def figures(self) -> tuple[Figure, ...]:
        return () if self.by is None else (self.by,)


class Pair(Term):
    """What is made of two terms: their tolerances add, and either's figures may be missing."""

    first: Term
    second: Term

    def tol(self, settings: Settings) -> str:
        return add_tols(self.first.tol(settings), self.second.tol(settings))

    def missing(self) -> str:
        return join_lists(self.first.missing(), self.second.missing())

    def figures(self) -> tuple[Figure, ...]:
        return self.first.figures() + self.second.figures()


class Wrapped(Term):
    """What is made of one term: its figures are the term's."""

    term: Term

    def missing(self) -> str:
        return self.term.missing()

    def figures(self) -> tuple[Figure, ...]:
        return self.term.figures()


class Sum(Pair):
    """Two terms, added; their tolerances add as well."""

    def __str__(self) -> str:
        if isinstance(self.second, Scaled) and self.second.factor == -1:
            return f"{self.first} - {self.second.term}"
        return f"{self.first} + {self.second}"

    def value(self, settings: Settings) -> str:
        return f"({self.first.value(settings)} + {self.second.value(settings)})"

    def bound(self) -> str:
        return either_holds(self.first.bound(), self.second.bound())


class Scaled(Wrapped):
    """A term times a plain number."""

    factor: Decimal

    def __str__(self) -> str:
        return f"-({self.term})" if self.factor == -1 else f"{self.factor} x {self.term}"

    def value(self, settings: Settings) -> str:
        inner = self.term.value(settings)
        return f"(-{inner})" if self.factor == -1 else f"({inner} * {self.factor})::DECIMAL(15,6)"

    def tol(self, settings: Settings) -> str:
        inner = self.term.tol(settings)
        return inner if inner == "0" or abs(self.factor) == 1 else f"({inner} * {abs(self.factor)})"


class Product(Wrapped):
    """A term times a setting: a share of a figure."""

    share: SettingTerm

    def __str__(self) -> str:
        return f"{self.share} x {self.term}"

    def value(self, settings: Settings) -> str:
        return f"({self.term.value(settings)} * {settings[self.share.name]})::DECIMAL(15,6)"

    def tol(self, settings: Settings) -> str:
        inner = self.term.tol(settings)
        return inner if inner == "0" else f"({inner} * {settings[self.share.name]})"


class Apart(Pair):
    """How far two terms disagree."""

    def __str__(self) -> str:
        return f"difference of {self.first} and {self.second}"

    def value(self, settings: Settings) -> str:
        return f"abs({self.first.value(settings)} - {self.second.value(settings)})"


class Greater(Pair):
    """The greater of two terms, with the tolerance of the one that decides."""

    def __str__(self) -> str:
        return f"the greater of {self.first} and {self.second}"

    def among(self) -> tuple[Term, ...]:
        """The terms it is the greatest of."""
        inner = (self.first, self.second)
        return tuple(each for term in inner for each in (term.among() if isinstance(term, Greater) else (term,)))

    def value(self, settings: Settings) -> str:
        values = [term.value(settings) for term in self.among()]
        # The sum is null where any of them is: GREATEST itself passes over nulls.
        return f"(CASE WHEN {' + '.join(values)} IS NOT NULL THEN greatest({', '.join(values)}) END)"

    def tol(self, settings: Settings) -> str:
        terms = self.among()
        tols = [term.tol(settings) for term in terms]
        if len(set(tols)) == 1:
            return tols[0]
        cases = [f"WHEN {term.value(settings)} THEN {tol}" for term, tol in zip(terms[:-1], tols[:-1], strict=True)]
        values = ", ".join(term.value(settings) for term in terms)
        return f"(CASE greatest({values}) {' '.join(cases)} ELSE {tols[-1]} END)"


class Either(Term):
    """One term where a condition holds, another where it doesn't."""

    condition: Condition
    then: Term
    otherwise: Term

    def __str__(self) -> str:
        return f"({self.then} where {self.condition}, else {self.otherwise})"

    def value(self, settings: Settings) -> str:
        test, then, otherwise = self.condition.sql, self.then.value(settings), self.otherwise.value(settings)
        if self.condition.is_certain:
            return f"(CASE WHEN {test} THEN {then} ELSE {otherwise} END)"
        return f"(CASE WHEN {test} THEN {then} WHEN NOT {test} THEN {otherwise} END)"

    def tol(self, settings: Settings) -> str:
        then, otherwise = self.then.tol(settings), self.otherwise.tol(settings)
        if then == otherwise:
            return then
        return f"(CASE WHEN {self.condition.sql} THEN {then} ELSE {otherwise} END)"

    def missing(self) -> str:
        inner = f"CASE WHEN {self.condition.sql} THEN {self.then.missing()} ELSE {self.otherwise.missing()} END"
        return join_lists(self.condition.missing(), inner)

    def figures(self) -> tuple[Figure, ...]:
        return self.condition.figures() + self.then.figures() + self.otherwise.figures()


def parts_of(term: Term) -> Iterator[Term]:
    """A term and everything it is made of."""
    yield term
    for name in term.names:
        held = getattr(term, name)
        for part in held if isinstance(held, tuple) else (held,):
            if isinstance(part, Term):
                yield from parts_of(part)


def as_term(value: Term | Number) -> Term:
    """A plain number as a term; a term as it is."""
    return value if isinstance(value, Term) else Constant(Decimal(value))
