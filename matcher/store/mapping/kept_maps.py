"""Maps from files and from the store, where each is kept by name and reused."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from catalog_schema.documents import DocumentError, build, check_document, parse_json
from catalog_schema.maps import ListMap
from matcher.errors import FileRefused, InputError, NotKnown
from matcher.store.database.connection import Connection
from matcher.store.database.opening import Store
from matcher.store.database.provenance import record
from matcher.store.lists.files import read_document
from matcher.store.mapping.map_conversion import converted, is_old_form


def read_map_file(path: Path) -> tuple[ListMap, str]:
    """Read a map and its text from a file.

    Raises
    ------
    FileRefused
        with every fault of the map.
    """
    text = read_document(path, "map")
    return parse_map(text, str(path)), text


def parse_map(text: str, place: str) -> ListMap:
    """Parse a map.

    Raises
    ------
    FileRefused
        with every fault of the map.
    """
    try:
        data = parse_json(text.removeprefix("\ufeff"))
        if is_old_form(data):
            raise _with_expressions(data, place)
        check_document(data, "map")
        made = build(ListMap, data)
    except DocumentError as error:
        problems = [one._replace(file=place) for one in error.faults]
        raise FileRefused(f"the map in {place} cannot be taken", problems=problems) from None
    _check_families(made, place)
    return made


def _with_expressions(data: dict[str, Any], place: str) -> FileRefused:
    """Error for a map with regular expressions, with the templates to write instead."""
    made = json.dumps(converted(data, place), ensure_ascii=False, indent=2)
    return FileRefused(
        f"the map in {place} has regular expressions, which maps hold no more",
        fix=f"write templates; this is the same map:\n{made}",
    )


def _check_families(made: ListMap, place: str) -> None:
    nameless = [word for word, own in made.families.items() if own.family is None]
    if made.family_column and (made.family or not made.families or nameless):
        raise FileRefused(
            f"the map in {place} has a family_column, but not a family for each word in it",
            fix='write "families": {"sub": {"family": "subwoofer", ...}, ...} and no "family"',
        )
    if made.families and not made.family_column:
        raise FileRefused(f"the map in {place} has families, but no family_column", fix="name the column")


def save_map(con: Connection, made: ListMap, text: str, by: str | None = None) -> None:
    """Save a map by its name, replacing an earlier one."""
    con.execute("insert or replace into list_map values ($1, $2)", [made.name, text])
    record(con, "map", f"map:{made.name}", by=by, document=text)


def map_names(con: Connection) -> list[str]:
    """Return the names of the maps in the store."""
    return [name for (name,) in con.execute("select name from list_map order by name").fetchall()]


def stored_maps(con: Connection) -> list[str]:
    """Return the texts of the maps in the store, latest first."""
    return [text for (text,) in con.execute("select document from list_map order by rowid desc").fetchall()]


def stored_map(con: Connection, name: str) -> tuple[ListMap, str | None]:
    """Return a map by name; with its converted text, to be saved, if it had regular expressions.

    Raises
    ------
    NotKnown
        if the store has no such map.
    FileRefused
        if no template is equivalent to one of its expressions.
    """
    row = con.execute("select document from list_map where name = $1", [name]).fetchone()
    if row is None:
        raise NotKnown("map", name, map_names(con), fix="`boltback catalog map FILE` proposes one")
    place, data = f"the store ({name})", json.loads(row[0])
    if not is_old_form(data):
        return parse_map(row[0], place), None
    text = json.dumps(converted(data, place), ensure_ascii=False, indent=2)
    return parse_map(text, place), text


def choose_map(store: Store, name: str | Path | None) -> tuple[ListMap | None, str | None]:
    """Return the map of a load, from a file or from the store, and a file's text to save.

    Raises
    ------
    FileRefused
        if the file is not a map.
    NotKnown
        if it is neither a file nor a map in the store.
    """
    if name is None:
        return None, None
    path = Path(name)
    if path.suffix.lower() == ".json" or path.exists():
        return read_map_file(path)
    if not store.exists():
        raise NotKnown("map", str(name), [], fix="name the map's file: a new store keeps no maps")
    with store.reading() as con:
        return stored_map(con, str(name))


def with_family(made: ListMap, family: str | None) -> ListMap:
    """Return the map for one family, if the load names it.

    Raises
    ------
    InputError
        if the map and the load disagree, or neither names one.
    """
    from dataclasses import replace

    if made.family_column or family in (None, made.family):
        if made.family is None and made.family_column is None:
            raise InputError(f"the map {made.name} names no family", fix="add --family, or family to the map")
        return made
    if made.family is not None:
        raise InputError(f"the map {made.name} is for {made.family}, not {family}", fix="leave --family out")
    return replace(made, family=family)
