"""Doubtful readings: unusual values, or contradictions to another figure of the part."""

from __future__ import annotations

from catalog_schema.doubts import Doubt, figure_doubt, row_doubts
from matcher.store.database.connection import Connection
from matcher.store.readings.subjects import ReadingSubject


def reading_doubts(con: Connection, subject: ReadingSubject, field: str, value: object) -> list[Doubt]:
    """Return the doubts about one reading, given the part's other current figures."""
    if subject.kind == "part":
        return _part_doubts(con, subject, field, value)
    name = field.removeprefix("cut_").removeprefix("original_") if subject.kind == "opening" else field
    listed = name.split(".")
    row = listed[0] if subject.kind == "job" else listed[-1]
    doubt = figure_doubt(subject.model(field), row, value, place=field)
    return [] if doubt is None else [doubt]


def _part_doubts(con: Connection, subject: ReadingSubject, field: str, value: object) -> list[Doubt]:
    table = subject.table if _is_offered(con, subject) else f"{subject.table}_rows"
    names = [column.name for column in subject.columns]
    listed = ", ".join(f'"{name}"' for name in names)
    row = con.execute(f"select {listed} from {table} where part_id = $1 limit 1", [subject.name]).fetchone()
    held = dict(zip(names, row or (), strict=False))
    return [one for one in row_doubts(subject.table, held | {field: value}) if field in one.names]


def _is_offered(con: Connection, subject: ReadingSubject) -> bool:
    """Whether the part is in the catalog today; a withdrawn one may still be measured."""
    query = f"select 1 from {subject.table} where part_id = $1 limit 1"
    return con.execute(query, [subject.name]).fetchone() is not None
