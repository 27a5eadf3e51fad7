"""Evidence: parts that the shop has fitted before to the same opening of the same model of car."""

from __future__ import annotations

import json
from collections.abc import Mapping

from matcher.search.catalog.catalog import Catalog
from matcher.store.database.connection import Connection

Pair = tuple[str, str | None]
"""A part, and the adapter it was fitted with."""
FITTED = (
    "select subject, field, by_whom, read_at from reading anti join voided_reading "
    "using (subject, field, value, read_at) where starts_with(field, 'fitted.') and ends_with(subject, $1) "
    "order by read_at"
)


def fitted_before(catalog: Catalog, vehicle_id: str, opening_id: str) -> Mapping[Pair, str]:
    """Return car, date and fitter for each part fitted to an opening of this car or another of its model."""

    def find() -> dict[Pair, str]:
        rows = catalog.con.execute(FITTED, [f"/{opening_id}"]).fetchall()
        models = _models(catalog.con) if rows else {}
        found = {}
        for subject, field, by, at in rows:
            there = subject.removeprefix("opening:").rpartition("/")[0]
            if models.get(there, there) == models.get(vehicle_id, vehicle_id):
                part_id, _, adapter_id = field.removeprefix("fitted.").partition("+")
                found[part_id, adapter_id or None] = f"{there}, {at:%Y-%m-%d}, {by}"
        return found

    evidence: dict[Pair, str] = catalog.once(("fitted", vehicle_id, opening_id), find, (opening_id,))
    return evidence


def _models(con: Connection) -> dict[str, str]:
    """The vehicle from which each vehicle's figures were first copied: cars of one model are copies of each other."""
    rows = con.execute("select vehicle_id, document from vehicle").fetchall()
    like = {name: json.loads(text.removeprefix("\ufeff")).get("like") for name, text in rows}

    def first(name: str, seen: tuple[str, ...] = ()) -> str:
        source = like.get(name)
        return name if source is None or source in seen else first(source, (*seen, name))

    return {name: first(name) for name in like}
