"""What is told of a pair: the way in that a single fit would show, its worst rule, and the least step it takes."""

from __future__ import annotations

from collections.abc import Sequence

from catalog_schema.ladder import step_rank
from matcher.rules.dash import SCREEN
from matcher.rules.rule import NO
from matcher.search.matrix.kinds import Asking
from matcher.search.matrix.sheets import Sheet
from matcher.search.matrix.verdicts import (
    NO_RULE,
    code_of,
    codes_sql,
    key_of,
    rule_at,
    told,
    worst_key,
)
from matcher.search.mounting import keeps_sql
from matcher.search.relations import best_rise_sql, measured
from matcher.settings import Settings

DRILLED = step_rank("drilled")
LIMIT = 0
"""Where the limit on alteration stands among the rules of a question."""


def way_sql(asking: Asking, sheets: Sequence[Sheet], asked: str, step: int, *, every: bool) -> str:
    """SQL of each way in over what the sheets say: (place_no, part_no, step, takes, key, margin, tol, refused)."""
    things = "coalesce(things_key, 9223372036854775807)" if asking.things else "own_key"
    firm = ", ".join(f"key_{one.at}" for one in sheets if not one.is_lifted)
    lifted = ", ".join([*(f"key_{one.at}" for one in sheets if one.is_lifted), NO_RULE])
    takes = (
        f"CASE WHEN {code_of('least(firm_key, lifted_key)')} != {NO} THEN step "
        f"WHEN {code_of('firm_key')} != {NO} THEN greatest(step, {DRILLED}) END"
    )
    at = f"coalesce(least(takes, {step}), {step})"
    shown = f"CASE WHEN {at} >= {DRILLED} THEN firm_key ELSE least(firm_key, lifted_key) END"
    beyond = key_of(str(NO), f"{step} - step", "0", "steps", LIMIT)
    key = f"CASE WHEN step > {step} THEN least({beyond}, {shown}) ELSE {shown} END"
    margins, tols = (_told(asking, sheets, step, which) for which in ("margin", "tol"))
    wanted = "true" if every else f"takes <= {step}"
    return (
        f"WITH keyed AS (SELECT *, least({firm}, own_key, {things}) AS firm_key, least({lifted}) AS lifted_key "
        f"FROM ({asked})), "
        f"taken AS (SELECT *, {takes} AS takes FROM keyed), worst AS (SELECT *, {key} AS key FROM taken) "
        "SELECT place_no, part_no, step, takes, key, "
        f"CASE WHEN {wanted} THEN {margins} END AS margin, CASE WHEN {wanted} THEN {tols} END AS tol, "
        f"CASE WHEN takes <= {step} THEN NULL ELSE {_refused(asking, sheets, step)} END AS refused FROM worst"
    )


def _told(asking: Asking, sheets: Sequence[Sheet], step: int, which: str) -> str:
    """SQL of the margin or the tolerance of the rule that a key names."""
    own, beyond = ("own_margin", f"{step} - step") if which == "margin" else ("own_tol", "0")
    cases = [f"WHEN key = key_{one.at} THEN {which}_{one.at}" for one in sheets]
    cases += [f"WHEN {rule_at('key')} = {asking.at(rule)} THEN things_told.{which}" for rule in asking.things]
    return f"(CASE WHEN key = own_key THEN {own} {' '.join(cases)} ELSE {beyond} END)::DECIMAL(18,6)"


def _refused(asking: Asking, sheets: Sequence[Sheet], step: int) -> str:
    """SQL of the first rule that refuses a way in."""
    refused = [f"refused_{one.at}" for one in sheets if step < DRILLED or not one.is_lifted]
    if asking.things:
        refused.append(f"CASE WHEN {code_of('things_key')} = {NO} THEN {rule_at('things_key')} END")
    return f"CASE WHEN step > {step} THEN {LIMIT} ELSE coalesce(closed, least({', '.join(refused)})) END"


def shown_sql(ways: str, step: int) -> str:
    """SQL of each pair over the relation of its ways in: the way that is shown, and the least step that any takes."""
    order = (
        f"CASE WHEN takes <= {step} THEN takes * 10 + step WHEN step <= {step} THEN 1000 - step ELSE 2000 + step END"
    )
    shown = "{'key': key, 'margin': margin, 'tol': tol, 'refused': refused}"
    return (
        f"SELECT place_no, part_no, takes, unnest(one) FROM (SELECT place_no, part_no, min(takes) AS takes, "
        f"arg_min({shown}, {order}) AS one FROM {ways} GROUP BY place_no, part_no)"
    )


def things_sql(asking: Asking, settings: Settings) -> str:
    """SQL of the worst that is said of a pair about what must stay reachable: (part_no, place_no, key, told).

    A floating screen hangs at the height at which it keeps the most room.
    """
    rules = asking.things
    margin, tol = (told(asking, rules, "key", "NULL", which) for which in ("margin", "tol"))
    return (
        f"WITH around AS ({keeps_sql(settings, by='place_no')}), "
        "hanging AS (SELECT part_no, place_no FROM formed JOIN catalog AS part USING (part_no) "
        "WHERE part.screen IS NULL OR part.screen = 'floating'), "
        f"hung AS (SELECT part_no, place_no, {{'mm': {best_rise_sql(settings)}}} AS rise "
        "FROM hanging JOIN catalog AS part USING (part_no) JOIN around USING (place_no)), "
        "keep AS (SELECT k.*, opening.place_no FROM keep_clear k JOIN opening USING (vehicle_id, opening_id)), "
        f"asked AS (SELECT hung.part_no, hung.place_no, {measured(SCREEN, settings)} FROM hung "
        "JOIN catalog AS part ON part.part_no = hung.part_no JOIN keep ON keep.place_no = hung.place_no, "
        "LATERAL (SELECT hung.rise.mm AS mm) AS rise), "
        f"coded AS (SELECT *, {codes_sql(rules)} FROM asked), "
        f"keyed AS (SELECT *, {worst_key(asking, rules)} AS key FROM coded) "
        f"SELECT part_no, place_no, min(key) AS key, arg_min({{'margin': {margin}, 'tol': {tol}}}, key) AS told "
        "FROM keyed GROUP BY part_no, place_no"
    )
