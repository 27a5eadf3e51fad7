"""Suppliers: their lists, recognized by name, and the prefix that keeps their part numbers apart."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from catalog_schema.parts import FAMILIES
from matcher.errors import InputError, NotKnown
from matcher.store.catalog.supplier_terms import USUAL, SupplierTerms, supplier_terms
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import record
from matcher.store.lists.list_words import MONTHS

LONGEST_PREFIX = 20
LONGEST_NAME = 100


@dataclass(frozen=True, slots=True)
class Supplier:
    """One supplier in the store."""

    name: str
    """Empty for the shop's own lists."""
    id_prefix: str
    """Prefix of its numbers in the catalog; empty if they are used as listed."""
    lists: tuple[str, ...]
    parts: int
    terms: SupplierTerms = USUAL


@dataclass(frozen=True, slots=True)
class ListSupplier:
    """The supplier of a list that is being loaded."""

    name: str
    id_prefix: str
    guessed: bool
    """Whether it was inferred from the list's name, not given."""


def suppliers(con: Connection) -> list[Supplier]:
    """Return every supplier with parts, lists or a prefix, by name."""
    parts = " union all ".join(f"select supplier from {family}_rows where until is null" for family in FAMILIES)
    counts = dict(con.execute(f"select coalesce(supplier, ''), count(*) from ({parts}) group by 1").fetchall())
    prefixes = dict(con.execute("select name, id_prefix from supplier").fetchall())
    lists: dict[str, list[str]] = {}
    for name, list_name in con.execute("select supplier, list_name from supplier_list order by list_name").fetchall():
        lists.setdefault(name, []).append(list_name)
    terms = supplier_terms(con)
    return [
        Supplier(name, prefixes.get(name, ""), tuple(lists.get(name, ())), counts.get(name, 0), terms.get(name, USUAL))
        for name in sorted({*counts, *prefixes, *lists})
    ]


def supplier_names(con: Connection) -> list[str]:
    """Return the names of all suppliers with lists or parts, except the shop itself."""
    parts = " union ".join(f"select supplier from {family}_rows where until is null" for family in FAMILIES)
    query = f"select name from (select name from supplier union {parts}) where name <> '' order by 1"
    return [name for (name,) in con.execute(query).fetchall()]


def supplier_of_list(con: Connection, path: Path, named: str | None) -> ListSupplier:
    """Return the supplier of a list: the given one, the one of the last list of this name, or a new one."""
    name = path.stem if named is None else named
    guessed = named is None
    if guessed:
        known = dict(con.execute("select list_name, supplier from supplier_list").fetchall())
        alike = {supplier for list_name, supplier in known.items() if letters_of(list_name) == letters_of(path.name)}
        if path.name in known:
            name = known[path.name]
        elif len(alike) == 1 and letters_of(path.name):
            (name,) = alike
        elif _was_loaded_before_suppliers(con, path.name):
            name = ""
    return ListSupplier(name, prefix_of(con, name), guessed)


def letters_of(list_name: str) -> str:
    """Return a list's name without its date or number, which differ in the supplier's next list.

    >>> letters_of("hollin-quay-jan.csv"), letters_of("Hollin_Quay 2025.xlsx")
    ('hollin quay', 'hollin quay')
    """
    words = re.sub(r"[\W\d_]+", " ", Path(list_name).stem).casefold().split()
    return " ".join([word for word in words if word not in MONTHS] or words)


def _was_loaded_before_suppliers(con: Connection, list_name: str) -> bool:
    row = con.execute(
        "select 1 from load where list_contains(list_transform(files, lambda f: parse_filename(f)), $1) limit 1",
        [list_name],
    ).fetchone()
    return row is not None


def prefix_of(con: Connection, name: str) -> str:
    """Return the prefix of a supplier's numbers in the catalog; empty if it has none."""
    row = con.execute("select id_prefix from supplier where name = $1", [name]).fetchone()
    return "" if row is None else row[0]


def remember_list(con: Connection, path: Path, supplier: str) -> None:
    """Remember the supplier of a list for the next list of its name."""
    con.execute("insert or ignore into supplier values ($1, '')", [supplier])
    con.execute("insert or replace into supplier_list values ($1, $2)", [path.name, supplier])


