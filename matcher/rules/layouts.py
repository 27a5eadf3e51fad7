"""Terms of how a part lies at its opening: corners in a round hole, quarter turns, and what several rules share."""

from __future__ import annotations

from matcher.rules.terms import NOTHING, Condition, Figure, Term, add_tols, join_lists
from matcher.settings import Settings


class Corner(Term):
    """Width that a round or oval hole of this form would need to hold a rectangle's corners."""

    width: Term
    height: Term
    hole_width: Term
    hole_height: Term

    def __str__(self) -> str:
        return f"width of such a hole around the corners of {self.width} by {self.height}"

    def value(self, settings: Settings) -> str:
        w, h = self.width.value(settings), self.height.value(settings)
        hole_w, hole_h = self.hole_width.value(settings), self.hole_height.value(settings)
        share = f"sqrt(power({w}::DOUBLE / {hole_w}, 2) + power({h}::DOUBLE / {hole_h}, 2))"
        return f"({hole_w} * {share})::DECIMAL(15,6)"

    def tol(self, settings: Settings) -> str:
        sides = add_tols(self.width.tol(settings), self.height.tol(settings))
        # A round hole has one figure, which the rule itself compares with.
        return sides if self.hole_height == self.hole_width else add_tols(sides, self.hole_height.tol(settings))

    def missing(self) -> str:
        terms = (self.width, self.height, self.hole_width, self.hole_height)
        return join_lists(*(term.missing() for term in terms))

    def figures(self) -> tuple[Figure, ...]:
        terms = (self.width, self.height, self.hole_width, self.hole_height)
        return tuple(figure for term in terms for figure in term.figures())


class Laid(Term):
    """A part's measure along one side of its opening; where its turn is not known, the lesser of the two."""

    turned: Condition
    straight: Term
    crossed: Term

    def __str__(self) -> str:
        return f"({self.crossed} where {self.turned}, else {self.straight})"

    def value(self, settings: Settings) -> str:
        straight, crossed = self.straight.value(settings), self.crossed.value(settings)
        return (
            f"(CASE WHEN {self.turned.sql} THEN {crossed} WHEN NOT {self.turned.sql} THEN {straight} "
            f"WHEN {straight} <= {crossed} THEN {straight} WHEN {crossed} < {straight} THEN {crossed} END)"
        )

    def bound(self) -> str:
        return f"{self.turned.sql} IS NULL"

    def tol(self, settings: Settings) -> str:
        straight, crossed = self.straight.tol(settings), self.crossed.tol(settings)
        return (
            f"(CASE WHEN {self.turned.sql} THEN {crossed} WHEN NOT {self.turned.sql} THEN {straight} "
            f"ELSE greatest({straight}, {crossed}) END)"
        )

    def missing(self) -> str:
        figure = (
            f"CASE WHEN {self.turned.sql} THEN {self.crossed.missing()} "
            f"WHEN NOT {self.turned.sql} THEN {self.straight.missing()} ELSE {NOTHING} END"
        )
        return join_lists(self.turned.missing(), figure)

    def figures(self) -> tuple[Figure, ...]:
        return self.turned.figures() + self.straight.figures() + self.crossed.figures()


class Shared(Term):
    """A term that several rules speak of: a statement reads it once, under a name, before them."""

    name: str
    term: Term

    def __str__(self) -> str:
        return str(self.term)

    def columns(self, settings: Settings) -> str:
        """SQL columns that must stand before the rules in a statement."""
        return f"{self.term.value(settings)} AS {self.name}, {self.term.tol(settings)} AS {self.name}_tol"

    def value(self, settings: Settings) -> str:
        return self.name

    def bound(self) -> str:
        return self.term.bound()

    def tol(self, settings: Settings) -> str:
        return f"{self.name}_tol"

    def missing(self) -> str:
        return self.term.missing()

    def figures(self) -> tuple[Figure, ...]:
        return self.term.figures()
