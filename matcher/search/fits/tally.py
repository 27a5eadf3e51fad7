"""How a slot's parts fare by rule: counts, and the nearest miss of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from matcher.rules.cargo import CARGO
from matcher.rules.rule import NO, Rule, rules_of
from matcher.rules.supply import POWERED
from matcher.search.fits.figures import Sets, own_rules, rules_sql
from matcher.search.fits.place import Place
from matcher.search.fits.relations import bare_mouth_sql, hole_sql, measured, part_sql
from matcher.search.fits.term_sql import code_sql, stem
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass(frozen=True, slots=True)
class Miss:
    """Parts that a rule refuses at an opening as found, without an adapter."""

    rule: Rule
    count: int
    nearest: str | None
    margin: Decimal | None


def misses(con: Connection, place: Place, sets: Sets, settings: Settings) -> list[Miss]:
    """For each rule that refuses something there: how many, and which part misses by least."""
    own = [one for lifted in (False, True) for one in own_rules(place.kind, settings, lifted=lifted)]
    asked = [(own, f"SELECT part_id, 1 AS many, {rules_sql(own, settings)} FROM {sets.parts} AS part, opening")]
    for at, panel in enumerate(sets.panels):
        sharing = f"SELECT set_{at} AS number, count(*) AS many, min(part_id) AS part_id FROM {sets.parts} GROUP BY ALL"
        asked.append(
            (
                list(panel.rules),
                f"SELECT sharing.part_id, many, {panel.sql} FROM ({sharing}) AS sharing "
                f"JOIN {sets.figures(at)} AS part USING (number), opening, mouth",
            )
        )
    opening = f"opening AS (SELECT * FROM opening_{place.kind} WHERE vehicle_id = ? AND opening_id = ?)"
    mouth = f"mouth AS (SELECT * FROM ({bare_mouth_sql()}) WHERE NOT is_cut)"
    return _misses(con, f"WITH {opening}, hole AS ({hole_sql(place.kind, settings)}), {mouth}", asked, place.key)


def box_misses(con: Connection, place: Place, settings: Settings) -> list[Miss]:
    """For each rule that refuses a box of the catalog in a cargo space: how many, and which misses by least."""
    opening = "WITH opening AS (SELECT * FROM opening_cargo WHERE vehicle_id = ? AND opening_id = ?)"
    boxes = (
        f"SELECT part.part_id, 1 AS many, {measured(CARGO, settings)} FROM ({part_sql('enclosure', settings)}) AS part"
    )
    return _misses(con, opening, [(rules_of(CARGO), f"{boxes}, opening")], place.key)


def _misses(con: Connection, ctes: str, asked: Sequence[tuple[list[Rule], str]], params: Sequence[str]) -> list[Miss]:
    """What each rule refuses of the relation that it is asked on: rows of ``many`` parts, of which one is named.

    Of parts that miss by as much the first by name is told.
    """
    told = [rule for rules, _ in asked for rule in rules]
    number = {rule.name: at for at, rule in enumerate(told)}
    every = " UNION ALL ".join(_refused_sql(rules, number, relation) for rules, relation in asked if rules)
    rows = con.execute(
        f"{ctes} SELECT one.rule, sum(many)::BIGINT, arg_min(part_id, {{'short': -one.margin, 'part_id': part_id}}), "
        f"max(one.margin) FROM ({every}) WHERE one.code = {NO} GROUP BY one.rule",
        params,
    ).fetchall()
    found = [Miss(told[at], count, nearest, margin) for at, count, nearest, margin in rows]
    return sorted(found, key=lambda miss: (-miss.count, miss.rule.name))


def _refused_sql(rules: Sequence[Rule], number: Mapping[str, int], relation: str) -> str:
    """SQL of what each rule says to each row, and by how much it is met."""
    each = ", ".join(
        f"{{'rule': {number[rule.name]}, 'code': {code_sql(rule)}, "
        f"'margin': ({stem(rule)}_have - {stem(rule)}_need)::DECIMAL(18,6)}}"
        for rule in rules
    )
    return f"SELECT part_id, many, unnest([{each}]) AS one FROM ({relation})"


def supply_refusals(con: Connection, vehicle_id: str, settings: Settings) -> list[Rule]:
    """The rules by which the vehicle's own supply refuses every powered part."""
    rules = rules_of(POWERED)
    codes = ", ".join(code_sql(rule) for rule in rules)
    row = con.execute(
        f"SELECT {codes} FROM (SELECT {measured(POWERED, settings)} FROM vehicle WHERE vehicle_id = ?)", [vehicle_id]
    ).fetchone()
    return [rule for rule, code in zip(rules, row or (), strict=False) if code == NO]
