"""The reasons behind an answer: conflicts, changes that help, prices of limits, figures to measure first."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from matcher.shop.base import Opened

if TYPE_CHECKING:
    from catalog_schema.whys import LimitPrices, MeasureFirst, Why


LOOKS = 6
"""Number of packages that could still win to examine for a paper and on the page, where a person waits."""


class Reasons(Opened):
    """The reasons behind an answer, and changes that would alter it."""

    def why(self, job_id: str, part: str | None = None) -> Why:
        """Explain why a job has no package and what would help; or why a part is not in its best package.

        If the job has packages, nothing conflicts: the answer then shows the limits nearly used up by the best one.

        Parameters
        ----------
        job_id
            A job of the store.
        part
            A part of the catalog, by its part_id.

        Raises
        ------
        InputError
            if the job or the part is not known.
        """
        from matcher.store.database.stamps import catalog_version

        with self.catalog_for(job_id) as (catalog, job):
            version = catalog_version(catalog.con)
            if part is None:
                from matcher.answers.why import answer_why

                return answer_why(catalog, job, version)
            from matcher.answers.why_part import answer_why_part

            return answer_why_part(catalog, job, part, version)

    def limits(self, job_id: str, *, weights: bool = False, besides: tuple[str, ...] = ()) -> LimitPrices:
        """Return the price of each limit of a job: the best package without it, ranked again, and the difference.

        Parameters
        ----------
        job_id
            A job of the store.
        weights
            Whether to include how far each wish's weight may change before another package wins.
        besides
            Prefixes of the names of limits to leave out.

        Raises
        ------
        InputError
            if the job is not known.
        """
        from matcher.answers.limits import answer_limits
        from matcher.store.database.stamps import catalog_version

        with self.catalog_for(job_id) as (catalog, job):
            return answer_limits(catalog, job, catalog_version(catalog.con), weights=weights, besides=besides)

    def measure(
        self,
        job_id: str,
        *,
        looks: int | None = None,
        seconds: float | None = None,
        tell: Callable[[str], None] = lambda _: None,
        is_stopped: Callable[[], bool] = lambda: False,
    ) -> MeasureFirst:
        """Return the figures to measure first: open ones that could change a job's best package.

        The search ends when no figure is left that could change it, by itself or together with everything else open
        about the same part. Figures that no rule reads, such as a loudspeaker's loudness, are not included.

        Parameters
        ----------
        job_id
            A job of the store.
        looks
            Number of packages that could still win to examine; all by default. The answer has whether these were all.
        seconds
            Time limit; the search then ends with its result so far, and the answer has what may be missed.
        tell
            Called with the progress, in words.
        is_stopped
            Whether to end now, as after `seconds`.

        Raises
        ------
        InputError
            if the job is not known.
        """
        from matcher.answers.measure import answer_measure
        from matcher.search.exact.budget import SearchBudget
        from matcher.store.database.stamps import catalog_version

        with self.catalog_for(job_id) as (catalog, job):
            budget = SearchBudget.of(seconds, is_stopped=is_stopped)
            return answer_measure(catalog, job, catalog_version(catalog.con), looks, budget, tell)
