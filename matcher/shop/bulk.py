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
    """Where nobody listens."""


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
        """Every part against every opening of its kind: what `fit` would say, as Parquet files.

        Parameters
        ----------
        out
            The folder of the matrix. What an earlier run of the same question left there is not asked again.
        vehicle, family
            One vehicle's openings, one family's parts; all of them without.
        alteration
            The step of the alteration ladder at which the verdicts are given.
        every
            Write pairs that do not go in, too; without it they are counted by the rule that refuses them.
        adapters
            Try every adapter of the catalog, too; without it a part goes in as it is.
        on
            An engine to run it on: ``dask://HOST:PORT``, or one of your own; this process without.
        tell
            Is told what is being done.

        Raises
        ------
        InputError
            if a name is not known, the folder cannot be written, or the engine does not answer.
        """
        from matcher.search.matrix.engines import engine_of
        from matcher.search.matrix.run import MatrixContents, kinds_asked, run_matrix
        from matcher.store.catalog.openings import opening_kinds
        from matcher.store.maintenance.archive import archived

        check_step(alteration)
        wanted = MatrixContents(kinds_asked(family), vehicle, step_rank(alteration), every, adapters)
        engine = engine_of(on)
        if vehicle is not None:
            with self.store.reading() as con:
                opening_kinds(con, vehicle)
                if (subject := f"vehicle:{vehicle}") in archived(con):
                    raise InputError(f"{subject} is archived", fix=f"boltback unarchive {subject}")
        return run_matrix(self.store, Path(out), wanted, engine, tell)
