"""Readings that nobody has taken, written into the store for the length of a question: what supposing has to equal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from catalog_schema.notation import KEPT
from matcher.store.database.connection import Connection
from matcher.store.readings.readings import lay_over, write_reading
from matcher.store.readings.subjects import ReadingSubject, find_subject, split_figure


@contextmanager
def supposed(con: Connection, figures: Mapping[str, object]) -> Iterator[None]:
    """Within it some figures, as ``subject.field``, count as if they had been read exactly; nothing is kept."""
    con.execute("begin transaction")
    try:
        _read(con, figures)
        yield
    finally:
        con.execute("rollback")


def _read(con: Connection, figures: Mapping[str, object]) -> None:
    touched: dict[tuple[str, str], ReadingSubject] = {}
    for name, value in figures.items():
        text, field = split_figure(name)
        subject = find_subject(con, text)
        write_reading(
            con, subject, field, value, tol=0 if subject.column(field).is_figure else None, notation=KEPT, sure=True
        )
        touched[subject.table, "" if subject.kind == "part" else subject.name.partition("/")[0]] = subject
    for subject in touched.values():
        lay_over(con, subject)
