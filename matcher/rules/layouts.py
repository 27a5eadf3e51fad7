"""Terms of how a part lies at its opening: corners in a round hole, and quarter turns."""

from __future__ import annotations

from matcher.rules.terms import Condition, Equal, Figure, Term, as_term


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

    shape: Figure
    across: Figure
    down: Figure

    def __str__(self) -> str:
        return f"longer side of {self.across} and {self.down}"

    def figures(self) -> tuple[Figure, ...]:
        return (self.across, self.down)


def crossed(first: Lie, second: Lie) -> Condition:
    """Whether two things lie across each other; what has no longer side never does."""
    neither = as_term(0)
    return ~Equal(first, neither) & ~Equal(second, neither) & ~Equal(first, second)
