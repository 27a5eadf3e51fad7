"""Which candidates can stand in an answer: a large catalog is looked at twice.

How a first look at the leaders tells so much of all the others, `fits.looks` says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from dataclasses import field as dataclass_field

from catalog_schema.parts import FAMILIES
from matcher.search.cores import Field
from matcher.search.exact.packages import Bounds, Found
from matcher.search.exact.patience import Patience
from matcher.search.exact.ranking import Ranking
from matcher.search.fits.looks import Look, Needs
from matcher.search.fits.sweep import Sweeps
from matcher.search.gathering import gather_field
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring
from matcher.store.connection import Connection, Interrupted


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a field: the k best packages within bounds, and whether nothing may be left to measure."""

    bounds: Bounds
    k: int
    sure: bool = False
    least: int | None = None
    """Points that k packages are known to reach; none where that is not known."""


NOTHING = -(10**12)
"""Fewer points than any package has."""

FEW = 2000
"""So many parts are read at once: a first look at the leaders would take longer than it saves."""


@dataclass
class Telling:
    """A field with what a first look at the leaders told of it."""

    field: Field
    least: dict[Asked, int] = dataclass_field(default_factory=dict)
    """The least points of each answer, as far as that is known."""
    found: dict[Asked, list[Found]] = dataclass_field(default_factory=dict)
    """What the leaders make."""
    ended: bool = False
    """Whether patience was over with that: then the field holds the leaders alone."""
    missed: int | None = None
    """The most points that a package left out may have then."""
    unread: bool = False
    """Whether patience was over before the leaders were read: then the field holds nothing."""


def telling_field(
    sweeps: Sweeps, question: JobQuestion, top: int, asked: Sequence[Asked], patience: Patience | None = None
) -> Telling:
    """Every candidate that can stand in an answer to one of these questions.

    How a first look at the leaders tells so much of all the others, `fits.looks` says.
    """
    if are_few(sweeps):
        return Telling(gather_field(sweeps, question, Look(top)))
    first = _gathered(sweeps, question, Look(top, leading=True), patience)
    if first is None:
        return Telling(_nothing(sweeps, question, top), found={one: [] for one in asked}, ended=True, unread=True)
    telling, needs = Telling(first), Needs()
    hurried = None if patience is None else patience.with_grace()
    rankings = {sure: Ranking(telling.field.cores(sure=sure), hurried) for sure in (False, True)}
    for sure, ranking in rankings.items():
        for one in (each for each in asked if each.sure == sure):
            telling.found[one] = found = ranking.best(one.bounds, one.k, one.least)
            least = found[-1].points if len(found) == one.k else one.least
            if least is not None:
                telling.least[one] = least
            needs.sure = sure
            for slot, need in ranking.needed(one.bounds, telling.least.get(one, NOTHING)):
                slot.tell(need, needs)
    whole = None
    if patience is None or hurried is None or not (patience.is_over() or hurried.is_over()):
        if patience is not None:
            patience.kept = 0  # nothing of the first look is held on to
        whole = _gathered(sweeps, question, Look(top, needs=needs), patience)
    if whole is None:
        highest = (rankings[one.sure].highest(one.bounds) for one in asked)
        telling.ended, telling.missed = True, max((one for one in highest if one is not None), default=None)
    else:
        telling.field = whole
    return telling


def _gathered(sweeps: Sweeps, question: JobQuestion, look: Look, patience: Patience | None) -> Field | None:
    """As `gather_field`; none where patience is over before it is read."""
    if patience is None:
        return gather_field(sweeps, question, look)
    try:
        with patience.reading(sweeps.interrupt):
            return gather_field(sweeps, question, look)
    except Interrupted:
        return None


def _nothing(sweeps: Sweeps, question: JobQuestion, top: int) -> Field:
    """A field of which nothing was read."""
    scoring = Scoring(question.job.wishes, sweeps.settings)
    names = [place.opening_id for place in question.speakers]
    return Field(question, scoring, top, [], [], {name: [] for name in names}, tallies={name: {} for name in names})


def are_few(sweeps: Sweeps) -> bool:
    """Whether the catalog is looked at once."""
    return bool(sweeps.once("parts", lambda: _parts(sweeps.con)) <= FEW)


def _parts(con: Connection) -> int:
    """How many parts the catalog has."""
    row = con.execute(" UNION ALL ".join(f'SELECT count(*) AS many FROM "{family}"' for family in FAMILIES))
    return sum(many for (many,) in row.fetchall())
