"""Summaries of packages, and the differences between two of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Line, Package
from catalog_schema.jobs import LADDER
from catalog_schema.whys import Brief, Difference, Swap
from matcher.answers.delivery import delivery_checks
from matcher.answers.fitted import fitted_of
from matcher.answers.gains import gains
from matcher.answers.messages_why import swap_says
from matcher.answers.packages import Describer, criteria_of, price_of
from matcher.search.exact.enumeration import SumLimits
from matcher.search.options import is_sure
from matcher.search.packages import Found, PackageCandidate


def brief(describer: Describer, found: Found, sure: SumLimits) -> Brief:
    """Summarize a package; `sure` are the limits on the whole that it must meet in the worst case."""
    fitted = fitted_of(found)
    describer.name_parts(one.candidate for one in fitted)
    return Brief(
        score=round(found.points / 100),
        verdict="fits" if is_sure(found, sure) and _is_delivery_known(describer, fitted) else "measure",
        alteration=LADDER[max(one.candidate.step for one in fitted)],
        price=price_of(fitted, describer.catalog.settings),
        criteria=criteria_of(found, fitted),
        lines=[describer.line(one) for one in fitted],
        bass_mean_db=_bass_db(describer, fitted),
    )


def _is_delivery_known(describer: Describer, fitted: list[PackageCandidate]) -> bool:
    return all(check.verdict == "fits" for check in delivery_checks(describer.catalog, describer.question, fitted))


def _bass_db(describer: Describer, fitted: list[PackageCandidate]) -> Decimal | None:
    if all(one.bass is None for one in fitted):
        return None
    from matcher.answers.bass import bass_of

    return _decimal(getattr(bass_of(describer.catalog, fitted), "mean_db", None))


def brief_of(package: Package) -> Brief:
    """Summarize a package of an answer."""
    return Brief(
        score=package.score,
        verdict=package.verdict,
        alteration=package.alteration,
        price=package.price,
        criteria=package.criteria,
        lines=package.lines,
        bass_mean_db=None if package.bass is None else _decimal(package.bass.mean_db),
    )


def _decimal(number: float | None) -> Decimal | None:
    return None if number is None else Decimal(str(number))


def difference(before: Brief, after: Brief) -> Difference:
    """Return the changes from one package to another."""
    more = {name: points - before.criteria.get(name, 0) for name, points in after.criteria.items()}
    return Difference(
        points=after.score - before.score,
        price=after.price.total - before.price.total,
        criteria={name: points for name, points in more.items() if points},
        swaps=swaps(before.lines, after.lines),
        gains=gains(before, after),
    )


Place = tuple[str, str | None]


def swaps(before: Sequence[Line], after: Sequence[Line]) -> list[Swap]:
    """Return the places at which two packages have different parts, in the order of the second."""
    places = dict.fromkeys((line.slot, line.opening_id) for line in (*after, *before))
    made = [_swap(place, _at(place, before), _at(place, after)) for place in places]
    return [replace(swap, says=swap_says(swap)) for swap in made if swap.before != swap.after]


def _at(place: Place, lines: Sequence[Line]) -> list[Line]:
    return [line for line in lines if (line.slot, line.opening_id) == place]


def _swap(place: Place, before: Sequence[Line], after: Sequence[Line]) -> Swap:
    return Swap(
        slot=place[0],
        opening_id=place[1],
        before=_parts(before),
        after=_parts(after),
        alteration=max((line.alteration for line in after), key=LADDER.index, default=None),
        cut=next((line.cut for line in after if line.cut is not None), None),
    )


def _parts(lines: Sequence[Line]) -> str | None:
    """Return the parts of some lines as a person writes them."""
    named = [f"{line.part_id or line.label}{f' + {line.adapter_id}' if line.adapter_id else ''}" for line in lines]
    return ", ".join(sorted(named)) or None
