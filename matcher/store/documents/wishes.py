"""Wishes about parts as typed: names of parts, makers and suppliers, checked against the catalog."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from catalog_schema.jobs import Job
from catalog_schema.places import OPENING_FAMILIES
from catalog_schema.terms import NOTHING, Terms
from matcher.errors import NotKnown, Problem
from matcher.store.catalog.suppliers import supplier_names
from matcher.store.database.connection import Connection

PINNABLE: dict[str, tuple[str, ...]] = {
    "head_unit": ("head_unit",),
    "bass": ("subwoofer", "enclosure"),
    "amplifier": ("amplifier",),
    "bass_amplifier": ("amplifier",),
    "cable": ("cable",),
    "film": ("film",),
    "security": ("security",),
}
"""Families of which a part may be pinned, by slot of a job."""
AT_OPENINGS = {kind: families for kind, families in OPENING_FAMILIES.items() if kind != "control_spot"}
AT_OPENINGS |= {"cargo": PINNABLE["bass"]}
"""The same by kind of opening."""


def named_wishes(con: Connection, terms: Terms) -> dict[str, Any]:
    """Return the terms with each name in ``without`` sorted into parts, makers and suppliers.

    Raises
    ------
    NotKnown
        if an excluded name, or a pinned part, is not in the catalog, or a required feature is a misspelled one.
    """
    made = dict(terms)
    if isinstance(names := terms.get("without"), list | tuple):
        made["without"] = _sorted_out(con, [name for name in names if name != NOTHING])
    for part_id in dict(terms.get("pin") or {}).values():
        if part_id != NOTHING and _family_of(con, part_id) is None:
            raise NotKnown("part", part_id, _names(con, "part_id"))
    _check_spelling(con, terms.get("must") or ())
    return made


def _check_spelling(con: Connection, features: Sequence[str]) -> None:
    """Refuse a feature that no part has, if its spelling is close to one that a part has."""
    given = "select unnest(features) as word from head_unit union select unnest(gives) from accessory"
    known = [word for (word,) in con.execute(given).fetchall()]
    for word in features:
        if word not in (*known, NOTHING) and get_close_matches(word, known, cutoff=0.8):
            raise NotKnown("feature", word, known)


def _sorted_out(con: Connection, names: Sequence[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {"parts": [], "makers": [], "suppliers": []}
    makers = {name.casefold(): name for name in _names(con, "maker")}
    suppliers = {name.casefold(): name for name in supplier_names(con)}
    for name in names:
        if _family_of(con, name) is not None:
            found["parts"].append(name)
        elif name.casefold() in makers:
            found["makers"].append(makers[name.casefold()])
        elif name.casefold() in suppliers:
            found["suppliers"].append(suppliers[name.casefold()])
        else:
            known = [*makers.values(), *suppliers.values(), *_names(con, "part_id")]
            raise NotKnown("part, maker or supplier", name, known)
    return found


def _family_of(con: Connection, part_id: str) -> str | None:
    row = con.execute("select family from part where part_id = $1", [part_id]).fetchone()
    return None if row is None else str(row[0])


def _names(con: Connection, column: str) -> list[str]:
    return [name for (name,) in con.execute(f"select distinct {column} from part order by 1").fetchall()]


def pin_faults(con: Connection, job: Job, openings: Mapping[str, str], file: str) -> list[Problem]:
    """Return the faults of a job's pinned parts: the wrong place, or a part of another family.

    Parameters
    ----------
    openings
        The vehicle's openings with their kinds.
    """
    families = PINNABLE | {name: AT_OPENINGS[kind] for name, kind in openings.items() if kind in AT_OPENINGS}
    faults = []
    for place, part_id in job.pin.items():
        column = f"pin.{place}"
        family = _family_of(con, str(part_id))
        if place not in families:
            faults.append(Problem(f"one of {', '.join(sorted(families))}", file=file, column=column, found=place))
        elif family is not None and family not in families[place]:
            expected = f"a part of the family {' or '.join(families[place])}"
            faults.append(Problem(expected, file=file, column=column, found=f"{part_id}, {family}"))
        elif place in (job.keep or ()):
            expected = "an opening to keep the original at, or to pin a part to"
            faults.append(Problem(expected, file=file, column=column, found=place))
    return faults
