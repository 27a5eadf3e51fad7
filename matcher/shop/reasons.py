"""Why an answer is as it is: what clashes, what would help, what a limit costs, what to measure first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matcher.shop.base import Opened, shop_settings

if TYPE_CHECKING:
    from catalog_schema.whys import Why


class Reasons(Opened):
    """Why an answer is as it is, and what would change it."""

    def why(self, job_id: str, part: str | None = None) -> Why:
        """Why a job has no package and what would help; or why a part is not in its best package.

        Where the job has packages, nothing clashes: the answer shows what nearly limits the best one.

        Parameters
        ----------
        job_id
            A job of the store.
        part
            A part of the catalog to ask about, by its part_id.

        Raises
        ------
        InputError
            where the job or the part is not known.
        """
        from matcher.store.documents import stored_job
        from matcher.store.versions import catalog_version

        with self.store.reading() as con:
            job, version, settings = stored_job(con, job_id), catalog_version(con), shop_settings(con)
            if part is None:
                from matcher.explain.why import answer_why

                return answer_why(con, job, version, settings)
            from matcher.explain.why_part import answer_why_part

            return answer_why_part(con, job, part, version, settings)
