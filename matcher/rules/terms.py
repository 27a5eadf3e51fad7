"""The language in which rules are declared: figures, the shop's settings, conditions, and sums of them.

A term is data, written once and never changed; `matcher.kernel` evaluates it over arrays. It tells by its
form which figures stand in it, so that a rule keeps no list of them by hand.

    opening.depth_mm + mouth.forward_mm  >=  part.depth_mm + setting("clearance_behind_mm", opening.behind)

Names on the left of a dot are subjects: the things of which a rule speaks.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from decimal import Decimal
from functools import lru_cache
from typing import Any, ClassVar, Self, dataclass_transform

Number = int | Decimal


@dataclass_transform(eq_default=False)
class Term:
    """Something with a value, a tolerance, and figures that may be missing.

    A kind of term is declared like a dataclass, by the annotations of what it is made of. Building real
    dataclasses would cost every command that asks a rule more than asking it does.
    """

    names: ClassVar[tuple[str, ...]] = ()
    """Terms that it is made of."""

    def __init_subclass__(cls) -> None:
        own = (name for name, kind in vars(cls).get("__annotations__", {}).items() if "ClassVar" not in kind)
        cls.names = (*cls.names, *own)

    def __init__(self, *given: Any, **named: Any) -> None:
        vars(self).update(zip(self.names, given, strict=False), **named)

    def made_of(self) -> Iterator[Term]:
        """The terms it is made of, in order."""
        for name in self.names:
            held = getattr(self, name)
            yield from (part for part in (held if isinstance(held, tuple) else (held,)) if isinstance(part, Term))

    def figures(self) -> tuple[FigureTerm, ...]:
        """Every figure that its value may wait for."""
        return tuple(figure for part in self.made_of() for figure in part.figures())

    def __add__(self, other: Term | Number) -> Term:
        return Sum(self, as_term(other))

    def __sub__(self, other: Term | Number) -> Term:
        return Sum(self, Scaled(as_term(other), Decimal(-1)))

    def __mul__(self, factor: Number) -> Term:
        return Scaled(self, Decimal(factor))

    __rmul__ = __mul__


def parts_of(term: Term) -> Iterator[Term]:
    """A term and everything it is made of."""
    yield term
    for part in term.made_of():
        yield from parts_of(part)


@lru_cache(maxsize=4096)
def read_by(*terms: Term) -> tuple[FigureTerm, ...]:
    """Every figure that some terms read, those of conditions that wait for nothing included, each once."""
    found = (part for term in terms for part in parts_of(term) if isinstance(part, FigureTerm))
    return tuple(dict.fromkeys(found))


class FigureTerm(Term):
    """A figure or a word of a subject."""

    subject: str
    field: str

    def __init__(self, subject: str, field: str) -> None:
        super().__init__(subject, field)
        self._text = f"{subject}.{field}"

    def __str__(self) -> str:
        return self._text

    @property
    def is_length(self) -> bool:
        """Whether it is measured in millimeters, so that its basis sets a tolerance."""
        return self.field.endswith("_mm")

    def figures(self) -> tuple[FigureTerm, ...]:
        return (self,)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FigureTerm) and self._text == other._text

    def __hash__(self) -> int:
        return hash(self._text)

    def is_(self, word: str) -> Condition:
        """Whether a word field holds this word."""
        return Equal(self, Word(word))

    def is_one_of(self, *words: str) -> Condition:
        """Whether a text field is one of some words, whatever its case and the spaces around it."""
        return OneOf(self, words)

    def is_number(self, number: int) -> Condition:
        """Whether a count is this number."""
        return Equal(self, as_term(number))

    def is_above(self, number: int) -> Condition:
        """Whether it is greater than this number."""
        return Above(self, as_term(number))

    def is_known(self) -> Condition:
        """Whether the figure is known at all: always a plain yes or no."""
        return Known(self)

    def is_true(self) -> Condition:
        """Whether a yes-or-no field says yes."""
        return Holds(self)


class Exact(FigureTerm):
    """A count, a nominal value or a choice: nothing measured, so it has no tolerance."""

    @property
    def is_length(self) -> bool:
        return False


class Subject:
    """A thing that rules speak of: ``part.depth_mm`` is its figure."""

    def __init__(self, name: str, counts: frozenset[str] = frozenset()) -> None:
        self._name, self._counts = name, counts

    def __getattr__(self, field: str) -> FigureTerm:
        if field.startswith("__"):
            raise AttributeError(field)
        kind = Exact if field in self._counts else FigureTerm
        return kind(self._name, field)


class Constant(Term):
    """A number that a rule needs for its form: yes is 1, no is 0."""

    number: Decimal

    def __str__(self) -> str:
        return str(self.number)


class Word(Term):
    """A word that a field is compared with."""

    word: str

    def __str__(self) -> str:
        return f"'{self.word}'"


class SettingTerm(Term):
    """One of the shop's defaults, by name, and by a word where it goes by one.

    Where the word is not known, the value is the least of all and only a bound. With ``otherwise`` a word that
    is no default's may be a number of its own, and any other, or none, stands for the default of that name.
    """

    name: str
    by: FigureTerm | None = None
    otherwise: str | None = None

    def __str__(self) -> str:
        return f"setting.{self.name}" if self.by is None else f"setting.{self.name}[{self.by}]"


class Pair(Term):
    """Term of two terms: their tolerances add, and figures of either may be missing."""

    first: Term
    second: Term


class Sum(Pair):
    """Two terms, added; their tolerances add as well."""

    def __str__(self) -> str:
        if isinstance(self.second, Scaled) and self.second.factor == -1:
            return f"{self.first} - {self.second.term}"
        return f"{self.first} + {self.second}"


class Apart(Pair):
    """Difference of two terms."""

    def __str__(self) -> str:
        return f"difference of {self.first} and {self.second}"


class Greater(Pair):
    """The greater of two terms, with the tolerance of the one that decides."""

    def __str__(self) -> str:
        return f"the greater of {self.first} and {self.second}"

    def among(self) -> tuple[Term, ...]:
        """The terms it is the greatest of."""
        inner = (self.first, self.second)
        return tuple(each for term in inner for each in (term.among() if isinstance(term, Greater) else (term,)))


class Scaled(Term):
    """A term times a plain number."""

    term: Term
    factor: Decimal

    def __str__(self) -> str:
        return f"-({self.term})" if self.factor == -1 else f"{self.factor} x {self.term}"


class Product(Term):
    """A term times a setting: a share of a figure."""

    term: Term
    share: SettingTerm

    def __str__(self) -> str:
        return f"{self.share} x {self.term}"


class Either(Term):
    """One term where a condition holds, another where it doesn't."""

    condition: Condition
    then: Term
    otherwise: Term

    def __str__(self) -> str:
        return f"({self.then} where {self.condition}, else {self.otherwise})"


