"""A customer's own parts: they cost nothing, and only their own job can use them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

import numpy as np

from matcher.search.catalog.parts import Parts
from matcher.store.catalog.owned import Owned
from matcher.store.database.connection import Connection


def with_owned(con: Connection, parts: Parts, owned: Sequence[Owned]) -> Parts:
    """Return a family's parts including the customer's own; a catalog part that the customer owns becomes free."""
    for one in owned:
        if one.family == parts.family and parts.row(one.part_id) is None:
            at = int(np.searchsorted(parts.part_ids, one.part_id))
            cells = parts.cells.adding(at, dict(one.cells) | _read(con, one))
            parts = Parts(parts.family, np.insert(parts.part_ids, at, one.part_id), cells)
        elif one.family is None and (row := parts.row(one.part_id)) is not None:
            parts = Parts(parts.family, parts.part_ids, parts.cells.for_nothing(row))
    return parts


def _read(con: Connection, one: Owned) -> dict[str, Any]:
    """Return later readings of a typed part."""
    from catalog_schema.columns import family_columns  # a fit of the catalog's parts asks for none of it
    from catalog_schema.figures import Figure
    from matcher.store.catalog.overlay import LATEST

    rows = con.execute(f"select field, value, tol from {LATEST} where subject = $1", [f"part:{one.part_id}"]).fetchall()
    columns = {column.name: column for column in family_columns(str(one.family))}
    read: dict[str, Any] = {}
    for name, value, tol in rows:
        figure = columns[name].kind.read(value)
        read[name] = Figure(figure.value, tol or Decimal(0)) if isinstance(figure, Figure) else figure
    return read
