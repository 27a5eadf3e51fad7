"""Number format of a list, found in its own cells."""

from __future__ import annotations

from collections.abc import Sequence

import duckdb

from catalog_schema.kinds import CountKind, FigureKind, MoneyKind
from catalog_schema.notation import SHOWS_COMMA, SHOWS_POINT, DecimalMark
from matcher.store.lists.headers import Target


def mark_of(con: duckdb.DuckDBPyConnection, source: str, targets: Sequence[Target]) -> DecimalMark:
    """Return the decimal mark that the numbers of some rows show; ``source`` is their ``from`` clause.

    If a list shows none, or both, each ambiguous cell is a problem. The shop's own notation is no evidence of a
    supplier's.
    """
    places = [one.position for one in targets if isinstance(one.column.kind, FigureKind | CountKind | MoneyKind)]
    if not places:
        return "either"
    cells = f"concat_ws(' | ', {', '.join(f'c{place}' for place in places)})"
    query = f"select bool_or(regexp_matches({cells}, $1)), bool_or(regexp_matches({cells}, $2)) {source}"
    shows = con.execute(query, [SHOWS_POINT, SHOWS_COMMA]).fetchone()
    marks: dict[object, DecimalMark] = {(True, False): "point", (False, True): "comma"}
    return marks.get(shows, "either")
