"""Tables of a store that a chain keeps, and the rows that a change has altered.

The same tables are in the store's file and in the chain's PostgreSQL, where each row also has the number of the turn
that
wrote it. The catalog's tables (lists, versions and attached folders) are each store's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from matcher.store.database.connection import Connection, records

OWN_EVENTS_FROM = 1_000_000_000
"""First number of a store's own events, beyond those of the chain."""


@dataclass(frozen=True, slots=True)
class ChainTable:
    """A table kept in the chain: its columns with their types in the file, key first."""

    name: str
    columns: dict[str, str]
    keys: int = 1
    """Number of columns in its key."""
    alters: tuple[str, ...] = ()
    """Columns that a later change may alter; by default its rows are immutable."""
    sequence: str = ""
    """Column that numbers its rows in the file, if any."""
    only: str = "true"
    """SQL condition for the chain's rows."""

    @property
    def key(self) -> list[str]:
        """The key columns."""
        return list(self.columns)[: self.keys]

    @property
    def names(self) -> str:
        """All columns as an SQL list."""
        return ", ".join(self.columns)


TEXT, WHOLE, MOMENT, AMOUNT = "varchar", "integer", "timestamptz", "decimal(15,6)"
_MADE = {"job_id": TEXT, "number": WHOLE}

EVENT = ChainTable(
    "event",
    {"event_id": WHOLE, "happened_at": MOMENT, "by_whom": TEXT, "what": TEXT, "subject": TEXT}
    | {"detail": TEXT, "document": TEXT},
    sequence="event_number",
    only="split_part(subject, ':', 1) in ('job', 'vehicle', 'opening', 'setting')",
)

KEPT = (
    ChainTable("vehicle", {"vehicle_id": TEXT, "document": TEXT}, alters=("document",)),
    ChainTable(
        "job",
        {"job_id": TEXT, "vehicle_id": TEXT, "document": TEXT, "answered_on": WHOLE, "loaded_at": MOMENT},
        alters=("vehicle_id", "document", "answered_on", "loaded_at"),
    ),
    ChainTable(
        "reading",
        {"reading_id": WHOLE, "subject": TEXT, "field": TEXT, "value": TEXT, "tol": AMOUNT}
        | {"basis": TEXT, "by_whom": TEXT, "read_at": MOMENT, "note": TEXT},
        sequence="reading_number",
    ),
    ChainTable(
        "voided_reading",
        {"subject": TEXT, "field": TEXT, "value": TEXT, "read_at": MOMENT}
        | {"voided_at": MOMENT, "by_whom": TEXT, "note": TEXT},
        keys=4,
    ),
    ChainTable(
        "choice",
        _MADE | {"chosen_at": MOMENT, "by_whom": TEXT, "rank": WHOLE, "catalog_version": WHOLE, "document": TEXT},
        keys=2,
    ),
    ChainTable("setup", _MADE | {"set_up_at": MOMENT, "by_whom": TEXT, "document": TEXT}, keys=2),
    EVENT,
    ChainTable("setting", {"name": TEXT, "value": AMOUNT}, alters=("value",)),
    ChainTable("word_setting", {"name": TEXT, "word": TEXT}, alters=("word",)),
    ChainTable(
        "page_link",
        {"token_hash": TEXT, "job_id": TEXT, "made_at": MOMENT, "by_whom": TEXT, "expires_at": MOMENT}
        | {"revoked_at": MOMENT, "what": TEXT, "page": TEXT},
        alters=("revoked_at",),
    ),
    ChainTable("signature", {"job_id": TEXT, "signed_at": MOMENT, "by_whom": TEXT, "note": TEXT}),
)
"""In writing order: rows before those that refer to them, a job's signature last."""

Rows = dict[str, list[dict[str, Any]]]


def number_own_events(con: Connection) -> None:
    """Renumber the store's own events beyond the chain's numbers."""
    own = f"event_id < {OWN_EVENTS_FROM} and not {EVENT.only}"
    con.execute(f"update event set event_id = event_id + {OWN_EVENTS_FROM} where {own}")


def number_alone(con: Connection) -> None:
    """Renumber the store's own events among the others, and continue after all, for a store that leaves its chain."""
    con.execute(
        "update event set event_id = o.number from (select event_id as held, row_number() over (order by event_id) "
        f"+ (select coalesce(max(event_id), 0) from event where event_id < {OWN_EVENTS_FROM}) as number "
        f"from event where event_id >= {OWN_EVENTS_FROM}) o where event_id = o.held"
    )
    number_beyond(con)


def note_state(con: Connection) -> None:
    """Record the state of all rows before a change, for `altered`."""
    for kept in KEPT:
        state = _last_sql(kept) if kept.sequence else f"select {_state_sql(kept)} as state from {kept.name}"
        con.execute(f"create temp table before_{kept.name} as {state}")


def number_beyond(con: Connection) -> None:
    """Let the file number its next rows after all it has."""
    for kept in KEPT:
        if kept.sequence:
            given = f"(select coalesce(last_value, 0) from duckdb_sequences() where sequence_name = '{kept.sequence}')"
            ((short,),) = con.execute(f"select last - {given} from ({_last_sql(kept)})").fetchall()
            con.execute(f"select max(nextval('{kept.sequence}')) from range({max(short, 0)})")


def _last_sql(kept: ChainTable) -> str:
    (number,) = kept.key
    return f"select coalesce(max({number}), 0) as last from {kept.name} where {number} < {OWN_EVENTS_FROM}"


def altered(con: Connection) -> Rows:
    """Return the rows that a change has added or altered since `note_state`, as they are now."""
    return {kept.name: rows for kept in KEPT if (rows := _altered(con, kept))}


def _altered(con: Connection, kept: ChainTable) -> list[dict[str, Any]]:
    key = ", ".join(kept.key)
    if kept.sequence:
        since = f"{key} > (select last from before_{kept.name})"
    else:
        since = f"{_state_sql(kept)} not in (select state from before_{kept.name})"
    return records(con, f"select {kept.names} from {kept.name} where {kept.only} and {since} order by {key}")


def _state_sql(kept: ChainTable) -> str:
    """SQL for a row's key and the fingerprint of its state."""
    return f"hash({', '.join(dict.fromkeys([*kept.key, *kept.alters]))})"
