"""Readings that nobody has taken: supposed for the length of a question, then forgotten."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress

import duckdb

from catalog_schema.columns import Column
from matcher.store.connection import Connection, Interrupted
from matcher.store.listed import KEEP_CLEAR, PANES
from matcher.store.readings import add_reading
from matcher.store.subjects import find_subject

LISTED = (KEEP_CLEAR.stem, PANES.stem)
"""Fields of a subject that are lists: what stands in them has names of its own, and these may hold dots."""


@contextmanager
def supposed(con: Connection, figures: Mapping[str, object]) -> Iterator[None]:
    """Within it some figures, as ``subject.field``, count as if they had been read exactly; nothing is kept."""
    try:
        con.execute("begin transaction")
    except Interrupted:
        with suppress(duckdb.TransactionException):  # it may not have begun
            _forget(con)
        raise
    try:
        for name, value in figures.items():
            subject, field = split_figure(name)
            tol = 0 if column_of(con, name).is_figure else None
            add_reading(con, subject, field, value, tol=tol)
        yield
    finally:
        _forget(con)


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


def column_of(con: Connection, name: str) -> Column:
    """The column in which a figure stands."""
    subject, field = split_figure(name)
    return find_subject(con, subject).column(field)
