"""Openings that are alike in every figure that a rule reads: asked about once, and the answer holds for all of them."""

from __future__ import annotations

from collections.abc import Sequence

from matcher.rules.rule import rules_of
from matcher.search.fits.figures import columns_read, rules_sql
from matcher.search.fits.relations import hole_sql, zone_sql
from matcher.search.matrix.kinds import ASKED, Asking
from matcher.settings import Settings
from matcher.store.connection import Connection
from matcher.store.listing import quoted

NAMES = ("vehicle_id", "opening_id", "label")
"""What an opening is called: what a rule makes of it is a figure, as ``of_place`` says."""
THING = ("x_mm", "y_mm", "w_mm", "h_mm")


def lay_places(con: Connection, kinds: Sequence[str], vehicle_id: str | None, settings: Settings) -> None:
    """Number the openings, as the relation ``place``: (kind, vehicle_id, opening_id, place_no, stands).

    Openings that are alike have one number, and one of them ``stands`` for all of them. The numbers go by the figures,
    so that those of one size come in the same share: what is said of a size is asked once in it.
    """
    where = "" if vehicle_id is None else f" WHERE opening.vehicle_id = {quoted(vehicle_id)}"
    union = " UNION ALL ".join(_alike_sql(con, ASKED[kind], where, settings) for kind in kinds)
    con.execute(
        "CREATE OR REPLACE TEMP TABLE place AS SELECT kind, vehicle_id, opening_id, "
        "(dense_rank() OVER (ORDER BY kind, alike) - 1)::INTEGER AS place_no, "
        "row_number() OVER (PARTITION BY kind, alike ORDER BY vehicle_id, opening_id) = 1 AS stands "
        f"FROM ({union}) ORDER BY kind, vehicle_id, opening_id"
    )


def _alike_sql(con: Connection, asking: Asking, where: str, settings: Settings) -> str:
    """SQL of the openings of a kind, each with a number for those that are alike in all that their answers go by."""
    figures = [f'opening."{name}"' for name in _figures(con, asking, settings)]
    if asking.of_place:
        said = rules_sql(rules_of(asking.of_place), settings)
        figures.append(f"(SELECT o FROM (SELECT {said} FROM {zone_sql()}) AS o)")
    if asking.of_vehicle:
        read = columns_read("vehicle", rules_sql(rules_of(asking.of_vehicle), settings))
        figures += [f'vehicle."{name}"' for name in read]
    if asking.of_things:
        figures.append(things_sql())
    named = ", ".join(f"{figure} AS f{at}" for at, figure in enumerate(figures))
    alike = ", ".join(f"f{at}" for at in range(len(figures)))
    return (
        f"SELECT '{asking.kind}' AS kind, vehicle_id, opening_id, dense_rank() OVER (ORDER BY {alike}) AS alike "
        f"FROM (SELECT opening.vehicle_id, opening.opening_id, {named} FROM opening_{asking.kind} AS opening "
        f"LEFT JOIN vehicle ON vehicle.vehicle_id = opening.vehicle_id{where})"
    )


def things_sql() -> str:
    """SQL of what must stay reachable beside an opening, as one list."""
    lengths = ", ".join(f"k.{name}, k.{name}_tol" for name in THING)
    told = f"{{'lengths': [{lengths}], 'words': [k.reach, k.basis]}}"
    return (
        f"(SELECT list({told} ORDER BY k.position) FROM keep_clear k "
        "WHERE k.vehicle_id = opening.vehicle_id AND k.opening_id = opening.opening_id)"
    )


def _figures(con: Connection, asking: Asking, settings: Settings) -> list[str]:
    """The columns of an opening that some rule of part and opening reads, at first hand or through its hole."""
    read = {"basis", *columns_read("opening", rules_sql([*asking.mated, *asking.things], settings))}
    if not asking.is_standing:
        read |= set(columns_read("o", hole_sql(asking.kind, settings)))
    held = con.execute(f"DESCRIBE opening_{asking.kind}").fetchall()
    return [name for name, *_ in held if name in read and name not in NAMES]
