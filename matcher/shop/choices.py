"""Packages chosen for jobs: their current state, orders, set-ups and signatures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart, shop_settings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from catalog_schema.answers import Options
    from catalog_schema.choices import Choice, ChoiceChanges, OpenPoint, OutputStep, Setup, WentOn
    from catalog_schema.terms import Terms
    from matcher.store.database.connection import Connection


class ShopChoices(ShopPart):
    """Packages chosen for jobs: their current state, orders, set-ups and signatures."""

    def choose(
        self,
        job_id: str,
        package: int | str,
        *,
        terms: Terms | None = None,
        note: str | None = None,
        by: str | None = None,
        top: int | None = None,
        seen: tuple[str, Options] | None = None,
    ) -> Choice:
        """Fix a package to a job, as it is ranked now; it replaces an earlier choice, which stays on record.

        Parameters
        ----------
        package
            The package's id, or its rank, as `options` lists them.
        terms
            Terms of the question that override the job's own, as `options` takes them.
        note
            Reason or agreement.
        by
            The person who chooses; by default BOLTBACK_BY, or the system's user.
        top
            Length of the list of packages; by default that of `options`, or the rank itself.
        seen
            The answer with the package, and its `stamp`: the job is not ranked again if the stamp is still valid.

        Raises
        ------
        InputError
            if the job is not known or was signed off, or has no such package on these terms.
        ChangedMeanwhile
            if the answer that was seen is out of date.
        """
        from matcher.answers.options import answer_options
        from matcher.errors import ChangedMeanwhile
        from matcher.jobs.choices import choose_package
        from matcher.search.catalog.catalog import Catalog
        from matcher.store.database.kept_documents import remember_answer, stored_job
        from matcher.store.database.provenance import check_unsigned, now, who
        from matcher.store.database.stamps import catalog_version, stamp_of
        from matcher.store.documents.saving import job_on_terms, typed_terms
        from matcher.store.records.choices import next_number, save_choice

        count = top or max(5, package if isinstance(package, int) else 0)

        def ranked(con: Connection) -> tuple[str, Options]:
            check_unsigned(con, job_id)
            stamp = stamp_of(con, job_id)
            job = job_on_terms(con, job_id, typed_terms(con, terms or {}))
            catalog = Catalog(con, shop_settings(con))
            return stamp, answer_options(catalog, job, count, catalog_version(con))

        found = seen
        if found is None:
            with self.store.reading() as con:  # read only: a writer need not wait
                found = ranked(con)
        with self.store.changing() as con:
            job = stored_job(con, job_id)
            check_unsigned(con, job_id)
            if found[0] != stamp_of(con, job_id):
                if seen is not None:
                    raise ChangedMeanwhile("answer to the job", job_id)
                found = ranked(con)
            answer = found[1]
            number = next_number(con, "choice", job_id)
            typed = typed_terms(con, terms or {})
            choice = choose_package(
                con, job, answer, package, number=number, at=now(con), by=who(by), note=note, terms=typed
            )
            save_choice(con, choice)
            remember_answer(con, job_id, answer.catalog_version)
        return choice

    def latest(self, job_id: str) -> Choice | None:
        """Return the package that is fixed to a job; None if nothing was chosen.

        Raises
        ------
        NotKnown
            if the store holds no such job.
        """
        from matcher.store.database.kept_documents import stored_job
        from matcher.store.records.choices import latest_choice

        with self.store.reading() as con:
            stored_job(con, job_id)
            return latest_choice(con, job_id)

    def all(self, job_id: str) -> list[Choice]:
        """Return every choice of a job, oldest first: the last one counts."""
        from matcher.store.database.kept_documents import stored_job
        from matcher.store.records.choices import choices

        with self.store.reading() as con:
            stored_job(con, job_id)
            return choices(con, job_id)

    def changes(self, job_id: str) -> ChoiceChanges:
        """Return the changes since a package was chosen, every rule evaluated again on today's catalog.

        Raises
        ------
        InputError
            if the job is not known, or nothing was chosen for it.
        """
        from matcher.jobs.changes import changes_since
        from matcher.store.documents.saving import job_on_terms

        choice = self.chosen(job_id)
        with self.store.reading() as con:
            return changes_since(con, job_on_terms(con, job_id, choice.terms), choice, shop_settings(con))

    def chosen(self, job_id: str) -> Choice:
        """Return the package that is fixed to a job.

        Raises
        ------
        InputError
            if the job is not known, or nothing was chosen for it.
        """
        from matcher.errors import InputError

        choice = self.latest(job_id)
        if choice is None:
            raise InputError(
                f"nothing was chosen for the job {job_id} yet", fix=f"boltback choose {job_id} K fixes package K"
            )
        return choice

    def set_up(
        self,
        job_id: str,
        *,
        file: str | Path | None = None,
        steps: Sequence[OutputStep] = (),
        values: Mapping[str, str] | None = None,
        replace_claims: bool = False,
        note: str | None = None,
        by: str | None = None,
    ) -> Setup:
        """Record what was measured at set-up, compared with the chosen package: all of it or nothing.

        Earlier values for the same choice stay unless they are read again.

        Parameters
        ----------
        file
            A list of set-up values: what, where, step, value, clean, tone_db; or a head unit's log alone.
        steps
            Steps of the head unit's volume, in addition to those of the file.
        values
            Fields of the job with their values, as in ``{"gain_v.door": "12.1 V", "rest_ma": "8"}``.
        replace_claims
            Whether the head unit's measured output replaces its claim in the catalog.

        Raises
        ------
        InputError
            if the job is not known, was signed off or has no choice, or a value cannot be read.
        """
        from matcher.jobs.setup_list import SetupRead, Value, read_setup_list
        from matcher.jobs.setup_log import record_setup

        read = SetupRead() if file is None else read_setup_list(Path(file), self.opened.settings().notation())
        read.steps += steps
        read.values += [Value(name, text) for name, text in (values or {}).items()]
        with self.store.changing() as con:
            settings = shop_settings(con)
            return record_setup(con, job_id, read, settings, replace_claims=replace_claims, note=note, by=by)

    def setup_record(self, job_id: str) -> Setup:
        """Return the values measured at set-up; before that, the values to measure.

        Raises
        ------
        NotKnown
            if the store holds no such job.
        """
        from matcher.jobs.setup_log import setup_record

        with self.store.reading() as con:
            return setup_record(con, job_id, shop_settings(con))

    def went_on(self, job_id: str) -> list[WentOn]:
        """Return the orders and signatures of a job given in spite of open points, oldest first."""
        from matcher.jobs.open_points import went_on

        with self.store.reading() as con:
            return went_on(con, job_id)

    def open_to_sign(self, job_id: str) -> list[OpenPoint]:
        """Return the open points of a job before it can be signed off; if empty, `sign` goes through.

        Raises
        ------
        NotKnown
            if the store holds no such job.
        """
        from matcher.jobs.open_points import open_to_sign

        with self.store.reading() as con:
            return open_to_sign(con, job_id, shop_settings(con))

    def sign(self, job_id: str, *, by: str | None, note: str | None = None, anyway: bool = False) -> None:
        """Sign a job off: its terms, choice, set-up and readings are frozen.

        Its head unit and loudspeakers count as fitted before, for every car of the model.

        Parameters
        ----------
        by
            The person who signs, by name or from BOLTBACK_BY.
        note
            What was handed over, or the reason to sign anyway.
        anyway
            Whether to sign in spite of open points: they are logged with the note and printed on the papers.

        Raises
        ------
        StillOpen
            if something is open and `anyway` is not set.
        InputError
            if the job is not known or already signed, or no person is named.
        """
        from matcher.jobs.open_points import check_open, open_to_sign, write_anyway
        from matcher.store.database.kept_documents import stored_job
        from matcher.store.database.provenance import check_unsigned, sign, signer
        from matcher.store.readings.readings import add_fitted
        from matcher.store.records.choices import latest_choice

        with self.store.changing() as con:
            points, name = open_to_sign(con, job_id, shop_settings(con)), signer(by)
            check_unsigned(con, job_id)
            check_open("sign", job_id, points, anyway=anyway, note=note)
            if points:
                write_anyway(con, "sign", job_id, points, note, name)
            choice = latest_choice(con, job_id)
            for line in choice.package.lines if choice is not None else ():
                if line.slot in ("head_unit", "speaker") and line.part_id is not None:
                    opening = f"{stored_job(con, job_id).vehicle_id}/{line.opening_id}"
                    add_fitted(con, line.part_id, opening, line.adapter_id, by=name)
            sign(con, job_id, name, note)
