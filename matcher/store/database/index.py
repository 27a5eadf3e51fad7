"""The catalog's index: each column of a family as its distinct cells, and for each part the number of its cell.

It is written with every change of a family's parts, in the same transaction (`indexing`), and replaces the rows for
questions. It depends on no vehicle and no setting. A family without an index, as in a store of an older format or in a
temporary catalog, is coded from its rows by the reader.
"""

from __future__ import annotations

import json
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.store.database.connection import Connection

NAMES = "part_id"
"""Key for the column of names, in whose order a family's parts are."""
UNKNOWN = np.iinfo(np.int64).min
"""Code of an unknown value or tolerance."""
LENGTH, FIGURE, NUMBER, FLAG, WORD, LIST = "length", "figure", "number", "flag", "word", "list"
"""Kinds of columns. Lengths and figures have tolerances; a length without one has that of its row's basis."""
SIZES: tuple[type[np.unsignedinteger[Any]], ...] = (np.uint8, np.uint16, np.uint32)


class Coded(NamedTuple):
    """A column: its distinct cells, and each part's index into them."""

    cells: NDArray[np.int64]
    """Shape (2, cells): values in micro-units, 0 or 1, or indices into the words; tolerances in micro-units."""
    numbers: NDArray[np.unsignedinteger[Any]]
    words: list[Any]
    """The words, or lists of words, of the cells; empty for numbers."""
    kind: str


Index = dict[str, Coded]
"""The columns of a family by name; `NAMES` has the names of its parts as words, in order, and no numbers."""


COLUMNS = "name, cells, numbers, words, kind"


def read_index(con: Connection, family: str) -> Index:
    """Return the index of a family; empty if none is written."""
    rows = con.execute(f"select {COLUMNS} from part_index where family = $1", [family]).fetchall()
    words = {name: json.loads(text) for name, _, _, text, _ in rows}
    parts = len(words.get(NAMES, ()))
    return {name: _decoded(cells, numbers, words[name], kind, parts) for name, cells, numbers, _, kind in rows}


def _decoded(cells: bytes, numbers: bytes, words: list[Any], kind: str, parts: int) -> Coded:
    size = next((one for one in SIZES if parts * np.dtype(one).itemsize == len(numbers)), SIZES[0])
    return Coded(np.frombuffer(cells, np.int64).reshape(2, -1), np.frombuffer(numbers, size), words, kind)
