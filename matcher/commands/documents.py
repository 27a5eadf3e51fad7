"""Vehicles and jobs: load files, show stored documents."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import (
    ByOption,
    ForceOption,
    JobArgument,
    JsonOption,
    StoreOption,
    SureOption,
    open_shop,
    print_json,
    print_table,
    say,
    store_path,
)
from matcher.commands.terms import by_name, on_terms

if TYPE_CHECKING:
    from catalog_schema.jobs import Job

vehicle_app = typer.Typer(help="Vehicles, as measured.", no_args_is_help=True)
job_app = typer.Typer(help="Jobs: one customer's car, wishes and limits.", no_args_is_help=True)

LabelOption = Annotated[str | None, typer.Option("--label", help="Name at the counter, or none.", show_default=False)]
NotesOption = Annotated[str | None, typer.Option("--notes", help="Anything else, or none.", show_default=False)]
ArchivedOption = Annotated[bool, typer.Option("--archived", help="List those archived.")]
FileArgument = Annotated[list[Path], typer.Argument(help="JSON files.", show_default=False)]


@vehicle_app.command("load")
def load_vehicle(
    files: FileArgument,
    sure: SureOption = False,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Load vehicles, each in place of one with the same name: all of the files or none."""
    names = open_shop(store).vehicles.load_all(*files, by=by, sure=sure)
    if as_json:
        print_json({"vehicles": names})
    else:
        say("\n".join(f"vehicle {name} is in the store" for name in names))


