"""Search for parts by words of their number, maker and model, and by bounds on figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.figures import read_number
from catalog_schema.kinds import CountKind, FigureKind, MoneyKind
from catalog_schema.problems import FieldError
from matcher.errors import InputError, NotKnown
from matcher.store.database.connection import Connection
from matcher.store.database.shop_settings import shop_notation
from matcher.store.lists.headers import check_family

MOST_WORDS = 8


@dataclass(frozen=True, slots=True)
class FigureBound:
    """A figure of a family, and its bounds."""

    field: str
    least: str = ""
    most: str = ""


@dataclass(frozen=True, slots=True)
class FoundPart:
    """Summary of a part."""

    part_id: str
    family: str
    maker: str
    model: str
    price: Decimal | None
    pack_of: int | None


def bounded_columns(family: str) -> list[TableColumn]:
    """Return the fields of a family that can be bounded."""
    return [column for column in family_columns(family) if isinstance(column.kind, FigureKind | CountKind | MoneyKind)]


def find_parts(
    con: Connection,
    words: str,
    family: str | None,
    bounds: Sequence[FigureBound] = (),
    after: str = "",
    limit: int = 50,
) -> list[FoundPart]:
    """Return parts that contain every word, ordered by number, starting behind ``after``.

    Parameters
    ----------
    words
        Pieces of part number, maker or model, in any order; case is ignored, ``%`` matches any letters and ``_`` one.
    bounds
        Bounds on figures of the ``family``, readings applied; a part with an unknown figure is left out.

    Raises
    ------
    InputError
        if a bound is not a number, or is given without a family.
    """
    family = None if family is None else check_family(family)
    sought = [f"%{word}%" for word in words.split()[:MOST_WORDS]]
    # Match each column separately: joining them to one text takes three times as long for a million parts.
    conditions = [
        f"(part_id ilike ${place} or maker ilike ${place} or model ilike ${place})"
        for place in range(3, 3 + len(sought))
    ]
    params: list[object] = [after, limit, *sought]
    for bound in bounds:
        conditions += _within(con, bound, family, params)
    where = "".join(f" and {one}" for one in conditions)
    table = "part" if family is None else f"(select *, '{family}' as family from {family})"
    rows = con.execute(
        f"select part_id, family, maker, model, price, pack_of from {table} "
        f"where part_id > $1{where} order by part_id limit $2",
        params,
    ).fetchall()
    return [FoundPart(*row) for row in rows]


def _within(con: Connection, bound: FigureBound, family: str | None, params: list[object]) -> list[str]:
    if family is None:
        raise InputError(f"a bound on {bound.field} needs a family", fix="pick the family first")
    known = {column.name: column for column in bounded_columns(family)}
    if bound.field not in known:
        raise NotKnown(f"figure of a {family}", bound.field, list(known))
    conditions = []
    for text, sign in ((bound.least, ">="), (bound.most, "<=")):
        if text.strip():
            params.append(_number(con, text, known[bound.field]))
            conditions.append(f'"{bound.field}" {sign} ${len(params)}')
    return conditions


def _number(con: Connection, text: str, column: TableColumn) -> Decimal:
    try:
        number = read_number(text, column.unit or "n", shop_notation(con))
    except FieldError as error:
        raise InputError("the search cannot be done", problems=[error.at(column.name)]) from None
    assert number is not None
    return number
