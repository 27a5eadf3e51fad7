"""Terms of the rules as SQL, for the sweeps that still ask the database."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from matcher.rules import layouts, terms, worked
from matcher.rules.rule import FITS, MEASURE, NO, SKIP, Rule
from matcher.rules.terms import Figure, Term
from matcher.settings import Settings

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


def column(figure: Figure) -> str:
    return f'{figure.subject}."{figure.field}"'


def stem(rule: Rule) -> str:
    """The rule's name as the stem of SQL columns."""
    return re.sub(r"\W", "_", rule.name)


def value_sql(term: Term, settings: Settings) -> str:
    """SQL of a term's value; NULL where a figure in it is missing."""
    return VALUES[type(term)](term, settings)


def tol_sql(term: Term, settings: Settings) -> str:
    """SQL of the summed tolerances of a term."""
    made = TOLS.get(type(term))
    return "0" if made is None else made(term, settings)


def bound_sql(term: Term) -> str:
    """SQL of whether a term's value is only a bound; empty: never."""
    if isinstance(term, terms.SettingTerm):
        return "" if term.by is None or term.otherwise is not None else f"{column(term.by)} IS NULL"
    if isinstance(term, layouts.Laid):
        return f"{condition_sql(term.turned)} IS NULL"
    if isinstance(term, terms.Sum):
        return " OR ".join(filter(None, (bound_sql(term.first), bound_sql(term.second))))
    return ""


def rule_columns(rule: Rule, settings: Settings) -> str:
    """SQL of what a rule reads of a row, as named columns, which `code_sql` stands over."""
    have, need = tol_sql(rule.have, settings), tol_sql(rule.need, settings)
    columns = {
        "have": value_sql(rule.have, settings),
        "need": value_sql(rule.need, settings),
        "tol": _added(have, need),
    }
    if rule.when is not None:
        columns["when"] = condition_sql(rule.when)
    if bound_sql(rule.need):
        columns["bound"] = bound_sql(rule.need)
    return ", ".join(f"{sql} AS {stem(rule)}_{name}" for name, sql in columns.items())


def code_sql(rule: Rule) -> str:
    """SQL of what the rule says, over the columns of `rule_columns`: SKIP, FITS, MEASURE or NO."""
    name = stem(rule)
    tol, margin = f"{name}_tol", f"{name}_have - {name}_need"
    cases = [] if rule.when is None else [f"WHEN NOT {name}_when THEN {SKIP}"]
    if bound_sql(rule.need):
        cases.append(f"WHEN {name}_bound AND {margin} >= -{tol} THEN {MEASURE}")
    cases.append(f"WHEN {margin} >= {tol} THEN {FITS}")
    if rule.when is not None and not rule.when.is_certain:
        cases.append(f"WHEN {name}_when IS NULL THEN {MEASURE}")
    return f"CASE {' '.join(cases)} WHEN {margin} < -{tol} THEN {NO} ELSE {MEASURE} END"


def _added(first: str, second: str) -> str:
    if first == "0":
        return second
    return first if second == "0" else f"({first} + {second})"


def condition_sql(condition: Term) -> str:
    """SQL of whether a condition holds; NULL where that is not known."""
    return CONDITIONS[type(condition)](condition)


def _own(term: Term) -> str:
    """SQL of a term that a condition compares."""
    if isinstance(term, Figure):
        return column(term)
    if isinstance(term, terms.Word | terms.Constant):
        return str(term)
    if isinstance(term, terms.Sum):
        return f"({_own(term.first)} + {_own(term.second)})"
    if isinstance(term, terms.Scaled):
        return f"({_own(term.term)} * {term.factor})"
    if isinstance(term, layouts.Lie):
        across, down = column(term.across), column(term.down)
        return f"(CASE WHEN {column(term.shape)} = 'round' THEN 0 ELSE sign({across} - {down}) END)"
    raise TypeError(term)


def _one_of(condition: Any) -> str:
    listed = ", ".join(f"'{word}'" for word in condition.words)
    return f"(lower(trim({column(condition.figure)})) IN ({listed}))"


