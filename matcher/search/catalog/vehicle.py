"""A vehicle's effective figures as columns: readings take precedence over its document."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

import numpy as np

from matcher.kernel.columns import Columns, columns_of
from matcher.settings import Settings, Tolerances
from matcher.store.database.connection import Connection, records

Row = Mapping[str, Any]
OWN, WHOLE = "vehicle itself", "whole vehicle"
"""Dependency names of the vehicle's own figures and of all its openings."""


@dataclass
class Openings:
    """Openings of one kind, sorted by name."""

    rows: Sequence[Row]
    """Cells as numbers, words and flags; None if unknown."""
    columns: Columns
    """Return the subject ``opening``, with ``zone.covers``: whether nothing may be fastened there."""

    @cached_property
    def opening_ids(self) -> list[str]:
        """Names of the openings."""
        return [row["opening_id"] for row in self.rows]


@dataclass
class VehicleColumns:
    """One vehicle of the store; each table of it is read once, at first use."""

    vehicle_id: str
    read: Callable[[str, str], list[dict[str, Any]]]
    """Reads the vehicle's rows of a table, sorted by some columns."""
    settings: Settings
    note: Callable[[str], None]
    """Called with each dependency: an opening's name, `OWN` or `WHOLE`."""
    kept: dict[str, Any]
    """Columns read so far."""

    @property
    def row(self) -> Row:
        """The vehicle's own cells, such as electrical system and cable runs; empty if there is no such vehicle."""
        self.note(OWN)
        return next(iter(self._rows("vehicle", "vehicle_id")), {})

    @property
    def columns(self) -> Columns:
        """The vehicle's own figures as the subject ``vehicle``: one row."""
        share = self.settings["current_tol_pct"] / 100
        return subject_columns("vehicle", [_with_current_tols(self.row, share)], self.settings)

    def openings(self, kind: str) -> Openings:
        """Return all openings of a kind: ``dash``, ``speaker``, ``cargo``, ``amp_spot``, ``control_spot``."""
        self.note(WHOLE)
        return self._of(kind)

    def opening(self, kind: str, opening_id: str) -> Columns:
        """Return one opening as the subject ``opening``, with ``zone.covers``: one row.

        Raises
        ------
        KeyError
            if the vehicle has no such opening.
        """
        return self._of(kind).columns.take(np.array([self._at(kind, opening_id)]))

    def opening_row(self, kind: str, opening_id: str) -> Row:
        """Return one opening as plain cells."""
        return self._of(kind).rows[self._at(kind, opening_id)]

    def original(self, kind: str, opening_id: str) -> Row:
        """Return the factory equipment in an opening as plain cells, under the field names of its family."""
        row = self.opening_row(kind, opening_id)
        return {name.removeprefix("original_"): cell for name, cell in row.items() if name.startswith("original_")}

    def _at(self, kind: str, opening_id: str) -> int:
        self.note(opening_id)
        found = self._of(kind).opening_ids
        if opening_id not in found:
            raise KeyError(f"{self.vehicle_id} has no {kind} opening {opening_id}; it has {', '.join(found) or 'none'}")
        return found.index(opening_id)

    def _of(self, kind: str) -> Openings:
        key = f"openings of {kind}"
        if key not in self.kept:
            rows = self._rows(f"opening_{kind}", "opening_id")
            named = {_plain(row["zone"]) for row in self._rows("no_fasten", "rowid")}
            covers = [not named.isdisjoint(map(_plain, (row["opening_id"], row["label"] or ""))) for row in rows]
            zone = columns_of("zone", [{"covers": each} for each in covers])
            self.kept[key] = Openings(rows, subject_columns("opening", rows, self.settings) | zone)
        found: Openings = self.kept[key]
        return found

    def things(self, opening_id: str) -> Columns | None:
        """Return things that must stay reachable around a dash opening, as the subject ``keep``; None without any."""
        rows = self.thing_rows(opening_id)
        return subject_columns("keep", rows, self.settings) if rows else None

    def thing_rows(self, opening_id: str) -> list[Row]:
        """The same as plain cells."""
        self.note(opening_id)
        return [row for row in self.every_thing if row["opening_id"] == opening_id]

    @property
    def every_thing(self) -> list[dict[str, Any]]:
        """Things that must stay reachable around any opening, as plain cells."""
        return self._rows("keep_clear", "opening_id, position")

    @property
    def panes(self) -> Sequence[Row]:
        """Panes of glass, as plain cells."""
        self.note(OWN)
        return self._rows("pane", "position")

    @property
    def zones(self) -> Sequence[Row]:
        """Zones where nothing may be fastened, with reasons."""
        return self._rows("no_fasten", "rowid")

    def _rows(self, table: str, order: str) -> list[dict[str, Any]]:
        if table not in self.kept:
            self.kept[table] = self.read(table, order)
        found: list[dict[str, Any]] = self.kept[table]
        return found


def _plain(text: str) -> str:
    """Normalize a name."""
    return text.strip(" ").lower()


def subject_columns(subject: str, rows: Iterable[Row], settings: Settings, otherwise: str = "measured") -> Columns:
    """Return columns of some rows; each length has the tolerance stated, or that of its row's basis.

    Parameters
    ----------
    otherwise
        Basis of rows that name none.
    """
    tolerances = settings.tolerances()
    return columns_of(subject, [_with_tols(row, tolerances, row.get("basis") or otherwise) for row in rows])


def _with_current_tols(row: Row, share: Decimal) -> Row:
    """A vehicle's row with a proportional tolerance for each current that states none."""
    known = {name: cell for name, cell in row.items() if name.endswith("_a") and cell is not None}
    tols = {f"{name}_tol": cell * share for name, cell in known.items() if row.get(f"{name}_tol") is None}
    return {**row, **tols}


def _with_tols(row: Row, tolerances: Tolerances, basis: str) -> dict[str, Any]:
    lengths = [name for name in row if name.endswith("_mm") and row.get(f"{name}_tol") is None]
    return {**row, **{f"{name}_tol": tolerances.of(basis, row[name]) for name in lengths}}


def read_rows(con: Connection, table: str, vehicle_id: str, order: str) -> list[dict[str, Any]]:
    """Return the vehicle's rows of a table."""
    left_out = " EXCLUDE (document)" if table == "vehicle" else ""
    return records(con, f"SELECT *{left_out} FROM {table} WHERE vehicle_id = ? ORDER BY {order}", vehicle_id)
