"""Terms that are worked out from several figures: an edge by its rank, a slope, a turn, a Q.

Their tolerance is the worst case: what the value does when every figure in it is off as far as it may be.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from matcher.rules.terms import Figure, Term, join_lists
from matcher.settings import Settings


def named(values: dict[str, list[str]], body: Callable[[dict[str, list[str]]], str]) -> str:
    """SQL of something in which every value is written once and then goes by a short name."""
    names = {letter: [f"it.{letter}{place}" for place in range(len(some))] for letter, some in values.items()}
    cells = [f"'{letter}{place}': {value}" for letter, some in values.items() for place, value in enumerate(some)]
    return f"list_transform([{{{', '.join(cells)}}}], lambda it: {body(names)})[1]"


class Worked(Term):
    """A value computed from some terms; unknown where one of them is."""

    terms: tuple[Term, ...]

    def sql(self, values: Sequence[str]) -> str:
        """SQL of the value, the terms' values given."""
        raise NotImplementedError

    def value(self, settings: Settings) -> str:
        return named({"v": [term.value(settings) for term in self.terms]}, lambda names: self.sql(names["v"]))

    def missing(self) -> str:
        return join_lists(*(term.missing() for term in self.terms))

    def figures(self) -> tuple[Figure, ...]:
        return tuple(figure for term in self.terms for figure in term.figures())


class Ranked(Worked):
    """One of some terms by its size: the smallest is the first. It moves by no more than the loosest of them."""

    place: int

    def __str__(self) -> str:
        named = "smallest" if self.place == 1 else "largest" if self.place == len(self.terms) else "middle one"
        return f"the {named} of {', '.join(map(str, self.terms))}"

    def sql(self, values: Sequence[str]) -> str:
        return f"(CASE WHEN {' + '.join(values)} IS NOT NULL THEN list_sort([{', '.join(values)}])[{self.place}] END)"

    def tol(self, settings: Settings) -> str:
        tols = list(dict.fromkeys(term.tol(settings) for term in self.terms))
        return tols[0] if len(tols) == 1 else f"greatest({', '.join(tols)})"


class Steady(Worked):
    """A value that only rises, or only falls, with each of its terms: its ends are where all are off at once."""

    rises: ClassVar[tuple[bool, ...]]

    def tol(self, settings: Settings) -> str:
        values, tols = ([getattr(term, side)(settings) for term in self.terms] for side in ("value", "tol"))
        if set(tols) == {"0"}:
            return "0"
        return named({"v": values, "t": tols}, lambda names: self._swing(names["v"], names["t"]))

    def _swing(self, values: list[str], tols: list[str]) -> str:
        above, below = (
            self.sql([self._moved(*each, up) for each in zip(values, tols, self.rises, strict=True)])
            for up in (True, False)
        )
        middle = self.sql(values)
        # Where a figure is missing there is no value to be off.
        return f"coalesce(greatest({above} - {middle}, {middle} - {below}), 0)"

    def _moved(self, value: str, tol: str, rises: bool, up: bool) -> str:
        return f"greatest({value} {'+' if rises == up else '-'} {tol}, 0)"


class Turned(Steady):
    """Long side of an aperture that a rectangle goes through, turned in its plane if that helps.

    The terms are the rectangle's long and short side and the aperture's short side (Carver 1957). At
    the angle t where the short side of the aperture is filled, p sin t + q cos t = b, the rectangle is
    p cos t + q sin t long; that is less than p itself only past twice the angle of its diagonal.
    """

    rises = (True, True, False)

    def __str__(self) -> str:
        long, short, aperture = self.terms
        return f"long side of an aperture of {aperture} that {long} by {short} goes through, turned in it"

    def sql(self, values: Sequence[str]) -> str:
        p, q, b = (f"({value})::DOUBLE" for value in values)
        across = f"nullif(sqrt(power({p}, 2) + power({q}, 2)), 0)"
        diagonal, angle = f"atan2({q}, {p})", f"asin(least({b} / {across}, 1))"
        turned = f"{across} * cos({angle} - 2 * {diagonal})"
        return f"(CASE WHEN {angle} > 3 * {diagonal} THEN {turned} ELSE {p} + 0 * {b} * {q} END)::DECIMAL(15,6)"


class DepthAt(Worked):
    """Depth of a space with a straight sloped back, at a height.

    The terms are its depth at the floor and at the top, its height, and the height asked about; over
    the top the depth is that at the top.
    """

    def __str__(self) -> str:
        return f"depth at a height of {self.terms[3]}"

    def sql(self, values: Sequence[str]) -> str:
        floor, top, _, _ = values
        return f"({floor} - ({floor} - {top}) * {self._share(values)})::DECIMAL(15,6)"

    def _share(self, values: Sequence[str]) -> str:
        _, _, height, at = values
        known = f"{height} + {at} IS NOT NULL AND {height} > 0"
        return f"(CASE WHEN {known} THEN least(({at})::DOUBLE / ({height})::DOUBLE, 1) END)"

    def tol(self, settings: Settings) -> str:
        values, tols = ([getattr(term, side)(settings) for term in self.terms] for side in ("value", "tol"))
        return named({"v": values, "t": tols}, lambda names: self._off(names["v"], names["t"]))

    def _off(self, values: list[str], tols: list[str]) -> str:
        floor, top, height, at = tols
        share = self._share(values)
        slope = f"abs(({values[0]} - {values[1]})::DOUBLE / nullif(({values[2]})::DOUBLE, 0))"
        off = f"{floor} * (1 - {share}) + {top} * {share} + {slope} * ({at} + {height} * {share})"
        return f"coalesce(({off})::DECIMAL(15,6), 0)"


class ClosedQ(Steady):
    """Q of a driver in a closed box that it shares with others of its kind: Qts x sqrt(1 + Vas/Vb).

    The terms are Qts, Vas, the net volume of the whole box, and how many drivers share it.
    """

    rises = (True, True, False, True)

    def __str__(self) -> str:
        qts, vas, net, drivers = self.terms
        return f"{qts} x sqrt(1 + {drivers} x {vas} / {net})"

    def sql(self, values: Sequence[str]) -> str:
        qts, vas, net, drivers = (f"({value})::DOUBLE" for value in values)
        return f"({qts} * sqrt(1 + {drivers} * {vas} / nullif({net}, 0)))::DECIMAL(15,6)"


class Times(Steady):
    """A measure times a count."""

    rises = (True, True)

    def __str__(self) -> str:
        return " x ".join(str(term) for term in reversed(self.terms))

    def sql(self, values: Sequence[str]) -> str:
        return f"({values[0]} * {values[1]})::DECIMAL(15,6)"
