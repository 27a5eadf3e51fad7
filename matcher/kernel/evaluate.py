"""Evaluation of terms over columns: value, mask of known rows, tolerance, and whether it is only a bound."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from functools import reduce
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.columns import Column, Columns, word_code, word_of
from matcher.kernel.distinct import numbered
from matcher.kernel.exact import Mask, both, either, floating, opposite, rounded, scaled, to_micro
from matcher.kernel.worked import VALUES as WORKED
from matcher.kernel.worked import Worth, worked_tol, worked_values
from matcher.rules import layouts, terms
from matcher.rules.layouts import Corner, Laid
from matcher.rules.terms import Condition, SettingTerm, Term
from matcher.settings import Settings

LEAST = np.iinfo(np.int64).min


class Truth(NamedTuple):
    """Masks of the rows in which a condition certainly holds and certainly fails; it is unknown in all others."""

    yes: Mask
    no: Mask

    @property
    def known(self) -> Mask:
        """Return the mask of rows in which the condition is known."""
        return either(self.yes, self.no)


class Evaluation:
    """Terms evaluated over the same columns, each once."""

    def __init__(self, columns: Columns, settings: Settings) -> None:
        self.columns, self.settings = columns, settings
        self._values: dict[Term, Worth] = {}
        self._tols: dict[Term, Any] = {}
        self._truths: dict[Condition, Truth] = {}
        self._nearest: dict[object, Any] = {}

    def value(self, term: Term) -> Worth:
        """Return the values of a term and the mask of known rows."""
        found = self._values.get(term)
        if found is None:
            found = self._values[term] = VALUES[type(term)](self, term)
        return found

    def tol(self, term: Term) -> Any:
        """Return the summed tolerances of the figures in a term."""
        found = self._tols.get(term)
        if found is None:
            made = TOLS.get(type(term))
            found = self._tols[term] = 0 if made is None else made(self, term)
        return found

    def holds(self, condition: Condition) -> Truth:
        """Return the truth of a condition by row."""
        found = self._truths.get(condition)
        if found is None:
            found = self._truths[condition] = CONDITIONS[type(condition)](self, condition)
        return found

    def bound(self, term: Term) -> Mask:
        """Return whether a term's value is only a bound: the best value that a choice not yet known could give it."""
        if isinstance(term, SettingTerm) and term.by is not None and term.otherwise is None:
            return opposite(self.columns[term.by].known)
        if isinstance(term, Laid):
            return opposite(self.holds(term.turned).known)
        if isinstance(term, terms.Sum):
            return either(self.bound(term.first), self.bound(term.second))
        return False


def _column(at: Evaluation, term: Any) -> Worth:
    column = at.columns[term]
    return Worth(column.values, column.known)


def _setting(at: Evaluation, term: Any) -> Worth:
    if term.by is None:
        return Worth(np.int64(to_micro(at.settings[term.name])))
    column, some = at.columns[term.by], list(at.settings.by_word(term.name))
    if term.otherwise is None:
        found = np.full(np.shape(column.values), min(to_micro(value) for _, value in some))
    else:
        found = _own_numbers(column, at.settings[f"{term.name}.{term.otherwise}"])
    for word, value in some:
        found = np.where(both(column.known, column.values == word_code(word)), to_micro(value), found)
    return Worth(found)


def _own_numbers(column: Column, otherwise: Decimal) -> Any:
    """Parse words that are numbers; every other word gets `otherwise`, or is unknown without it."""
    found = np.full(np.shape(column.values), to_micro(otherwise))
    if column.values.dtype != np.int32:  # nothing known in any row
        return found
    for code in numbered(column.values[column.values >= 0])[0].tolist():
        number = _written(word_of(code))
        if number is not None:
            found = np.where(column.values == code, to_micro(number), found)
    return found


def _written(word: str) -> Decimal | None:
    try:
        number = Decimal(word.strip())
    except InvalidOperation:
        return None
    return number if number.is_finite() and abs(number) < 10**9 else None


def _pair(at: Evaluation, term: Any) -> tuple[Any, Any, Mask]:
    first, second = at.value(term.first), at.value(term.second)
    return first.values, second.values, both(first.known, second.known)


def _paired(how: Callable[[Any, Any], Any]) -> Callable[[Evaluation, Any], Worth]:
    """Value of a term of two terms."""

    def value(at: Evaluation, term: Any) -> Worth:
        first, second, known = _pair(at, term)
        return Worth(how(first, second), known)

    return value


def _unmatched(first: Any, second: Any) -> Any:
    return np.minimum(first, second) - np.gcd(first, second)


def _scaled(at: Evaluation, term: Any) -> Worth:
    values, known = at.value(term.term)
    return Worth(scaled(values, term.factor), known)


