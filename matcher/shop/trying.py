"""A job asked on other terms than its own, and whether an answer is still current."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matcher.shop.asking import Asking

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog_schema.answers import Options, PartsAt
    from catalog_schema.terms import Terms


@dataclass(frozen=True, slots=True)
class Liftable:
    """A limit of a job that can be lifted."""

    name: str
    """Its name in the answer of `limits`."""
    says: str
    """The limit with its value."""


class Trying(Asking):
    """A job asked on other terms than its own."""

    def liftable(self, job_id: str) -> list[Liftable]:
        """Return every limit of a job that can be lifted, in a fixed order; `limits` gives their prices.

        Raises
        ------
        NotKnown
            if there is no such job.
        """
        from matcher.answers.messages_limits import limit_says
        from matcher.search.question import question_of
        from matcher.search.what_if.priced import is_outside, limit_names
        from matcher.search.what_if.relaxed import WhatIf, stated

        with self.catalog_for(job_id) as (catalog, job):
            job = stated(job, catalog)
            question = question_of(catalog, job)
            names = limit_names(WhatIf(catalog, job))
            return [Liftable(name, limit_says(question, name)) for name in names if not is_outside(name)]

    def what_if(
        self,
        job_id: str,
        *,
        terms: Terms,
        top: int = 5,
        seconds: float | None = None,
        tell: Callable[[str], None] = lambda _: None,
        is_stopped: Callable[[], bool] = lambda: False,
    ) -> Options:
        """Return a job's options on other terms, from data cached in this process; the job is unchanged.

        Parameters
        ----------
        terms, top, seconds, tell, is_stopped
            As in `options`.

        Raises
        ------
        InputError
            if the job is not known, or a term cannot be read.
        """
        from matcher.answers.messages import looking_says
        from matcher.answers.options import answer_options
        from matcher.search.exact.budget import SearchBudget
        from matcher.store.database.stamps import catalog_version
        from matcher.store.documents.saving import job_on_terms

        with self.catalog_for(job_id) as (catalog, _):
            job = job_on_terms(catalog.con, job_id, terms)
            budget = SearchBudget.of(
                seconds, None, lambda waiting, bound: tell(looking_says(waiting, bound)), is_stopped
            )
            return answer_options(catalog, job, top, catalog_version(catalog.con), budget)

    def alternatives(self, job_id: str, *, terms: Terms | None = None, most: int = 3) -> list[PartsAt]:
        """Return the best parts for each opening of a job, each with its best package; empty if nothing fits.

        Parameters
        ----------
        terms
            As in `options`.
        most
            Number of parts to name for an opening.

        Raises
        ------
        InputError
            if the job is not known, or a term cannot be read.
        """
        from matcher.answers.instead import parts_at
        from matcher.store.documents.saving import job_on_terms, typed_terms

        with self.catalog_for(job_id) as (catalog, job):
            if terms:
                job = job_on_terms(catalog.con, job_id, typed_terms(catalog.con, terms))
            return parts_at(catalog, job, most)

    def stamp(self, job_id: str, *, papers: bool = False) -> str:
        """Return the fingerprint of a job's answer: while it stays the same, so does the answer.

        Parameters
        ----------
        papers
            Whether to include the data of its papers: choice, set-up and signature.

        Raises
        ------
        NotKnown
            if there is no such job.
        """
        from matcher.store.database.stamps import stamp_of

        with self.store.reading() as con:
            return stamp_of(con, job_id, papers=papers)
