"""Terms of how a part lies at its opening: corners in a round hole, quarter turns, and bolt holes that meet."""

from __future__ import annotations

from matcher.rules.terms import Condition, Equal, FigureTerm, Known, Pair, Term, as_term


class Corner(Term):
    """Width that a round or oval hole of this form would need to hold a rectangle's corners.

    The tolerances of the rectangle's sides add, and that of the hole's height: a round hole has one
    figure, which the rule itself compares with.
    """

    width: Term
    height: Term
    hole_width: Term
    hole_height: Term

    def __str__(self) -> str:
        return f"width of such a hole around the corners of {self.width} by {self.height}"


class Laid(Term):
    """A part's measure along one side of its opening; where its turn is not known, the lesser of the two."""

    turned: Condition
    straight: Term
    crossed: Term

    def __str__(self) -> str:
        return f"({self.crossed} where {self.turned}, else {self.straight})"


class Lie(Term):
    """Which side of a thing is the longer: 1 across, -1 down, 0 neither; a round thing has none."""

    shape: FigureTerm
    across: FigureTerm
    down: FigureTerm

    def __str__(self) -> str:
        return f"longer side of {self.across} and {self.down}"

    def figures(self) -> tuple[FigureTerm, ...]:
        return (self.across, self.down)


def crossed(first: Lie, second: Lie) -> Condition:
    """Whether two things lie across each other; what has no longer side never does."""
    neither = as_term(0)
    return ~Equal(first, neither) & ~Equal(second, neither) & ~Equal(first, second)


class Unmatched(Pair):
    """Holes that meet no other where two numbers of evenly spaced holes lie on one circle: 0 if one divides the other.

    Of m and n evenly spaced holes at most as many fall together as their greatest common divisor says.
    """

    def __str__(self) -> str:
        return f"holes of {self.first} and {self.second} that meet no other"


class OfPattern(Term):
    """The circle or the number of holes of that pattern of a flange which an opening's holes call for.

    Of the patterns whose number of holes goes with the opening's, the one whose circle is nearest; if the number of
    none does, or the opening's holes are not known, the flange's own.
    """

    own: FigureTerm
    """Circle or number of the flange's own pattern: the one that is missing where nothing is known."""
    circles: tuple[FigureTerm, ...]
    counts: tuple[FigureTerm, ...]
    """Of each pattern, the flange's own first."""
    circle: FigureTerm
    count: FigureTerm
    """The opening's."""

    def __str__(self) -> str:
        return f"{self.own} of the pattern nearest to {self.circle}"

    def figures(self) -> tuple[FigureTerm, ...]:
        return (self.own,)

    def is_known(self) -> Condition:
        """Whether it is known at all."""
        return Known(self)