def _product(at: Evaluation, term: Any) -> Worth:
    values, known = at.value(term.term)
    return Worth(scaled(values, at.settings[term.share.name]), known)


def _chosen(yes: Mask, then: Any, otherwise: Any) -> Any:
    if isinstance(yes, bool):
        return then if yes else otherwise
    return np.where(yes, then, otherwise)


def _either(at: Evaluation, term: Any) -> Worth:
    yes, no = at.holds(term.condition)
    then, otherwise = at.value(term.then), at.value(term.otherwise)
    known = either(both(yes, then.known), both(no, otherwise.known))
    return Worth(_chosen(yes, then.values, otherwise.values), known)


def _laid(at: Evaluation, term: Any) -> Worth:
    yes, no = at.holds(term.turned)
    straight, crossed = at.value(term.straight), at.value(term.crossed)
    lesser = np.minimum(straight.values, crossed.values)
    open_known = both(opposite(either(yes, no)), both(straight.known, crossed.known))
    known = either(either(both(yes, crossed.known), both(no, straight.known)), open_known)
    return Worth(_chosen(yes, crossed.values, _chosen(no, straight.values, lesser)), known)


def _corner(at: Evaluation, term: Any) -> Worth:
    width, height, across, down = (at.value(each) for each in term.made_of())
    known = reduce(both, (each.known for each in (width, height, across, down)))
    known = both(known, both(across.values > 0, down.values > 0))
    wide, high = (floating(np.where(each.values > 0, each.values, 1)) for each in (across, down))
    share = np.sqrt((floating(width.values) / wide) ** 2 + (floating(height.values) / high) ** 2)
    values, held = rounded(floating(across.values) * share)
    return Worth(values, both(known, held))


def _lie(at: Evaluation, term: Any) -> Worth:
    shape, across, down = (at.columns[figure] for figure in (term.shape, term.across, term.down))
    is_round = both(shape.known, shape.values == word_code("round"))
    sides = np.sign(across.values - down.values)
    known = either(is_round, both(across.known, down.known))
    return Worth(_chosen(is_round, np.int64(0), sides), known)


def _of_pattern(at: Evaluation, term: Any) -> Column:
    """Return the figure of the nearest pattern that matches the opening's holes, or of the part's own pattern."""
    figures = term.circles if term.own in term.circles else term.counts
    key = term.circles, term.counts, term.circle, term.count
    if key not in at._nearest:
        circle, count = at.columns[term.circle], at.columns[term.count]
        pairs = zip(term.circles, term.counts, strict=True)
        far = [_distance(at.columns[own], circle, at.columns[holes], count) for own, holes in pairs]
        at._nearest[key] = np.argmin(np.stack(np.broadcast_arrays(*far)), axis=0)
    chosen = at.columns[figures[0]]
    for place, figure in enumerate(figures[1:], 1):
        here = at._nearest[key] == place
        if here.any():
            chosen = Column(*(np.where(here, *each) for each in zip(at.columns[figure], chosen, strict=True)))
    return chosen


def _distance(circle: Column, other: Column, count: Column, wanted: Column) -> Any:
    """Return the difference of two bolt circles whose hole counts match, else the largest possible difference."""
    meet = np.gcd(count.values, wanted.values) == np.minimum(count.values, wanted.values)
    known = reduce(both, (each.known for each in (circle, other, count, wanted)))
    return np.where(both(known, meet), np.abs(circle.values - other.values), np.iinfo(np.int64).max)


def _worked(at: Evaluation, term: Any) -> Worth:
    made_of = [at.value(each) for each in term.terms]
    values, known = worked_values(term, [each.values for each in made_of])
    return Worth(values, reduce(both, (each.known for each in made_of), known))


VALUES: dict[type[Term], Callable[[Evaluation, Any], Worth]] = {
    terms.FigureTerm: _column,
    terms.Exact: _column,
    terms.Constant: lambda at, term: Worth(np.int64(to_micro(term.number))),
    terms.Word: lambda at, term: Worth(np.int64(word_code(term.word))),
    terms.SettingTerm: _setting,
    terms.Sum: _paired(np.add),
    terms.Apart: _paired(lambda first, second: np.abs(first - second)),
    layouts.Unmatched: _paired(_unmatched),
    layouts.OfPattern: lambda at, term: Worth(*_of_pattern(at, term)[:2]),
    terms.Greater: _paired(np.maximum),
    terms.Scaled: _scaled,
    terms.Product: _product,
    terms.Either: _either,
    layouts.Laid: _laid,
    layouts.Corner: _corner,
    layouts.Lie: _lie,
    **dict.fromkeys(WORKED, _worked),
}


