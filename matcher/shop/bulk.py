"""Questions to a whole catalog at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from catalog_schema.ladder import DEFAULT_STEP, step_rank
from matcher.errors import InputError
from matcher.shop.base import Opened, check_step

if TYPE_CHECKING:
    from matcher.search.matrix.engines import Engine
    from matcher.search.matrix.run import Matrix


def _quiet(text: str) -> None:
    """Report no progress."""


class Bulk(Opened):
    """Questions to a whole catalog at once."""

    def matrix(
        self,
        out: str | Path,
        *,
        vehicle: str | None = None,
        family: str | None = None,
        alteration: str = DEFAULT_STEP,
        every: bool = False,
        adapters: bool = False,
        on: str | Engine | None = None,
        tell: Callable[[str], None] = _quiet,
    ) -> Matrix:
        """Check every part at every opening of its kind, as `fit` does, and write Parquet files.

        Parameters
        ----------
        out
            The folder of the matrix. Results that an earlier run of the same question left there are kept.
        vehicle, family
            Only this vehicle's openings, only this family's parts; all by default.
        alteration
            The step of the alteration ladder for the verdicts.
        every
            Write pairs that do not fit, too; by default they are only counted by the failed rule.
        adapters
            Try every adapter of the catalog, too; by default each part is checked without one.
        on
            An engine to run it on: ``dask://HOST:PORT``, or one of your own; by default this process.
        tell
            Called with the progress.

        Raises
        ------
        InputError
            if a name is not known, the folder cannot be written, or the engine does not answer.
        """
        from matcher.search.matrix.engines import engine_of
        from matcher.search.matrix.run import MatrixContents, kinds_wanted, run_matrix
        from matcher.store.catalog.openings import opening_kinds
        from matcher.store.maintenance.archive import archived

        check_step(alteration)
        wanted = MatrixContents(kinds_wanted(family), vehicle, step_rank(alteration), every, adapters)
        engine = engine_of(on)
        if vehicle is not None:
            with self.store.reading() as con:
                opening_kinds(con, vehicle)
                if (subject := f"vehicle:{vehicle}") in archived(con):
                    raise InputError(f"{subject} is archived", fix=f"boltback unarchive {subject}")
        return run_matrix(self.store, Path(out), wanted, engine, tell)
