"""Questions at the counter and in the bay: does it fit, and which packages are best."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from catalog_schema.ladder import DEFAULT_STEP
from matcher.shop.base import Opened, check_step, shop_settings, split_place

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog_schema.answers import Claim, Fit, Options
    from catalog_schema.terms import Terms
    from matcher.search.catalog.catalog import Catalog
    from matcher.store.database.connection import Connection
    from matcher.store.readings.claims import ClaimBeside


class Asking(Opened):
    """Questions at the counter and in the bay: does it fit, and which packages are best."""

    def fit(self, part_id: str, opening: str, *, adapter: str | None = None, alteration: str = DEFAULT_STEP) -> Fit:
        """Return whether a part fits an opening, by how much, and what that would alter.

        Parameters
        ----------
        part_id
            A part of the catalog.
        opening
            ``vehicle/opening``.
        adapter
            An adapter between them, by its part_id. Without one, a part that does not fit directly is tried with the
            catalog's adapters.
        alteration
            The step of the alteration ladder for the verdict.

        Raises
        ------
        InputError
            if a name is not known, or the part is of another kind than the opening.
        """
        from matcher.answers.messages import claim_says, fit_with_words
        from matcher.search.catalog.catalog import Catalog
        from matcher.search.fits.fit import fit_part
        from matcher.search.fits.through import fit_with_adapters

        vehicle_id, opening_id = split_place(opening)
        check_step(alteration)
        with self.store.reading() as con:
            settings = shop_settings(con)
            catalog = Catalog(con, settings)
            if adapter is None:
                fit = fit_with_adapters(catalog, part_id, vehicle_id, opening_id, alteration)
            else:
                fit = fit_part(catalog, part_id, vehicle_id, opening_id, adapter, alteration)
            readings = [claim_says(claim) for claim in _claims(con, fit)]
            claims = _claims_against_physics(catalog, part_id)
        return fit_with_words(replace(fit, readings=readings, claims=claims))

    def options(
        self,
        job_id: str,
        *,
        top: int = 5,
        version: int | None = None,
        terms: Terms | None = None,
        seconds: float | None = None,
        memory_mb: int | None = None,
        remember: bool = True,
        tell: Callable[[str], None] = lambda _: None,
        is_stopped: Callable[[], bool] = lambda: False,
    ) -> Options:
        """Return the best packages for a job, exactly ranked, and the best at each of its budgets.

        Parameters
        ----------
        job_id
            A job of the store.
        top
            Number of packages to list.
        version
            An earlier version of the catalog to answer from. By default the current catalog is used, and the job
            remembers its version.
        terms
            Terms for this question that override the job's own, by the names in `catalog_schema.terms.TERMS`.
        seconds
            Time limit of the search: fits are computed in full, then the search stops with the best packages so far.
            The answer is then incomplete, and has the number of points it may miss at most.
        memory_mb
            Memory limit, half of it for the store and half for the search.
        remember
            Whether the job remembers the version if it is the current catalog's.
        tell
            Called with the progress of the search.
        is_stopped
            Whether to end the search now, as after `seconds`.

        Raises
        ------
        InputError
            if the job or the version is not known, or a term cannot be read.
        """
        from matcher.answers.messages import looking_says
        from matcher.answers.options import answer_options
        from matcher.search.catalog.catalog import Catalog
        from matcher.search.exact.budget import SearchBudget
        from matcher.store.database.connection import within_memory
        from matcher.store.database.kept_documents import answered_on, remember_answer
        from matcher.store.database.stamps import catalog_version

        report = lambda waiting, best: tell(looking_says(waiting, best))  # noqa: E731
        budget = SearchBudget.of(seconds, memory_mb, report, is_stopped)
        with self.catalog_for(job_id) as (catalog, job), within_memory(catalog.con, memory_mb):
            con, now = catalog.con, catalog_version(catalog.con)
            if terms:
                from matcher.store.documents.saving import job_on_terms, typed_terms

                job = job_on_terms(con, job_id, typed_terms(con, terms))
            if version in (None, now):
                answer = answer_options(catalog, job, top, now, budget)
            else:
                from matcher.store.importing.history import looking_back

                with looking_back(con, version):  # arrays cached from the current catalog do not apply
                    then = Catalog(con, catalog.settings)
                    answer = answer_options(then, job, top, version, budget)
            is_news = remember and version is None and not terms and answered_on(con, job_id) != now
        if is_news:
            with self.store.changing() as con:
                remember_answer(con, job_id, now)
        return answer


def _claims(con: Connection, fit: Fit) -> list[ClaimBeside]:
    """Return the readings that concern a fit; a store without readings is not queried further."""
    if con.execute("select 1 from reading limit 1").fetchone() is None:
        return []
    from matcher.store.readings.claims import claims_of_fit

    return claims_of_fit(con, fit)


def _claims_against_physics(catalog: Catalog, part_id: str) -> list[Claim]:
    """Return the claims of a powered part that were recomputed; nothing is loaded for other parts."""
    powered = "SELECT 1 FROM part WHERE part_id = ? AND family IN ('head_unit', 'amplifier')"
    if catalog.con.execute(powered, [part_id]).fetchone() is None:
        return []
    from matcher.answers.claims import claims_against_physics

    return claims_against_physics(catalog, [part_id])
