"""What is read of the parts that go into an opening: how many ways in there are, and the parts that matter.

Only what k others do not always beat (`unbeaten`) crosses into Python.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from matcher.rules.rule import FITS, MEASURE
from matcher.search.fits.laid import Laid
from matcher.search.fits.looks import Look, Merits, judged_sql
from matcher.search.fits.unbeaten import unbeaten_sql
from matcher.store.connection import Connection


@dataclass(frozen=True, slots=True)
class Tally:
    """How many there are in all, those included that others always beat."""

    ways: int
    """Parts, each with every adapter through which it goes in."""
    parts: int
    sure: int
    """Parts of which some way leaves nothing to measure."""


Tallies = dict[tuple[Any, ...], Tally]


@dataclass(frozen=True, slots=True)
class Order:
    """What is read of each part, what they are counted by, and what they are held against others by."""

    columns: tuple[str, ...]
    counted: tuple[str, ...]
    merits: Merits


def read_tallies(con: Connection, laid: Laid, asked: Order, relation: str, params: dict[str, Any]) -> Tallies:
    """How many there are of a relation over what was laid, by the columns that they are counted by."""
    if not laid.mates.mouths:
        return {}
    counted = ", ".join(asked.counted)
    counts = "sum(ways)::BIGINT, count(DISTINCT part_id), count(DISTINCT part_id) FILTER (sure)"
    rows = con.execute(f"SELECT {counts}, {counted} FROM ({relation}) GROUP BY {counted}", params).fetchall()
    return {tuple(map(_hashable, row[3:])): Tally(*row[:3]) for row in rows}


def read_swept(
    con: Connection, laid: Laid, asked: Order, relation: str, params: dict[str, Any], look: Look
) -> list[tuple[Any, ...]]:
    """What matters of a relation over what was laid, by part and adapter.

    Each row is (adapter, step, code, part, *columns, (adapter's price, pack_of, labour_h)).
    """
    if not laid.mates.mouths:
        return []
    named = f"(SELECT *, [part_id, coalesce(adapter_id, '')] AS name FROM ({relation}))"
    some = unbeaten_sql(judged_sql(named, asked.merits), asked.merits, look.k)
    rows = con.execute(
        f"SELECT through, beaten, taken, CASE WHEN sure THEN {FITS} ELSE {MEASURE} END, part_id, "
        f"{', '.join(asked.columns)} FROM ({some})",
        params,
    ).fetchall()
    found = [
        (one["adapter_id"], taken, code, part_id, *rest, (one["price"], one["pack_of"], one["labour_h"]))
        for through, beaten, taken, code, part_id, *rest in rows
        # What is dearer of the same part is beaten by what is cheaper as well.
        for one in laid.mates.cheapest(laid.through[through], look.k - beaten)
    ]
    return sorted(found, key=lambda row: (row[3], row[0] or ""))


def _hashable(cell: Any) -> Any:
    return tuple(cell) if isinstance(cell, list) else cell
