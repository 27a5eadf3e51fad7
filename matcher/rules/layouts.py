"""Terms for a part's orientation at its opening: corners in a round hole, quarter turns, matching bolt holes."""

from __future__ import annotations

from matcher.rules.terms import Condition, Equal, FigureTerm, Known, Pair, Term, as_term


class Corner(Term):
    """Width that a round or oval hole of this form needs to admit a rectangle's corners.

    The tolerances of the rectangle's sides and of the hole's height add up: a round hole has one figure, which the rule
    itself compares.
    """

    width: Term
    height: Term
    hole_width: Term
    hole_height: Term

    text = "width of such a hole around the corners of {width} by {height}"


class Laid(Term):
    """A part's size along one side of its opening; the smaller of the two if its turn is unknown."""

    turned: Condition
    straight: Term
    crossed: Term

    text = "({crossed} where {turned}, else {straight})"


class Lie(Term):
    """The longer side of a thing: 1 across, -1 down, 0 if neither; a round thing has none."""

    shape: FigureTerm
    across: FigureTerm
    down: FigureTerm

    text = "longer side of {across} and {down}"

    def figures(self) -> tuple[FigureTerm, ...]:
        return (self.across, self.down)


def crossed(first: Lie, second: Lie) -> Condition:
    """Return whether two things are a quarter turn apart; never if one of them has no longer side."""
    neither = as_term(0)
    return ~Equal(first, neither) & ~Equal(second, neither) & ~Equal(first, second)


class Unmatched(Pair):
    """Bolt holes without a match if two counts of evenly spaced holes share a circle; 0 if one count divides the other.

    At most gcd(m, n) holes of m and n evenly spaced ones can coincide.
    """

    text = "holes of {first} and {second} that meet no other"


class OfPattern(Term):
    """Circle or hole count of the flange pattern that an opening's holes select.

    This is the pattern with the nearest circle among those whose hole count matches the opening's. It is the flange's
    own pattern if none matches or the opening's holes are unknown.
    """

    own: FigureTerm
    """Circle or count of the flange's own pattern: the figure that is reported missing if none is known."""
    circles: tuple[FigureTerm, ...]
    counts: tuple[FigureTerm, ...]
    """Hole count of each pattern, the flange's own first."""
    circle: FigureTerm
    count: FigureTerm
    """Hole count of the opening."""

    text = "{own} of the pattern nearest to {circle}"

    def figures(self) -> tuple[FigureTerm, ...]:
        return (self.own,)

    def is_known(self) -> Condition:
        """Whether it is known."""
        return Known(self)
