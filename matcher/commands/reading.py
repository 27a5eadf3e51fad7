"""Readings: record measured values, and compare them with claims."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import (
    ByOption,
    JsonOption,
    StoreOption,
    SureOption,
    open_shop,
    print_json,
    print_table,
    say,
)
from matcher.commands.catalog_words import figure_text

if TYPE_CHECKING:
    from matcher.store.readings.readings import Reading

reading_app = typer.Typer(help="Readings: what was measured since.", no_args_is_help=True)


@reading_app.command("add")
def add(
    subject: Annotated[str, typer.Argument(help="part:ID, opening:VEHICLE/OPENING, vehicle:ID or job:ID.")],
    field: Annotated[str, typer.Argument(help="The field, such as depth_mm.")],
    value: Annotated[str, typer.Argument(help="What was found, such as 61, '2 3/8 in', moving_glass.")],
    tol: Annotated[
        str | None, typer.Option("--tol", help="How far off it may be, either way.", show_default=False)
    ] = None,
    basis: Annotated[
        str | None, typer.Option("--basis", help="measured, caliper, maker or estimate. [default: measured]")
    ] = None,
    by: Annotated[str | None, typer.Option("--by", help="Who measured.", show_default=False)] = None,
    note: Annotated[str | None, typer.Option("--note", help="Where, how, at which step.", show_default=False)] = None,
    sure: SureOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a reading: it counts from now on."""
    shop = open_shop(store)
    reading = shop.readings.add(subject, field, value, tol=tol, basis=basis, by=by, note=note, sure=sure)
    if as_json:
        print_json(_document(reading))
        return
    claim = next((one for one in shop.readings.beside_claims(subject) if one.field == field), None)
    before = (
        "nothing was claimed"
        if claim is None or claim.claimed is None
        else f"claimed {figure_text(claim.claimed, field)}"
    )
    say(f"{subject} {field} is {_value(reading)} ({reading.basis}); {before}")


@reading_app.command("load")
def load(
    file: Annotated[Path, typer.Argument(help="A list with subject, field, value; tol, basis, by, at, note.")],
    sure: SureOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a list of readings, all of them or none."""
    readings = open_shop(store).readings.load(file, sure=sure)
    if as_json:
        print_json({"readings": [_document(reading) for reading in readings]})
    else:
        say(f"{len(readings)} readings were written down")


@reading_app.command("fitted")
def fitted(
    part: Annotated[str, typer.Argument(help="The head unit or loudspeaker that was fitted.", show_default=False)],
    opening: Annotated[str, typer.Argument(help="Where it was fitted: VEHICLE/OPENING.", show_default=False)],
    adapter: Annotated[str | None, typer.Option(help="The adapter it was fitted with.", show_default=False)] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record that a part was fitted: evidence for this model of car if the figures leave it open."""
    reading = open_shop(store).readings.add_fitted(part, opening, adapter, by=by)
    if as_json:
        print_json(_document(reading))
        return
    say(f"{part} was fitted in {opening}: a fit that its figures leave open is settled by it")


@reading_app.command("void")
def void(
    number: Annotated[int, typer.Argument(help="The reading's number, as list shows it.", show_default=False)],
    note: Annotated[str | None, typer.Option("--note", help="What was wrong with it.", show_default=False)] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Mark a reading as wrong: it is kept, and the earlier reading or claim counts again."""
    shop = open_shop(store)
    reading = shop.readings.void(number, note=note, by=by)
    if as_json:
        print_json(_document(reading))
        return
    name = f"{reading.subject} {reading.field}"
    before = next((r for r in shop.readings.all(reading.subject) if r.field == reading.field and r.counts), None)
    now = "the claim counts again" if before is None else f"reading {before.reading_id} counts: {_value(before)}"
    say(f"reading {number} is voided: {name} {_value(reading)}; {now}")


@reading_app.command("list")
def list_(
    subject: Annotated[str | None, typer.Argument(help="A subject; all where none is given.")] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """List readings, the latest of each field with the claim."""
    shop = open_shop(store)
    readings = shop.readings.all(subject)
    subjects = sorted({reading.subject for reading in readings if reading.counts}) if subject is None else [subject]
    claims = (
        {} if subject is None else {one.field: one for name in subjects for one in shop.readings.beside_claims(name)}
    )
    if as_json:
        documents = [_document(reading) | _claimed(claims.get(reading.field), reading) for reading in readings]
        print_json({"readings": documents})
        return
    rows = [_cells(reading, claims.get(reading.field)) for reading in readings]
    heads = ["number", "at", "subject", "field", "value", "basis", "by", "note", "claimed"]
    print_table(heads, rows, right=frozenset({0}))


def _document(reading: Reading) -> dict[str, Any]:
    from catalog_schema.answers import to_plain

    document: dict[str, Any] = json.loads(json.dumps(to_plain(reading), default=str))
    return document


def _claimed(claim: Any, reading: Reading) -> dict[str, Any]:
    from catalog_schema.answers import to_plain

    if claim is None or not reading.counts:
        return {}
    return {"claimed": to_plain(claim.claimed), "claimed_basis": claim.claimed_basis}


def _value(reading: Reading) -> str:
    return figure_text(reading.figure, reading.field)


def _cells(reading: Reading, claim: Any) -> list[str]:
    tol = "" if reading.tol is None else f" ±{figure_text(reading.tol, reading.field)}"
    claimed = figure_text(claim.claimed, claim.field) if claim is not None and reading.counts else ""
    note, mark = reading.note or "", "" if reading.counts else " (older)"
    if reading.voided is not None:
        voided = f"voided by {reading.voided.by} at {reading.voided.at:%Y-%m-%d %H:%M}: {reading.voided.note}"
        note, mark = "; ".join(filter(None, (note, voided))), " (voided)"
    return [
        str(reading.reading_id),
        f"{reading.read_at:%Y-%m-%d %H:%M}",
        reading.subject,
        reading.field,
        f"{_value(reading)}{tol}{mark}",
        reading.basis,
        reading.by or "",
        note,
        claimed,
    ]