def as_term(value: Term | Number) -> Term:
    """A plain number as a term; a term as it is."""
    return value if isinstance(value, Term) else Constant(Decimal(value))


class Condition(Term):
    """A yes, a no, or not known."""

    called = ""
    """The condition in words, where its form is not plain enough."""

    def named(self, words: str) -> Self:
        """The same condition, told in these words."""
        other = copy(self)
        other.called = words
        return other

    def __str__(self) -> str:
        return self.called or self.form()

    def form(self) -> str:
        """Default wording, if none is given."""
        raise NotImplementedError

    def __and__(self, other: Condition) -> Condition:
        return And(self, other)

    def __or__(self, other: Condition) -> Condition:
        return Or(self, other)

    def __invert__(self) -> Condition:
        return Not(self)


class Equal(Condition):
    """Whether two terms are the same; not known where one of them is not."""

    first: Term
    second: Term

    def form(self) -> str:
        return f"{self.first} = {self.second}"


class Above(Condition):
    """Whether one term is greater than another."""

    first: Term
    second: Term

    def form(self) -> str:
        return f"{self.first} > {self.second}"


class Opposed(Condition):
    """Whether two terms have opposite signs; not known where one of them is not."""

    first: Term
    second: Term

    def form(self) -> str:
        return f"{self.first} and {self.second} have opposite signs"


class OneOf(Condition):
    """Whether a text is one of some words, whatever its case and the spaces around it."""

    figure: FigureTerm
    words: tuple[str, ...]

    def form(self) -> str:
        return f"{self.figure} is one of {', '.join(self.words)}"


class Holds(Condition):
    """Whether a yes-or-no field says yes."""

    figure: FigureTerm

    def form(self) -> str:
        return str(self.figure)


class And(Condition):
    """Whether two conditions hold; a plain no of one is enough for a no."""

    first: Condition
    second: Condition

    def form(self) -> str:
        return f"{self.first} and {self.second}"


class Or(Condition):
    """Whether one of two conditions holds; a plain yes of one is enough for a yes."""

    first: Condition
    second: Condition

    def form(self) -> str:
        return f"{self.first} or {self.second}"


class Not(Condition):
    """Whether a condition does not hold."""

    condition: Condition

    def form(self) -> str:
        return f"not ({self.condition})"


class Certain(Condition):
    """A condition that waits for no figure: always a plain yes or no."""

    def figures(self) -> tuple[FigureTerm, ...]:
        return ()


class Known(Certain):
    """Whether a figure, or a choice among figures, is known at all."""

    figure: Term

    def form(self) -> str:
        return f"{self.figure} is known"


class Same(Certain):
    """Whether two figures are the same, or neither is known."""

    first: FigureTerm
    second: FigureTerm

    def form(self) -> str:
        return f"{self.first} is the same as {self.second}"


class Surely(Certain):
    """Whether a condition surely holds: no where that is not known."""

    condition: Condition

    def form(self) -> str:
        return str(self.condition)
