"""Packages fixed to jobs: their parts, and every figure they relied on."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

from catalog_schema.answers import Link, Options, Package
from catalog_schema.choices import Choice, PartChosen, Relied
from catalog_schema.columns import TableColumn, columns_of, family_columns
from catalog_schema.jobs import Job
from catalog_schema.vehicles import Electrical, Runs
from matcher.answers.feeding import HOW, channels_say
from matcher.answers.package_notes import evidence_notes, notes_again
from matcher.answers.undo import undo_steps
from matcher.errors import InputError
from matcher.store.catalog.openings import opening_kinds
from matcher.store.catalog.overlay import LATEST
from matcher.store.database.connection import Connection, records
from matcher.store.database.tables import opening_columns

NO_FIGURES = frozenset(
    {"part_id", "maker", "model", "price", "stock", "lead_days", "basis", "source", "notes", "opening_id", "label"}
)
"""Fields that no rule compares; price, stock and lead time are kept with the part."""


def choose_package(
    con: Connection,
    job: Job,
    answer: Options,
    wanted: int | str,
    *,
    number: int,
    at: str,
    by: str,
    note: str | None,
    terms: dict[str, Any],
) -> Choice:
    """Return the package with this rank or id as a choice.

    Raises
    ------
    InputError
        if the answer has no such package.
    """
    package = _shown(answer, wanted)
    if package is None:
        listed = len(answer.packages)
        have = (
            f"it has {listed}" if listed else f"nothing fits it: {answer.conflicts[0].says}" if answer.conflicts else ""
        )
        fix = f"boltback options {job.job_id} lists them"
        if isinstance(wanted, str):
            fix += "; give the same terms, and the same --top, as when it was shown"
        raise InputError(f"the job {job.job_id} has no package {wanted}; {have}", fix=fix)
    row = con.execute("select word from word_setting where name = 'currency'").fetchone()
    return Choice(
        job_id=job.job_id,
        vehicle_id=job.vehicle_id,
        number=number,
        rank=package.rank,
        catalog_version=answer.catalog_version,
        chosen_at=at,
        by=by,
        note=note,
        currency=row[0] if row else "",
        package=package,
        ahead=[signs(one) for one in answer.packages if one.rank < package.rank],
        parts=parts_chosen(con, package),
        figures=list(figures_of(con, job.vehicle_id, package)),
        cautions=answer.cautions,
        terms=terms,
    )


def _shown(answer: Options, wanted: int | str) -> Package | None:
    """Return the package with this rank or id; the best package at a budget can be chosen by its id, too."""
    if isinstance(wanted, int):
        return next((one for one in answer.packages if one.rank == wanted), None)
    shown = [*answer.packages, *(tier.package for tier in answer.tiers if tier.package is not None)]
    return next((one for one in shown if one.id == wanted), None)


def with_sentences(choice: Choice) -> Choice:
    """Return a kept choice with its sentences as data again: a document stores only their text.

    A sentence whose wording has changed since stays as it was kept.
    """
    package = choice.package
    steps = {step: step for step in undo_steps(package.lines)}
    undo = [steps.get(step, step) for step in package.undo]
    links = [replace(link, channels=_channels(link)) for link in package.links]
    settled = {note: note for note in evidence_notes(package.checks)}
    notes = notes_again([settled.get(note, note) for note in package.notes], list(package.bought()))
    return replace(choice, package=replace(package, undo=undo, links=links, notes=notes))


def _channels(link: Link) -> str:
    count = link.channels.partition(" ")[0]
    anew = channels_say(link.mode, count, link.net) if link.mode in HOW else ""
    return anew if anew == link.channels else link.channels


def signs(package: Package) -> list[str]:
    """Key that identifies a package at the counter: each part at its place, with its adapter."""
    return [
        f"{line.opening_id or line.slot}: {' + '.join(filter(None, (line.part_id or 'original', line.adapter_id)))}"
        for line in package.lines
    ]


def parts_chosen(con: Connection, package: Package) -> list[PartChosen]:
    """Return the parts to order, each once, in the order of the lines and the kit."""
    packs = package.bought()
    found = part_rows(con, packs)
    return [_chosen(found[name], count) for name, count in packs.items() if name in found]


def _chosen(row: dict[str, Any], count: int) -> PartChosen:
    names = ("part_id", "family", "maker", "model", "price", "supplier", "stock", "lead_days")
    return PartChosen(**{name: row[name] for name in names}, pack_of=row["pack_of"] or 1, qty=count)


def part_rows(con: Connection, part_ids: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the current rows of some parts, each with its family and supplier."""
    names = list(part_ids)
    families = con.execute(
        "select family, list(part_id) from part where part_id in (select unnest(?::varchar[])) group by family", [names]
    ).fetchall()
    return {
        row["part_id"]: {"family": family, **row}
        for family, some in families
        for row in records(
            con,
            f"select f.*, r.supplier, r.cell_basis from {family} f left join {family}_rows r "
            "on r.part_id = f.part_id and r.until is null where f.part_id in (select unnest(?::varchar[]))",
            some,
        )
    }


def figures_of(con: Connection, vehicle_id: str, package: Package) -> Iterator[Relied]:
    """Yield every known figure of a package's parts, of their openings, and of the vehicle."""
    measured = set(con.execute(f"select subject, field from {LATEST}").fetchall())
    parts = sorted({name for line in package.lines for name in (line.part_id, line.adapter_id) if name})
    for name, row in part_rows(con, parts).items():
        bases = json.loads(row["cell_basis"]) if row["cell_basis"] else {}
        yield from _figures(f"part:{name}", row, family_columns(row["family"]), bases, measured)
    kinds = opening_kinds(con, vehicle_id)
    for place in sorted({line.opening_id for line in package.lines if line.opening_id}):
        for row in _rows(con, f"opening_{kinds[place]}", vehicle_id, place):
            subject = f"opening:{vehicle_id}/{place}"
            yield from _figures(subject, row, opening_columns(kinds[place]), {}, measured)
    for row in records(con, "select * from vehicle where vehicle_id = ?", vehicle_id):
        supply = [*columns_of(Electrical), *columns_of(Runs)]
        yield from _figures(f"vehicle:{vehicle_id}", row, supply, {}, measured)


def _rows(con: Connection, table: str, vehicle_id: str, opening_id: str) -> list[dict[str, Any]]:
    return records(con, f"select * from {table} where vehicle_id = ? and opening_id = ?", vehicle_id, opening_id)


def _figures(
    subject: str,
    row: dict[str, Any],
    columns: Iterable[TableColumn],
    bases: dict[str, str],
    measured: set[tuple[str, str]],
) -> Iterator[Relied]:
    for column in columns:
        value = row.get(column.name)
        if value is None or column.name in NO_FIGURES:
            continue
        yield Relied(
            subject=subject,
            field=column.name,
            value=as_text(value),
            tol=row.get(column.tol_name) if column.is_figure else None,
            basis=bases.get(column.name) or row.get("basis") or "",
            measured=(subject, column.name) in measured,
        )


def as_text(value: Any) -> str:
    """Format a cell as people write it: a number without trailing zeros, a list separated by semicolons."""
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ";".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
