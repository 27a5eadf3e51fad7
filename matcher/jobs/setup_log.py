"""A set-up on record: its readings, and its values together with earlier ones."""

from __future__ import annotations

from dataclasses import replace

from catalog_schema.choices import Choice, Setup
from catalog_schema.notation import KEPT
from matcher.errors import InputError
from matcher.jobs.setup import SetupReadings, head_unit, setup_of, with_limit
from matcher.jobs.setup_list import SetupRead, check_values
from matcher.settings import Settings
from matcher.store.database.connection import Connection
from matcher.store.database.kept_documents import stored_job
from matcher.store.database.provenance import check_unsigned, now, who
from matcher.store.database.shop_settings import shop_notation
from matcher.store.readings.readings import add_reading, write_reading
from matcher.store.readings.subjects import find_subject
from matcher.store.records.choices import latest_choice, latest_setup, next_number, save_setup


def record_setup(
    con: Connection,
    job_id: str,
    read: SetupRead,
    settings: Settings,
    *,
    replace_claims: bool,
    note: str | None,
    by: str | None,
) -> Setup:
    """Record what was read as readings of the job and as a set-up, in the current transaction.

    Raises
    ------
    InputError
        if the job is not known, was signed off or has no choice, or a value cannot be read.
    """
    job = stored_job(con, job_id)
    check_unsigned(con, job_id)
    choice = latest_choice(con, job_id)
    if choice is None:
        raise InputError(
            f"nothing was chosen for the job {job_id} yet: a set-up is held against a package",
            fix=f"boltback choose {job_id} K fixes package K",
        )
    if read.is_empty:
        raise InputError("no reading was given", fix=f"boltback setup {job_id} alone tells what to measure")
    subject = find_subject(con, f"job:{job_id}")
    values, known = check_values(subject, read.values, shop_notation(con)), read_before(con, choice)
    output = [
        *{step.step: step for step in (*known.output, *read.steps)}.values()
    ]  # a repeated step replaces the earlier one
    fresh = with_limit(SetupReadings(values, output if read.steps else []))
    whole = SetupReadings({**known.values, **fresh.values}, output)
    replaced = _replaced(choice, whole) if replace_claims else []
    number, by = next_number(con, "setup", job_id), who(by)
    for name, text in fresh.values.items():
        write_reading(con, subject, name, text, by=by, note=f"set-up {number}", notation=KEPT, sure=True)
    setup = replace(
        setup_of(job, choice, whole, settings), number=number, set_up_at=now(con), by=by, note=note, source=read.source
    )
    for name in replaced:
        subject_name, _, field = name.rpartition(".")
        text, why = whole.values["clean_v"], f"set-up {number} of job {job_id}"
        add_reading(con, subject_name, field, text, by=by, note=why, notation=KEPT, sure=True)
    setup = replace(setup, replaced=replaced)
    save_setup(con, setup)
    return setup


def read_before(con: Connection, choice: Choice) -> SetupReadings:
    """Return the values read in earlier set-ups of the same choice."""
    before = latest_setup(con, choice.job_id)
    if before is None or before.choice != choice.number:
        return SetupReadings({}, [])
    return SetupReadings({one.field: one.value for one in before.values}, before.output)


def _replaced(choice: Choice, read: SetupReadings) -> list[str]:
    head = head_unit(choice)
    if head is None or "clean_v" not in read.values:
        why = "the head unit stays" if head is None else "no clean output was read"
        raise InputError(f"there is no claim to be replaced: {why}", fix="leave out --replace-claims")
    return [f"part:{head}.preout_v"]


def setup_record(con: Connection, job_id: str, settings: Settings) -> Setup:
    """Return the latest set-up of the current choice; before the first one, the values to measure."""
    job, choice, found = stored_job(con, job_id), latest_choice(con, job_id), latest_setup(con, job_id)
    if found is not None and choice is not None and found.choice == choice.number:
        return found
    return setup_of(job, choice, SetupReadings({}, []), settings)
