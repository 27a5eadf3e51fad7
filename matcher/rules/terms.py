"""The language of rule declarations: figures, shop settings, conditions, and arithmetic on them.

A term is immutable data; `matcher.kernel` evaluates it over arrays. The figures that a rule reads follow from its
terms, so no rule lists them by hand.

    opening.depth_mm + mouth.forward_mm  >=  part.depth_mm + setting("clearance_behind_mm", opening.behind)

The name on the left of a dot is a subject: a thing that rules compare.
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
    """A value with a tolerance, which may have missing figures.

    Subclasses declare their fields by annotations, like dataclasses. Building real dataclasses would cost every command
    more time than evaluating its rules.
    """

    names: ClassVar[tuple[str, ...]] = ()
    """Terms that it is made of."""
    text: ClassVar[str] = ""
    """Wording, with its terms by name."""

    def __init_subclass__(cls) -> None:
        own = (name for name, kind in vars(cls).get("__annotations__", {}).items() if "ClassVar" not in kind)
        cls.names = (*cls.names, *own)

    def __init__(self, *given: Any, **named: Any) -> None:
        vars(self).update(zip(self.names, given, strict=False), **named)

    def __str__(self) -> str:
        return self.text.format(**vars(self))

    def made_of(self) -> Iterator[Term]:
        """Return the terms it is made of, in order."""
        for name in self.names:
            held = getattr(self, name)
            yield from (part for part in (held if isinstance(held, tuple) else (held,)) if isinstance(part, Term))

    def figures(self) -> tuple[FigureTerm, ...]:
        """Return every figure that its value may depend on."""
        return tuple(figure for part in self.made_of() for figure in part.figures())

    def __add__(self, other: Term | Number) -> Term:
        return Sum(self, as_term(other))

    def __sub__(self, other: Term | Number) -> Term:
        return Sum(self, Scaled(as_term(other), Decimal(-1)))

    def __mul__(self, factor: Number) -> Term:
        return Scaled(self, Decimal(factor))

    __rmul__ = __mul__


def parts_of(term: Term) -> Iterator[Term]:
    """Return a term and all of its subterms."""
    yield term
    for part in term.made_of():
        yield from parts_of(part)


@lru_cache(maxsize=4096)
def read_by(*terms: Term) -> tuple[FigureTerm, ...]:
    """Return every figure that some terms read, each once, including those of conditions that are always known."""
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
        """Return whether a word field equals this word."""
        return Equal(self, Word(word))

    def is_one_of(self, *words: str) -> Condition:
        """Return whether a text field is one of some words, ignoring case and surrounding spaces."""
        return OneOf(self, words)

    def is_number(self, number: int) -> Condition:
        """Return whether a count equals this number."""
        return Equal(self, as_term(number))

    def is_above(self, number: int) -> Condition:
        """Return whether it is greater than this number."""
        return Above(self, as_term(number))

    def is_known(self) -> Condition:
        """Return whether the figure is known: always yes or no."""
        return Known(self)

    def is_true(self) -> Condition:
        """Return whether a yes-or-no field is yes."""
        return Holds(self)


class Exact(FigureTerm):
    """A count, a nominal value or a choice: not measured, so without a tolerance."""

    @property
    def is_length(self) -> bool:
        return False


class Subject:
    """A thing that rules compare: ``part.depth_mm`` is one of its figures."""

    def __init__(self, name: str, counts: frozenset[str] = frozenset()) -> None:
        self._name, self._counts = name, counts

    def __getattr__(self, field: str) -> FigureTerm:
        if field.startswith("__"):
            raise AttributeError(field)
        kind = Exact if field in self._counts else FigureTerm
        return kind(self._name, field)


class Constant(Term):
    """A number in a rule; yes is 1, no is 0."""

    number: Decimal

    text = "{number}"


class Word(Term):
    """A word that a field is compared with."""

    word: str

    text = "'{word}'"


class SettingTerm(Term):
    """A shop setting by name, and by a word if it has one value per word.

    If the word is unknown, the value is the smallest of all and only a bound. With ``otherwise``, a word without a
    setting may itself be a number; any other word, or none, selects the setting of that name.
    """

    name: str
    by: FigureTerm | None = None
    otherwise: str | None = None

    def __str__(self) -> str:
        return f"setting.{self.name}" if self.by is None else f"setting.{self.name}[{self.by}]"


class Pair(Term):
    """A term of two terms: their tolerances add up, and figures of either may be missing."""

    first: Term
    second: Term


class Sum(Pair):
    """Sum of two terms; their tolerances add up."""

    def __str__(self) -> str:
        if isinstance(self.second, Scaled) and self.second.factor == -1:
            return f"{self.first} - {self.second.term}"
        return f"{self.first} + {self.second}"


class Apart(Pair):
    """Absolute difference of two terms."""

    text = "difference of {first} and {second}"


class Greater(Pair):
    """The greater of two terms, with the tolerance of the one that decides."""

    text = "the greater of {first} and {second}"

    def among(self) -> tuple[Term, ...]:
        """Return the terms of which it is the maximum."""
        inner = (self.first, self.second)
        return tuple(each for term in inner for each in (term.among() if isinstance(term, Greater) else (term,)))


class Scaled(Term):
    """A term times a plain number."""

    term: Term
    factor: Decimal

    def __str__(self) -> str:
        return f"-({self.term})" if self.factor == -1 else f"{self.factor} x {self.term}"


class Product(Term):
    """A term times a setting, such as a share of a figure."""

    term: Term
    share: SettingTerm

    text = "{share} x {term}"


class Either(Term):
    """One term if a condition holds, else another."""

    condition: Condition
    then: Term
    otherwise: Term

    text = "({then} where {condition}, else {otherwise})"


def as_term(value: Term | Number) -> Term:
    """Return a plain number as a term, and a term unchanged."""
    return value if isinstance(value, Term) else Constant(Decimal(value))


class Condition(Term):
    """Yes, no or unknown."""

    called = ""
    """The condition in words, if its form alone is unclear."""

    def named(self, words: str) -> Self:
        """Return the same condition with this wording."""
        other = copy(self)
        other.called = words
        return other

    def __str__(self) -> str:
        return self.called or super().__str__()

    def __and__(self, other: Condition) -> Condition:
        return And(self, other)

    def __or__(self, other: Condition) -> Condition:
        return Or(self, other)

    def __invert__(self) -> Condition:
        return Not(self)


class Equal(Condition):
    """Whether two terms are equal; unknown if one of them is."""

    first: Term
    second: Term

    text = "{first} = {second}"


class Above(Condition):
    """Whether one term is greater than another."""

    first: Term
    second: Term

    text = "{first} > {second}"


class Opposed(Condition):
    """Whether two terms have opposite signs; unknown if one of them is."""

    first: Term
    second: Term

    text = "{first} and {second} have opposite signs"


class OneOf(Condition):
    """Whether a text is one of some words, ignoring case and surrounding spaces."""

    figure: FigureTerm
    words: tuple[str, ...]

    def __str__(self) -> str:
        return self.called or f"{self.figure} is one of {', '.join(self.words)}"


class Holds(Condition):
    """Whether a yes-or-no field is yes."""

    figure: FigureTerm

    text = "{figure}"


class And(Condition):
    """Whether two conditions hold; a known no of one suffices for a no."""

    first: Condition
    second: Condition

    text = "{first} and {second}"


class Or(Condition):
    """Whether one of two conditions holds; a known yes of one suffices for a yes."""

    first: Condition
    second: Condition

    text = "{first} or {second}"


class Not(Condition):
    """Whether a condition does not hold."""

    condition: Condition

    text = "not ({condition})"


class Certain(Condition):
    """A condition that depends on no unknown figure: always yes or no."""

    def figures(self) -> tuple[FigureTerm, ...]:
        return ()


class Known(Certain):
    """Whether a figure, or a choice among figures, is known."""

    figure: Term

    text = "{figure} is known"


class Same(Certain):
    """Whether two figures are equal, or both are unknown."""

    first: FigureTerm
    second: FigureTerm

    text = "{first} is the same as {second}"


class Surely(Certain):
    """Whether a condition certainly holds: unknown counts as no."""

    condition: Condition

    text = "{condition}"
