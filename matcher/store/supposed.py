"""Readings that nobody has taken: supposed for the length of a question, then forgotten."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress

import duckdb

from catalog_schema.columns import Column
from catalog_schema.notation import KEPT
from matcher.store.connection import Connection, Interrupted
from matcher.store.listed import KEEP_CLEAR, PANES
from matcher.store.readings import lay_over, write_reading
from matcher.store.subjects import Subject, find_subject

LISTED = (KEEP_CLEAR.stem, PANES.stem)
"""Fields of a subject that are lists: what stands in them has names of its own, and these may hold dots."""


Subjects = dict[str, Subject]
"""What readings may be of, by name, looked up once."""


@contextmanager
def supposed(con: Connection, figures: Mapping[str, object], known: Subjects | None = None) -> Iterator[None]:
    """Within it some figures, as ``subject.field``, count as if they had been read exactly; nothing is kept."""
    try:
        con.execute("begin transaction")
    except Interrupted:
        with suppress(duckdb.TransactionException):  # it may not have begun
            _forget(con)
        raise
    try:
        _read(con, figures, {} if known is None else known)
        yield
    finally:
        _forget(con)


def _read(con: Connection, figures: Mapping[str, object], known: Subjects) -> None:
    """Write the readings down, and lay them over what there is in one go."""
    touched: dict[tuple[str, str], Subject] = {}
    for name, value in figures.items():
        subject, field = subject_of(con, name, known), split_figure(name)[1]
        write_reading(
            con, subject, field, value, tol=0 if subject.column(field).is_figure else None, notation=KEPT, sure=True
        )
        touched[subject.table, "" if subject.kind == "part" else subject.name.partition("/")[0]] = subject
    for subject in touched.values():
        lay_over(con, subject)


def _forget(con: Connection) -> None:
    """Take the transaction back, though somebody who breaks off what runs may break off this as well."""
    try:
        con.execute("rollback")
    except Interrupted:
        with suppress(duckdb.TransactionException):  # it may have been taken back before it was broken off
            _forget(con)


def split_figure(name: str) -> tuple[str, str]:
    """The subject and the field of a figure's name.

    >>> split_figure("part:00123.depth_mm"), split_figure("opening:tern/dash.keep_clear.hazard switch.y_mm")
    (('part:00123', 'depth_mm'), ('opening:tern/dash', 'keep_clear.hazard switch.y_mm'))
    """
    for word in LISTED:
        subject, dot, field = name.partition(f".{word}.")
        if dot:
            return subject, f"{word}.{field}"
    subject, _, field = name.rpartition(".")
    return subject, field


def subject_of(con: Connection, name: str, known: Subjects) -> Subject:
    """What a figure is of."""
    text = split_figure(name)[0]
    if text not in known:
        known[text] = find_subject(con, text)
    return known[text]


def column_of(con: Connection, name: str, known: Subjects) -> Column:
    """The column in which a figure stands."""
    return subject_of(con, name, known).column(split_figure(name)[1])
