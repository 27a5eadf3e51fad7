"""How a slot's parts fare by rule: counts, and the nearest miss of each."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from matcher.rules.cargo import CARGO
from matcher.rules.dash import DASH
from matcher.rules.rule import NO, Rule, rules_of
from matcher.rules.speaker import SPEAKER
from matcher.rules.supply import POWERED
from matcher.search.fits.place import Place
from matcher.search.fits.relations import bare_mouth_sql, hole_sql, measured, part_sql
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass(frozen=True, slots=True)
class Miss:
    """Parts that a rule refuses at an opening as found, without an adapter."""

    rule: Rule
    count: int
    nearest: str | None
    margin: Decimal | None


def misses(con: Connection, place: Place, settings: Settings) -> list[Miss]:
    """For each rule that refuses something there: how many, and which part misses by least."""
    rules = rules_of(DASH if place.kind == "dash" else SPEAKER)
    source = (
        f"WITH part AS ({part_sql(place.family, settings)}), "
        f"opening AS (SELECT * FROM opening_{place.kind} WHERE vehicle_id = ? AND opening_id = ?), "
        f"hole AS ({hole_sql(place.kind, settings)}), mouth AS (SELECT * FROM ({bare_mouth_sql()}) WHERE NOT is_cut), "
        f"asked AS (SELECT part.part_id, {measured(DASH if place.kind == 'dash' else SPEAKER, settings)} "
        "FROM part, opening, mouth)"
    )
    return _misses(con, source, rules, place.key)


def box_misses(con: Connection, place: Place, settings: Settings) -> list[Miss]:
    """For each rule that refuses a box of the catalog in a cargo space: how many, and which misses by least."""
    source = (
        f"WITH part AS ({part_sql('enclosure', settings)}), "
        "opening AS (SELECT * FROM opening_cargo WHERE vehicle_id = ? AND opening_id = ?), "
        f"asked AS (SELECT part.part_id, {measured(CARGO, settings)} FROM part, opening)"
    )
    return _misses(con, source, rules_of(CARGO), place.key)


def _misses(con: Connection, source: str, rules: list[Rule], params: list[str]) -> list[Miss]:
    """Of the relation ``asked``: what each rule refuses."""
    columns = ", ".join(
        f"count(*) FILTER (code_{i} = {NO}), arg_max(part_id, {rule.column}_have - {rule.column}_need) "
        f"FILTER (code_{i} = {NO}), max({rule.column}_have - {rule.column}_need) FILTER (code_{i} = {NO})"
        for i, rule in enumerate(rules)
    )
    codes = ", ".join(f"{rule.code_sql()} AS code_{i}" for i, rule in enumerate(rules))
    statement = f"{source}, coded AS (SELECT *, {codes} FROM asked ORDER BY part_id) SELECT {columns} FROM coded"
    row = con.execute(statement, params).fetchone() or ()
    found = [Miss(rule, *row[3 * i : 3 * i + 3]) for i, rule in enumerate(rules)]
    return sorted((miss for miss in found if miss.count), key=lambda miss: (-miss.count, miss.rule.name))


def supply_refusals(con: Connection, vehicle_id: str, settings: Settings) -> list[Rule]:
    """The rules by which the vehicle's own supply refuses every powered part."""
    rules = rules_of(POWERED)
    codes = ", ".join(rule.code_sql() for rule in rules)
    row = con.execute(
        f"SELECT {codes} FROM (SELECT {measured(POWERED, settings)} FROM vehicle WHERE vehicle_id = ?)", [vehicle_id]
    ).fetchone()
    return [rule for rule, code in zip(rules, row or (), strict=False) if code == NO]