def check_supplier_name(name: str) -> str:
    """Return a supplier's name, trimmed.

    Raises
    ------
    InputError
        if it is empty, too long, or not a single line.
    """
    name = name.strip()
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise InputError(f"{name!r} is no name of a supplier", fix=f"one line of at most {LONGEST_NAME} letters")
    return name


def give_prefix(con: Connection, name: str, prefix: str, by: str | None = None) -> None:
    """Set the prefix of a supplier's numbers; existing numbers stay as they are.

    Raises
    ------
    InputError
        if it is invalid or taken, or the supplier already has another one.
    """
    prefix = prefix.strip()
    if not prefix or len(prefix) > LONGEST_PREFIX or not prefix.isprintable() or " " in prefix:
        raise InputError(f"{prefix!r} is no prefix", fix=f"1 to {LONGEST_PREFIX} letters without a space, such as NW-")
    kept = prefix_of(con, name)
    if kept and kept != prefix:
        raise InputError(
            f"the supplier {name} has the prefix {kept} already, and its parts are known by it",
            fix="leave --prefix out",
        )
    row = con.execute("select name from supplier where id_prefix = $1 and name <> $2", [prefix, name]).fetchone()
    if row is not None:
        raise InputError(f"{prefix} is the prefix of {row[0]}", fix="choose another one")
    if kept != prefix:
        con.execute("insert or replace into supplier values ($1, $2)", [name, prefix])
        record(con, "supplier", f"supplier:{name}", f"prefix {prefix}", by=by)


def expect_supplier(con: Connection, name: str) -> None:
    """Refuse an unknown supplier.

    Raises
    ------
    NotKnown
        if there is no such supplier.
    """
    known = [one.name for one in suppliers(con)]
    if name not in known:
        raise NotKnown("supplier", name, known, fix="`boltback catalog suppliers` lists them")


def rename_supplier(con: Connection, name: str, new: str, by: str | None = None) -> None:
    """Rename a supplier, or merge it into another one: its parts, lists and problem rows follow.

    Raises
    ------
    InputError
        if both have a prefix of their own.
    """
    mine, theirs = prefix_of(con, name), prefix_of(con, new)
    if mine and theirs and mine != theirs:
        raise InputError(f"{name} has the prefix {mine}, {new} has {theirs}", fix="the two stay apart")
    for family in FAMILIES:
        con.execute(f"update {family}_rows set supplier = $1 where coalesce(supplier, '') = $2", [new, name])
    con.execute("update problem set supplier = $1 where coalesce(supplier, '') = $2", [new, name])
    con.execute("update supplier_list set supplier = $1 where supplier = $2", [new, name])
    con.execute("delete from supplier where name = $1", [name])
    is_new = "$1 not in (select name from supplier_terms)"
    con.execute(f"update supplier_terms set name = $1 where name = $2 and {is_new}", [new, name])
    con.execute("delete from supplier_terms where name = $1", [name])
    con.execute("insert or replace into supplier values ($1, $2)", [new, mine or theirs])
    record(con, "supplier", f"supplier:{new}", f"called {name or 'nothing'} before", by=by)


def bare_numbers(con: Connection, names: Sequence[str]) -> None:
    """List, for suppliers with a prefix, the numbers that their parts already have without it: these stay.

    Makes the temporary table ``bare_number`` (supplier, part_id).
    """
    prefixed = "select 1 from supplier where id_prefix <> '' and list_contains($1::varchar[], name) limit 1"
    if not con.execute(prefixed, [list(names)]).fetchone():
        con.execute("create or replace temp table bare_number (supplier varchar, part_id varchar)")
        return
    ever = " union ".join(
        f"select supplier, part_id from {family}_rows where list_contains($1::varchar[], supplier)"
        for family in FAMILIES
    )
    con.execute(
        "create or replace temp table bare_number as select e.supplier, e.part_id "
        f"from ({ever}) e join supplier s on s.name = e.supplier where not starts_with(e.part_id, s.id_prefix)",
        [list(names)],
    )