CONDITIONS: dict[type, Callable[[Any], str]] = {
    terms.Equal: lambda it: f"({_own(it.first)} = {_own(it.second)})",
    terms.Above: lambda it: f"({_own(it.first)} > {_own(it.second)})",
    terms.Opposed: lambda it: f"({_own(it.first)} * {_own(it.second)} < 0)",
    terms.OneOf: _one_of,
    terms.Holds: lambda it: column(it.figure),
    terms.Known: lambda it: f"({column(it.figure)} IS NOT NULL)",
    terms.Same: lambda it: f"({column(it.first)} IS NOT DISTINCT FROM {column(it.second)})",
    terms.Surely: lambda it: f"coalesce({condition_sql(it.condition)}, false)",
    terms.And: lambda it: f"({condition_sql(it.first)} AND {condition_sql(it.second)})",
    terms.Or: lambda it: f"({condition_sql(it.first)} OR {condition_sql(it.second)})",
    terms.Not: lambda it: f"(NOT {condition_sql(it.condition)})",
}


def figure_tol_sql(figure: Figure, settings: Settings) -> str:
    """SQL of a figure's tolerance: its own, or by its row's basis."""
    stated = f'{figure.subject}."{figure.field}_tol"'
    if not figure.is_length:
        return f"coalesce({stated}, 0)"
    if figure.subject in FILLED:
        return stated
    if figure.subject in BASED:
        return f"coalesce({stated}, {figure.subject}.basis_tol)"
    return f"coalesce({stated}, {basis_tol_sql(f'{figure.subject}.basis', 'measured', settings)})"


def _setting(term: Any, settings: Settings) -> str:
    if term.by is None:
        return literal(settings[term.name])
    by = column(term.by)
    cases = " ".join(f"WHEN '{word}' THEN {literal(value)}" for word, value in settings.by_word(term.name))
    if term.otherwise is not None:
        written = f"try_cast({by} AS DECIMAL(15,6))"
        cases += f" ELSE coalesce({written}, {literal(settings[f'{term.name}.{term.otherwise}'])})"
    else:
        cases += f" ELSE {literal(min(value for _, value in settings.by_word(term.name)))}"
    return f"(CASE {by} {cases} END)"


def _scaled(term: Any, settings: Settings) -> str:
    inner = value_sql(term.term, settings)
    return f"(-{inner})" if term.factor == -1 else f"({inner} * {term.factor})::DECIMAL(15,6)"


def _scaled_tol(term: Any, settings: Settings) -> str:
    inner = tol_sql(term.term, settings)
    return inner if inner == "0" or abs(term.factor) == 1 else f"({inner} * {abs(term.factor)})"


def _greatest(term: Any, settings: Settings) -> str:
    values = [value_sql(each, settings) for each in term.among()]
    # The sum is null where any of them is: GREATEST itself passes over nulls.
    return f"(CASE WHEN {' + '.join(values)} IS NOT NULL THEN greatest({', '.join(values)}) END)"


def _greatest_tol(term: Any, settings: Settings) -> str:
    among = term.among()
    values, tols = ([made(each, settings) for each in among] for made in (value_sql, tol_sql))
    if len(set(tols)) == 1:
        return tols[0]
    cases = [f"WHEN {value} THEN {tol}" for value, tol in zip(values[:-1], tols[:-1], strict=True)]
    return f"(CASE greatest({', '.join(values)}) {' '.join(cases)} ELSE {tols[-1]} END)"


def _either(term: Any, settings: Settings) -> str:
    test, then, otherwise = (
        condition_sql(term.condition),
        value_sql(term.then, settings),
        value_sql(term.otherwise, settings),
    )
    if term.condition.is_certain:
        return f"(CASE WHEN {test} THEN {then} ELSE {otherwise} END)"
    return f"(CASE WHEN {test} THEN {then} WHEN NOT {test} THEN {otherwise} END)"


def _either_tol(term: Any, settings: Settings) -> str:
    then, otherwise = tol_sql(term.then, settings), tol_sql(term.otherwise, settings)
    return (
        then if then == otherwise else f"(CASE WHEN {condition_sql(term.condition)} THEN {then} ELSE {otherwise} END)"
    )


