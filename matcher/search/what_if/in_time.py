"""What is ranked again and again within a time: it is broken off as soon as that is over."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

from matcher.search.exact.packages import Found
from matcher.search.exact.patience import Patience
from matcher.search.exact.ranking import Ranking
from matcher.search.fits.sweep import Sweeps
from matcher.search.options import bounds_of
from matcher.search.question import JobQuestion
from matcher.search.telling import Asked, telling_field
from matcher.store.connection import Interrupted

One = TypeVar("One")
OFTEN = 100
"""After so many the clock is looked at."""


def in_time(patience: Patience) -> None:
    """End here where time is over, as a statement that is broken off does."""
    if patience.is_over():
        raise Interrupted("time is over")


def each_in_time(some: Iterable[One], patience: Patience) -> Iterator[One]:
    """One after another of what may be many.

    Raises
    ------
    Interrupted
        where time is over in the midst of it.
    """
    for at, one in enumerate(some):
        if at % OFTEN == 0:
            in_time(patience)
        yield one


def best_in_time(sweeps: Sweeps, question: JobQuestion, patience: Patience) -> Found | None:
    """The best package within the job's limits.

    Raises
    ------
    Interrupted
        where time is over before it is sure which that is.
    """
    asked = Asked(bounds_of(question, question.job.limits.budget), 1)
    telling = telling_field(sweeps, question, 1, [asked], patience)
    found = Ranking(telling.field.cores(), patience).best(asked.bounds, 1, telling.least.get(asked))
    in_time(patience)
    return found[0] if found else None
