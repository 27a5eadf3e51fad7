"""Why an answer is as it is: what conflicts, what would help, what a limit costs, what to measure first."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from matcher.shop.base import Opened

if TYPE_CHECKING:
    from catalog_schema.whys import LimitPrices, MeasureFirst, Why


LOOKS = 6
"""So many packages that could still win are looked at for a paper and on the page, where somebody waits."""


class Reasons(Opened):
    """Why an answer is as it is, and what would change it."""

    def why(self, job_id: str, part: str | None = None) -> Why:
        """Why a job has no package and what would help; or why a part is not in its best package.

        Where the job has packages, nothing conflicts: the answer shows what nearly limits the best one.

        Parameters
        ----------
        job_id
            A job of the store.
        part
            A part of the catalog to ask about, by its part_id.

        Raises
        ------
        InputError
            if the job or the part is not known.
        """
        from matcher.store.database.stamps import catalog_version

        with self.asked(job_id) as (catalog, job):
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
            Whether to tell as well how far each wish may weigh otherwise before another package wins.
        besides
            Beginnings of the names of limits that nobody asks about: they are not ranked.

        Raises
        ------
        InputError
            if the job is not known.
        """
        from matcher.answers.limits import answer_limits
        from matcher.store.database.stamps import catalog_version

        with self.asked(job_id) as (catalog, job):
            return answer_limits(catalog, job, catalog_version(catalog.con), weights=weights, besides=besides)

    def measure(
        self,
        job_id: str,
        *,
        looks: int | None = None,
        seconds: float | None = None,
        is_stopped: Callable[[], bool] = lambda: False,
    ) -> MeasureFirst:
        """Return the figures to measure first: those that could change a job's winner, each ranked on either side.

        It ends when no figure is left that could change the winner, by itself or with what else is open about the
        same part. Figures that no rule asks for, as how loud a loudspeaker is, are not among them.

        Parameters
        ----------
        job_id
            A job of the store.
        looks
            How many packages that could still win are looked at; none: all. The answer says whether these were all.
        seconds
            How long it may look; it then ends with what it has, and says what may be missed.
        is_stopped
            Whether it is to end now, as after `seconds`.

        Raises
        ------
        InputError
            if the job is not known.
        """
        from matcher.answers.measure import answer_measure
        from matcher.search.exact.budget import SearchBudget
        from matcher.store.database.stamps import catalog_version

        with self.asked(job_id) as (catalog, job):
            budget = SearchBudget.of(seconds, is_stopped=is_stopped)
            return answer_measure(catalog, job, catalog_version(catalog.con), looks, budget)
