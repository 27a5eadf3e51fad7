"""Figures that a new version of a list leaves empty, kept as readings on request."""

from __future__ import annotations

import json

from catalog_schema.columns import family_columns
from catalog_schema.parts import FAMILIES
from matcher.store.database.connection import Connection, records
from matcher.store.database.stamps import catalog_version
from matcher.store.importing.history import check_version, rows_at
from matcher.store.readings.readings import Reading, lay_over, list_readings, write_reading
from matcher.store.readings.subjects import find_subject


def keep_emptied(con: Connection, version: int | None = None, by: str | None = None) -> list[Reading]:
    """Record the figures that a version emptied, and that are still unknown, as readings.

    Parameters
    ----------
    version
        The version of the catalog; by default the latest.

    Raises
    ------
    InputError
        if there is no such version.
    """
    number = catalog_version(con) if version is None else version
    check_version(con, number)
    read = {(one.subject, one.field) for one in list_readings(con) if one.counts}
    kept: set[int] = set()
    for family in FAMILIES if number else ():
        for row in records(con, _emptied(family, number)):
            subject = find_subject(con, f"part:{row['part_id']}")
            bases = json.loads(row["cell_basis"] or "{}")
            for column in family_columns(family):
                value = row[column.name]
                if value is None or row[f"now_{column.name}"] is not None or (str(subject), column.name) in read:
                    continue
                tol = row[column.tol_name] if column.is_figure else None
                basis = bases.get(column.name, row["basis"]) or "maker"
                note = f"as the list said before version {number} of the catalog"
                value = ";".join(value) if isinstance(value, list) else value
                kept.add(write_reading(con, subject, column.name, value, tol=tol, basis=basis, by=by, note=note))
            lay_over(con, subject)
    return [one for one in list_readings(con) if one.reading_id in kept]


def _emptied(family: str, version: int) -> str:
    """SQL for the parts that a version changed: their claims before it, and now."""
    names = [column.name for column in family_columns(family)]
    now = ", ".join(f'a."{name}" as "now_{name}"' for name in names)
    lost = " or ".join(f'(b."{name}" is not null and a."{name}" is null)' for name in names)
    return (
        f"select b.*, {now} from {rows_at(family, version - 1)} b "
        f"join {family}_rows a on a.part_id = b.part_id and a.until is null and a.since >= {version} "
        f"where ({lost}) order by b.part_id"
    )
