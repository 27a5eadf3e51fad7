"""A vehicle's or a job's document as the store keeps it, with a mark that tells one state of it from another.

Whoever changes a document names the mark of the one he saw: so no change is lost because two people
worked on the same thing.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from catalog_schema.checks import to_plain
from catalog_schema.documents import parse_json
from matcher.errors import ChangedMeanwhile, InputError, NotKnown
from matcher.store.connection import Connection
from matcher.store.documents import save_job, save_vehicle

SAVERS: dict[str, Callable[..., str]] = {"vehicle": save_vehicle, "job": save_job}
"""How each kind of document is taken in."""


@dataclass(frozen=True, slots=True)
class KeptDocument:
    """A document as it stands, and the mark of this state."""

    name: str
    document: dict[str, Any]
    mark: str


def mark_of(text: str) -> str:
    """The mark of a document's text: any other text has another.

    >>> mark_of("{}")
    '44136fa355b3678a'
    """
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def kept_document(con: Connection, kind: str, name: str) -> KeptDocument:
    """A document by its name.

    Parameters
    ----------
    kind
        ``vehicle`` or ``job``.

    Raises
    ------
    NotKnown
        where the store holds none of that name.
    """
    row = con.execute(f"select document from {kind} where {kind}_id = $1", [name]).fetchone()
    if row is None:
        known = [other for (other,) in con.execute(f"select {kind}_id from {kind} order by 1").fetchall()]
        raise NotKnown(kind, name, known, cure=f"`boltback {kind} load FILE` takes one in")
    return KeptDocument(name, parse_json(row[0].removeprefix("\ufeff")), mark_of(row[0]))


def change_document(
    con: Connection,
    kind: str,
    document: Mapping[str, Any],
    mark: str | None,
    by: str | None = None,
    *,
    sure: bool = False,
) -> KeptDocument:
    """Keep a document in place of the one that had ``mark``, or as a new one where that is None.

    ``sure``: its figures are right, however unusual.

    Raises
    ------
    ChangedMeanwhile
        where another document took its place since.
    InputError
        where a new one has the name of one that is there already.
    FileRefused
        with every fault of the document.
    DoubtfulFigures
        with every unusual figure that it did not have before.
    """
    name = str(document.get(f"{kind}_id") or "")
    row = con.execute(f"select document from {kind} where {kind}_id = $1", [name]).fetchone()
    if row is not None and mark is None:
        raise InputError(f"there is a {kind} {name!r} already", cure="give it another name")
    if mark is not None and row is not None and mark_of(row[0]) != mark:
        raise ChangedMeanwhile(kind, name)
    if mark is not None and row is None:
        raise NotKnown(kind, name, [])
    text = json.dumps(to_plain(document), ensure_ascii=False, indent=2)
    SAVERS[kind](con, text, f"the {kind}", by, sure=sure)
    return KeptDocument(name, parse_json(text), mark_of(text))