def _laid(term: Any, settings: Settings) -> str:
    test, straight, crossed = (
        condition_sql(term.turned),
        value_sql(term.straight, settings),
        value_sql(term.crossed, settings),
    )
    return (
        f"(CASE WHEN {test} THEN {crossed} WHEN NOT {test} THEN {straight} "
        f"WHEN {straight} <= {crossed} THEN {straight} WHEN {crossed} < {straight} THEN {crossed} END)"
    )


def _laid_tol(term: Any, settings: Settings) -> str:
    test, straight, crossed = (
        condition_sql(term.turned),
        tol_sql(term.straight, settings),
        tol_sql(term.crossed, settings),
    )
    return f"(CASE WHEN {test} THEN {crossed} WHEN NOT {test} THEN {straight} ELSE greatest({straight}, {crossed}) END)"


def _corner(term: Any, settings: Settings) -> str:
    w, h, hole_w, hole_h = (value_sql(each, settings) for each in term.made_of())
    share = f"sqrt(power({w}::DOUBLE / {hole_w}, 2) + power({h}::DOUBLE / {hole_h}, 2))"
    return f"({hole_w} * {share})::DECIMAL(15,6)"


def _corner_tol(term: Any, settings: Settings) -> str:
    sides = _added(tol_sql(term.width, settings), tol_sql(term.height, settings))
    return sides if term.hole_height == term.hole_width else _added(sides, tol_sql(term.hole_height, settings))


def _named(values: dict[str, list[str]], body: Callable[[dict[str, list[str]]], str]) -> str:
    """SQL of something in which every value is written once and then goes by a short name."""
    names = {letter: [f"it.{letter}{place}" for place in range(len(some))] for letter, some in values.items()}
    cells = [f"'{letter}{place}': {value}" for letter, some in values.items() for place, value in enumerate(some)]
    return f"list_transform([{{{', '.join(cells)}}}], lambda it: {body(names)})[1]"


def _worked(term: Any, settings: Settings) -> str:
    values = [value_sql(each, settings) for each in term.terms]
    return _named({"v": values}, lambda names: WORKED[type(term)](term, names["v"]))


def _sides(term: Any, settings: Settings) -> dict[str, list[str]]:
    return {
        letter: [made(each, settings) for each in term.terms] for letter, made in (("v", value_sql), ("t", tol_sql))
    }


def _steady_tol(term: Any, settings: Settings) -> str:
    sides = _sides(term, settings)
    if set(sides["t"]) == {"0"}:
        return "0"
    return _named(sides, lambda names: _swing(term, names["v"], names["t"]))


def _swing(term: Any, values: list[str], tols: list[str]) -> str:
    made = WORKED[type(term)]

    def moved(value: str, tol: str, rises: bool, up: bool) -> str:
        return f"greatest({value} {'+' if rises == up else '-'} {tol}, 0)"

    above, below = (
        made(term, [moved(*each, up) for each in zip(values, tols, term.rises, strict=True)]) for up in (True, False)
    )
    middle = made(term, values)
    # Where a figure is missing there is no value to be off.
    return f"coalesce(greatest({above} - {middle}, {middle} - {below}), 0)"


def _ranked(term: Any, values: Sequence[str]) -> str:
    return f"(CASE WHEN {' + '.join(values)} IS NOT NULL THEN list_sort([{', '.join(values)}])[{term.place}] END)"


def _ranked_tol(term: Any, settings: Settings) -> str:
    tols = list(dict.fromkeys(tol_sql(each, settings) for each in term.terms))
    return tols[0] if len(tols) == 1 else f"greatest({', '.join(tols)})"


def _turned(term: Any, values: Sequence[str]) -> str:
    p, q, b = (f"({value})::DOUBLE" for value in values)
    across = f"nullif(sqrt(power({p}, 2) + power({q}, 2)), 0)"
    diagonal, angle = f"atan2({q}, {p})", f"asin(least({b} / {across}, 1))"
    turned = f"{across} * cos({angle} - 2 * {diagonal})"
    return f"(CASE WHEN {angle} > 3 * {diagonal} THEN {turned} ELSE {p} + 0 * {b} * {q} END)::DECIMAL(15,6)"