def _greatest_tol(at: Evaluation, term: Any) -> Any:
    """Return the tolerance of the term that decides: the first of several, or the last if none is known."""
    among = term.among()
    values = [np.where(worth.known, worth.values, LEAST) for worth in map(at.value, among)]
    top = reduce(np.maximum, values)
    found = at.tol(among[-1])
    for value, each in reversed(list(zip(values[:-1], among[:-1], strict=True))):
        found = np.where((value == top) & (value != LEAST), at.tol(each), found)
    return found


def _laid_tol(at: Evaluation, term: Any) -> Any:
    yes, no = at.holds(term.turned)
    straight, crossed = at.tol(term.straight), at.tol(term.crossed)
    return _chosen(yes, crossed, _chosen(no, straight, np.maximum(straight, crossed)))


def _corner_tol(at: Evaluation, term: Corner) -> Any:
    sides = at.tol(term.width) + at.tol(term.height)
    # A round hole has one figure, which the rule itself compares.
    return sides if term.hole_height == term.hole_width else sides + at.tol(term.hole_height)


def _worked_tol(at: Evaluation, term: Any) -> Any:
    values, tols = [at.value(each).values for each in term.terms], [at.tol(each) for each in term.terms]
    return worked_tol(term, values, tols, at.value(term))


TOLS: dict[type[Term], Callable[[Evaluation, Any], Any]] = {
    terms.FigureTerm: lambda at, term: at.columns[term].tol,
    layouts.OfPattern: lambda at, term: _of_pattern(at, term).tol,
    **dict.fromkeys((terms.Sum, terms.Apart), lambda at, term: at.tol(term.first) + at.tol(term.second)),
    terms.Greater: _greatest_tol,
    terms.Scaled: lambda at, term: scaled(np.asarray(at.tol(term.term)), abs(term.factor)),
    terms.Product: lambda at, term: scaled(np.asarray(at.tol(term.term)), at.settings[term.share.name]),
    terms.Either: lambda at, term: _chosen(at.holds(term.condition).yes, at.tol(term.then), at.tol(term.otherwise)),
    layouts.Laid: _laid_tol,
    layouts.Corner: _corner_tol,
    **dict.fromkeys(WORKED, _worked_tol),
}
"""Terms of every other type have no tolerance."""


def _compared(how: Callable[[Any, Any], Any]) -> Callable[[Evaluation, Any], Truth]:
    def compare(at: Evaluation, term: Any) -> Truth:
        first, second, known = _pair(at, term)
        found = how(first, second)
        return Truth(both(known, found), both(known, ~found))

    return compare


def _one_of(at: Evaluation, term: Any) -> Truth:
    column = at.columns[term.figure]
    if column.values.dtype != np.int32:  # nothing known in any row
        return Truth(False, False)
    every = numbered(column.values[column.values >= 0])[0].tolist()
    some = [code for code in every if word_of(code).strip(" ").lower() in term.words]
    found = np.isin(column.values, some)
    return Truth(both(column.known, found), both(column.known, ~found))


def _flag(at: Evaluation, term: Any) -> Truth:
    values, known, _ = at.columns[term.figure]
    says = values.astype(np.bool_)
    return Truth(both(known, says), both(known, ~says))


def _known(at: Evaluation, term: Any) -> Truth:
    known = at.value(term.figure).known
    return Truth(known, opposite(known))


def _same(at: Evaluation, term: Any) -> Truth:
    first, second = at.columns[term.first], at.columns[term.second]
    known = both(first.known, second.known)
    neither = both(opposite(first.known), opposite(second.known))
    same = either(both(known, first.values == second.values), neither)
    return Truth(same, opposite(same))


def _surely(at: Evaluation, term: Any) -> Truth:
    yes = at.holds(term.condition).yes
    return Truth(yes, opposite(yes))


def _joined(yes: Callable[[Mask, Mask], Mask], no: Callable[[Mask, Mask], Mask]) -> Callable[[Evaluation, Any], Truth]:
    """Whether two conditions hold together."""

    def join(at: Evaluation, term: Any) -> Truth:
        first, second = at.holds(term.first), at.holds(term.second)
        return Truth(yes(first.yes, second.yes), no(first.no, second.no))

    return join


CONDITIONS: dict[type[Condition], Callable[[Evaluation, Any], Truth]] = {
    terms.Equal: _compared(np.equal),
    terms.Above: _compared(np.greater),
    terms.Opposed: _compared(lambda first, second: np.sign(first) * np.sign(second) < 0),
    terms.OneOf: _one_of,
    terms.Holds: _flag,
    terms.Known: _known,
    terms.Same: _same,
    terms.Surely: _surely,
    terms.And: _joined(both, either),
    terms.Or: _joined(either, both),
    terms.Not: lambda at, term: Truth(*at.holds(term.condition)[::-1]),
}
