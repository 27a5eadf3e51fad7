"""Openings with equal figures for all rules: evaluated once, with one result for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from matcher.search.fits.holes import OWN, SIDES
from matcher.search.matrix.kinds import ASKED, KindRules, read_of
from matcher.store.database.connection import Connection, quoted

COVERS = (
    "EXISTS (SELECT 1 FROM no_fasten AS named WHERE named.vehicle_id = opening.vehicle_id AND lower(trim(named.zone)) "
    "IN (lower(trim(opening.opening_id)), lower(trim(coalesce(opening.label, '')))))"
)
"""SQL of whether the vehicle lists an opening among the places where nothing may be fastened."""
THINGS = (
    "(SELECT list({'lengths': [k.x_mm, k.x_mm_tol, k.y_mm, k.y_mm_tol, k.w_mm, k.w_mm_tol, k.h_mm, k.h_mm_tol], "
    "'words': [k.reach, k.basis]} ORDER BY k.position) FROM keep_clear AS k "
    "WHERE k.vehicle_id = opening.vehicle_id AND k.opening_id = opening.opening_id)"
)
"""SQL of the things that must stay reachable beside an opening, as one list."""


def lay_places(con: Connection, kinds: Sequence[str], vehicle_id: str | None) -> None:
    """Number the openings, as the relation ``place``: (kind, vehicle_id, opening_id, place_no, represents).

    Equal openings share a number, and one of them ``represents`` all. Numbers follow the figures, so that openings of
    equal size are in the same share and are evaluated together.
    """
    where = "" if vehicle_id is None else f" WHERE opening.vehicle_id = {quoted(vehicle_id)}"
    union = " UNION ALL ".join(_alike_sql(con, ASKED[kind], where) for kind in kinds)
    con.execute(
        "CREATE OR REPLACE TEMP TABLE place AS SELECT kind, vehicle_id, opening_id, "
        "(dense_rank() OVER (ORDER BY kind, alike) - 1)::INTEGER AS place_no, "
        "row_number() OVER (PARTITION BY kind, alike ORDER BY vehicle_id, opening_id) = 1 AS represents "
        f"FROM ({union}) ORDER BY kind, vehicle_id, opening_id"
    )


def _alike_sql(con: Connection, asking: KindRules, where: str) -> str:
    """SQL of the openings of a kind, with a number for those that are equal in all figures that matter."""
    figures = [*held_columns(con, f"opening_{asking.kind}", "opening", _figures(asking)), COVERS]
    figures += held_columns(con, "vehicle", "vehicle", [one.field for one in read_of("vehicle", *asking.own)])
    figures += [THINGS] if asking.things else []
    named = ", ".join(f"{figure} AS f{at}" for at, figure in enumerate(figures))
    alike = ", ".join(f"f{at}" for at in range(len(figures)))
    return (
        f"SELECT '{asking.kind}' AS kind, vehicle_id, opening_id, dense_rank() OVER (ORDER BY {alike}) AS alike "
        f"FROM (SELECT opening.vehicle_id, opening.opening_id, {named} FROM opening_{asking.kind} AS opening "
        f"LEFT JOIN vehicle ON vehicle.vehicle_id = opening.vehicle_id{where})"
    )


def held_columns(con: Connection, table: str, name: str, fields: Iterable[str]) -> list[str]:
    """Columns of some figures and their tolerances."""
    wanted = {column for field in fields for column in (field, f"{field}_tol")}
    return [f'{name}."{column}"' for column, *_ in con.execute(f"DESCRIBE {table}").fetchall() if column in wanted]


def _figures(asking: KindRules) -> list[str]:
    """Figures of an opening that matter, directly or through its hole."""
    read = ["basis", *(one.field for one in read_of("opening", *asking.own, *asking.mated, *asking.things))]
    if asking.plates:
        read += [*SIDES[asking.kind], *OWN[asking.kind], "shape", "count"]
        read += ["cut_w_mm", "cut_h_mm", "cut_material", "cut_piece"]
    return read