def _share(values: Sequence[str]) -> str:
    _, _, height, at = values
    known = f"{height} + {at} IS NOT NULL AND {height} > 0"
    return f"(CASE WHEN {known} THEN least(({at})::DOUBLE / ({height})::DOUBLE, 1) END)"


def _depth_at(term: Any, values: Sequence[str]) -> str:
    floor, top, _, _ = values
    return f"({floor} - ({floor} - {top}) * {_share(values)})::DECIMAL(15,6)"


def _depth_tol(term: Any, settings: Settings) -> str:
    return _named(_sides(term, settings), lambda names: _depth_off(names["v"], names["t"]))


def _depth_off(values: list[str], tols: list[str]) -> str:
    floor, top, height, at = tols
    share = _share(values)
    slope = f"abs(({values[0]} - {values[1]})::DOUBLE / nullif(({values[2]})::DOUBLE, 0))"
    off = f"{floor} * (1 - {share}) + {top} * {share} + {slope} * ({at} + {height} * {share})"
    return f"coalesce(({off})::DECIMAL(15,6), 0)"


def _closed_q(term: Any, values: Sequence[str]) -> str:
    qts, vas, net, drivers = (f"({value})::DOUBLE" for value in values)
    return f"({qts} * sqrt(1 + {drivers} * {vas} / nullif({net}, 0)))::DECIMAL(15,6)"


def _through_tol(term: Any, settings: Settings) -> str:
    one, other = (value_sql(each, settings) for each in term.terms)
    one_tol, other_tol = (tol_sql(each, settings) for each in term.terms)
    grown = f"({one} * {other_tol} + {other} * {one_tol} + {one_tol} * {other_tol})"
    return f"({grown} * 0.01)::DECIMAL(15,6)"


WORKED: dict[type, Callable[[Any, Sequence[str]], str]] = {
    worked.Ranked: _ranked,
    worked.Turned: _turned,
    worked.DepthAt: _depth_at,
    worked.ClosedQ: _closed_q,
    worked.Times: lambda term, values: f"({values[0]} * {values[1]})::DECIMAL(15,6)",
    worked.Through: lambda term, values: f"({values[0]} * {values[1]} * 0.01)::DECIMAL(15,6)",
}

VALUES: dict[type, Callable[[Any, Settings], str]] = {
    terms.Figure: lambda it, _: column(it),
    terms.Exact: lambda it, _: column(it),
    terms.Constant: lambda it, _: literal(it.number),
    terms.SettingTerm: _setting,
    terms.Sum: lambda it, settings: f"({value_sql(it.first, settings)} + {value_sql(it.second, settings)})",
    terms.Apart: lambda it, settings: f"abs({value_sql(it.first, settings)} - {value_sql(it.second, settings)})",
    terms.Scaled: _scaled,
    terms.Product: lambda it, s: f"({value_sql(it.term, s)} * {s[it.share.name]})::DECIMAL(15,6)",
    terms.Greater: _greatest,
    terms.Either: _either,
    layouts.Laid: _laid,
    layouts.Corner: _corner,
    **dict.fromkeys(WORKED, _worked),
}


def _pair_tol(term: Any, settings: Settings) -> str:
    return _added(tol_sql(term.first, settings), tol_sql(term.second, settings))


def _product_tol(term: Any, settings: Settings) -> str:
    inner = tol_sql(term.term, settings)
    return inner if inner == "0" else f"({inner} * {settings[term.share.name]})"


TOLS: dict[type, Callable[[Any, Settings], str]] = {
    terms.Figure: figure_tol_sql,
    terms.Sum: _pair_tol,
    terms.Apart: _pair_tol,
    terms.Scaled: _scaled_tol,
    terms.Product: _product_tol,
    terms.Greater: _greatest_tol,
    terms.Either: _either_tol,
    layouts.Laid: _laid_tol,
    layouts.Corner: _corner_tol,
    worked.Ranked: _ranked_tol,
    worked.Turned: _steady_tol,
    worked.ClosedQ: _steady_tol,
    worked.Times: _steady_tol,
    worked.DepthAt: _depth_tol,
    worked.Through: _through_tol,
}