@vehicle_app.command("new")
def new_vehicle(
    vehicle: Annotated[str, typer.Argument(help="The new vehicle's short name.", show_default=False)],
    like: Annotated[
        str | None, typer.Option("--like", help="A vehicle of the model: its figures are taken over.")
    ] = None,
    opening: Annotated[
        list[str] | None, typer.Option("--opening", help="An opening and its kind: door=speaker. Repeatable.")
    ] = None,
    label: LabelOption = None,
    year: Annotated[str | None, typer.Option("--year", help="The year it was built.", show_default=False)] = None,
    body: Annotated[str | None, typer.Option("--body", help="The kind of its body.", show_default=False)] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Begin a vehicle with openings to be measured, or from a similar one that was measured before."""
    fields = {name: value for name, value in (("label", label), ("year", year), ("body", body)) if value}
    openings = by_name("opening", opening or [], "door=speaker")
    taken = open_shop(store).vehicles.new(vehicle, like=like, openings=openings, fields=fields, by=by)
    if as_json:
        print_json({"vehicle_id": vehicle, "like": like, "taken_over": taken})
        return
    outcome = f"{taken} lengths taken over from {like}, to be checked on this car" if like else "nothing measured yet"
    say(f"vehicle {vehicle} is in the store, {outcome}: boltback reading add opening:{vehicle}/OPENING FIELD VALUE")


@vehicle_app.command("show")
def show_vehicle(
    vehicle: Annotated[str | None, typer.Argument(help="The vehicle's name; all where none is given.")] = None,
    archived: ArchivedOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show a vehicle with its openings, or list the vehicles."""
    answer = open_shop(store).vehicles.get(vehicle) if vehicle else open_shop(store).vehicles.all(archived=archived)
    if as_json:
        print_json(answer.to_dict())
        return
    print_table(*answer.table())


@job_app.command("load")
def load_job(
    files: FileArgument,
    sure: SureOption = False,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Load jobs, each in place of one with the same name."""
    names = open_shop(store).jobs.load_all(*files, by=by, sure=sure)
    if as_json:
        print_json({"jobs": names})
    else:
        say("\n".join(f"job {name} is in the store" for name in names))


@job_app.command("new")
@on_terms
def new_job(
    job: Annotated[str, typer.Argument(help="The new job's short name.", show_default=False)],
    vehicle: Annotated[str, typer.Option("--vehicle", help="The vehicle it is about.", show_default=False)],
    label: LabelOption = None,
    notes: NotesOption = None,
    *,
    terms: dict[str, Any],
    sure: SureOption = False,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Begin a job on a vehicle; terms that are not given stay open, and job edit changes them."""
    made = open_shop(store).jobs.new(job, vehicle, _worded(terms, label, notes), by=by, sure=sure)
    _tell_job(made, f"job {job} is in the store: boltback options {job}", as_json=as_json)


@job_app.command("edit")
@on_terms
def edit_job(
    job: JobArgument,
    label: LabelOption = None,
    notes: NotesOption = None,
    *,
    terms: dict[str, Any],
    sure: SureOption = False,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Change some terms of a job; the others stay as they are."""
    made = open_shop(store).jobs.edit(job, _worded(terms, label, notes), by=by, sure=sure)
    _tell_job(made, f"job {job} is changed: boltback job show {job}", as_json=as_json)


def _worded(terms: dict[str, Any], label: str | None, notes: str | None) -> dict[str, Any]:
    return {name: text for name, text in (("label", label), ("notes", notes)) if text} | terms


def _tell_job(made: Job, says: str, *, as_json: bool) -> None:
    from catalog_schema.answers import to_plain

    if as_json:
        print_json(to_plain(made))
    else:
        say(says)


@job_app.command("supersede")
def supersede_job(
    job: Annotated[str, typer.Argument(help="A job, signed off or not.", show_default=False)],
    new: Annotated[str, typer.Argument(help="The new job's name.", show_default=False)],
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make a new job that replaces another, with its terms and its choice; the old one stays as it is."""
    made = open_shop(store).jobs.supersede(job, new, by=by)
    if as_json:
        print_json({"job": made, "supersedes": job})
    else:
        say(f"job {made} is in the store, in the place of {job}")


OutOption = Annotated[
    Path | None, typer.Option("--out", help="The file to write. [default: to the terminal]", show_default=False)
]


@vehicle_app.command("export")
def export_vehicle(
    vehicle: Annotated[str, typer.Argument(help="The vehicle's name.", show_default=False)],
    out: OutOption = None,
    force: ForceOption = False,
    store: StoreOption = None,
) -> None:
    """Write a measured vehicle as one JSON document for another shop, with its readings, their authors and times."""
    _write_out(open_shop(store).vehicles.export(vehicle), f"vehicle {vehicle}", "vehicle", out, force, store)


@vehicle_app.command("import")
def import_vehicle(
    file: Annotated[Path, typer.Argument(help="What vehicle export wrote.", show_default=False)],
    name: Annotated[
        str | None, typer.Option("--as", help="Its name here. [default: as there]", show_default=False)
    ] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Import a vehicle that another shop measured; its lengths have a wider tolerance until checked here."""
    vehicle_id, lengths = open_shop(store).vehicles.import_file(file, name, by=by)
    _tell_taken({vehicle_id: lengths}, as_json=as_json)


@vehicle_app.command("attach")
def attach_vehicles(
    folder: Annotated[Path, typer.Argument(help="The folder of published catalogs.", show_default=False)],
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Import the vehicles of another shop's published catalog; when repeated, only its later measurements."""
    _tell_taken(open_shop(store).sharing.attach_vehicles(folder, by=by), as_json=as_json)


def _tell_taken(taken: dict[str, int], *, as_json: bool) -> None:
    if as_json:
        print_json({"vehicles": taken})
        return
    for vehicle_id, lengths in taken.items():
        say(f"vehicle {vehicle_id} is in the store; {lengths} lengths taken over, to be checked on this car")
    if not taken:
        say("all that was measured there is here already")


def _write_out(
    document: dict[str, Any], what: str, group: str, out: Path | None, force: bool, store: Path | None
) -> None:
    from matcher.store.database.durable import check_target, write_file

    if out is None:
        print_json(document)
        return
    check_target(out, force=force, reads=[store_path(store)])
    write_file(out, json.dumps(document, ensure_ascii=False, indent=2) + "\n")
    say(f"{what} is in {out}: boltback {group} import {out} takes it into another store")


@job_app.command("export")
def export_job(job: JobArgument, out: OutOption = None, force: ForceOption = False, store: StoreOption = None) -> None:
    """Write a whole job as one JSON document: vehicle, terms, parts, readings, choices, set-ups."""
    _write_out(open_shop(store).jobs.export(job), f"job {job}", "job", out, force, store)


@job_app.command("import")
def import_job(
    file: Annotated[Path, typer.Argument(help="What job export wrote.", show_default=False)],
    keep_parts: Annotated[
        bool, typer.Option("--keep-parts", help="A part that says otherwise here stays as it is here.")
    ] = False,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Import a whole job of another store: all of it, or nothing if it conflicts with this store."""
    from catalog_schema.answers import to_plain

    found = open_shop(store).jobs.import_file(file, keep_parts=keep_parts, by=by)
    if as_json:
        print_json(to_plain(found))
        return
    vehicle = f"vehicle {found.vehicle_id}{'' if found.vehicle_is_new else ' was here'}"
    say(
        f"job {found.job_id} is in the store; {vehicle}; {found.parts_new} parts new, {found.parts_kept} as here; "
        f"{found.readings} readings, {found.choices} choices, {found.setups} set-ups"
    )


@job_app.command("show")
def show_job(
    job: Annotated[str | None, typer.Argument(help="The job's name; all where none is given.")] = None,
    archived: ArchivedOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show a job with its limits and wishes, or list the jobs; the JSON form can be loaded with job load."""
    shop = open_shop(store)
    if as_json:
        from catalog_schema.answers import to_plain

        print_json(to_plain(shop.jobs.document(job).document) if job else shop.jobs.all(archived=archived).to_dict())
        return
    print_table(*(shop.jobs.get(job) if job else shop.jobs.all(archived=archived)).table())
