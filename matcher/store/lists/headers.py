"""Match headers to fields: each names one column of the family, or the list is refused."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.figures import known_units, split_header
from catalog_schema.parts import FAMILIES
from catalog_schema.units import unit_spelled
from matcher.errors import FileRefused, NotKnown, Problem

FAMILY_HEADER = "family"
OWN_PREFIX = "problem_"
"""Prefix of columns that we added to problem rows."""


@dataclass(frozen=True, slots=True)
class Target:
    """The field of one column of a list."""

    position: int
    column: TableColumn
    given_in: str | None = None
    """The unit in the header, if it is not the field's own."""


def check_family(family: str) -> str:
    """Return the family's name; refuse an unknown one.

    Raises
    ------
    NotKnown
        if there is no such family.
    """
    name = family_named(family)
    if name is None:
        raise NotKnown("family", family, list(FAMILIES))
    return name


def family_named(text: str) -> str | None:
    """Return the family that a text names; None if it is none."""
    name = re.sub(r"[\s-]+", "_", text.strip().lower())
    return name if name in FAMILIES else None


def match_headers(headers: Sequence[str], family: str, file: str, blank: frozenset[int] = frozenset()) -> list[Target]:
    """Return the target of each header, without the family's column and our own.

    Columns at the ``blank`` positions are empty: they may be another family's.

    Raises
    ------
    FileRefused
        with every header that is unknown, empty or repeated, and every required field that is missing.
    """
    problems: list[Problem] = []
    found: dict[str, Target] = {}
    columns = family_columns(family)
    for position, header in enumerate(headers):
        if is_own_header(header):
            continue
        match = _match(header, columns)
        if match is None and position in blank:
            continue
        if match is None:
            problems.append(_unknown(header, columns, file))
        elif match[0].name in found:
            expected = f"one column for {match[0].name}"
            problems.append(Problem(expected, file, None, header, header, "leave one of them out"))
        else:
            found[match[0].name] = Target(position, match[0], match[1])
    for column in columns:
        if column.required and column.name not in found:
            fix = "add the column, or load with a map (boltback catalog map)"
            problems.append(Problem(f"a column {column.name}: it is required", file, fix=fix))
    if problems:
        raise FileRefused(
            f"{file} has not the columns of {family}; nothing of it was taken",
            fix=_fix(headers, family),
            problems=problems,
        )
    return list(found.values())


def own_families(headers: Sequence[str], family: str | None = None) -> list[str]:
    """Return the families whose canonical headers a list has: all of them known, or most, with the others in our style.

    >>> own_families(["part_id", "maker", "model", "price", "vlt_pct"]), own_families(["SKU", "Brand", "Price"])
    (['film'], [])
    """
    own = [header for header in headers if not is_own_header(header)]
    known: dict[str, list[str]] = {}
    for name in FAMILIES if family is None else (family,):
        columns = family_columns(name)
        named = [header for header in own if _match(header, columns)]
        rest = [header for header in own if header not in named]
        if len(named) * 2 > len(own) and all(re.fullmatch(r"[a-z0-9_]*( ?\([^()]*\))?", header) for header in rest):
            known[name] = rest
    whole = [name for name, rest in known.items() if not rest and _has_required(own, name)]
    return whole or (list(known) if family or len(known) == 1 else [])


def _has_required(headers: Sequence[str], family: str) -> bool:
    columns = family_columns(family)
    found = {match[0].name for header in headers if (match := _match(header, columns))}
    return all(column.name in found for column in columns if column.required)


def _fix(headers: Sequence[str], family: str) -> str:
    own = [header for header in headers if not is_own_header(header)]
    for other in FAMILIES:
        if all(_match(header, family_columns(other)) for header in own):
            return f"these are columns of {other}: load it with --family {other}"
    known = ", ".join(column.name for column in family_columns(family))
    return f"the columns of {family} are {known}; other headers want a map (boltback catalog map)"


def field_target(text: str, family: str) -> Target | None:
    """Return the field of a family that a text names, with the unit in brackets: ``depth (cm)``; None if it is none."""
    match = _match(text, family_columns(family))
    return None if match is None else Target(0, *match)


def is_own_header(header: str) -> bool:
    """Whether the header is ours, not the supplier's."""
    name = split_header(header)[0]
    return name == FAMILY_HEADER or name.startswith(OWN_PREFIX)


def _match(header: str, columns: Sequence[TableColumn]) -> tuple[TableColumn, str | None] | None:
    name, unit = split_header(header)
    exact = {column.name: column for column in columns}
    if name in exact and (unit is None or not exact[name].is_figure or unit not in known_units(exact[name].unit)):
        return (exact[name], None) if unit is None else _by_stem(name, unit, columns)
    if name in exact:
        return _in_unit(exact[name], unit)
    if unit is None and "_" in name:
        stem, _, last = name.rpartition("_")
        name, unit = stem, unit_spelled(last)
    return _by_stem(name, unit, columns) if unit else None


def _by_stem(stem: str, unit: str, columns: Sequence[TableColumn]) -> tuple[TableColumn, str | None] | None:
    for column in columns:
        if column.is_figure and column.name == f"{stem}_{column.unit}" and unit in known_units(column.unit):
            return _in_unit(column, unit)
    return None


def _in_unit(column: TableColumn, unit: str | None) -> tuple[TableColumn, str | None]:
    return column, None if unit == column.unit else unit


def _unknown(header: str, columns: Sequence[TableColumn], file: str) -> Problem:
    if not header:
        return Problem("a name for every column", file, 1, "", "an empty header", "name the column, or delete it")
    near = get_close_matches(split_header(header)[0], [column.name for column in columns], n=3, cutoff=0.5)
    fix = f"did you mean {' or '.join(near)}?" if near else "leave the column out, or load with a map"
    return Problem("a column of the family", file, None, header, header, fix)
