"""The relations that rules are asked on, as SQL over the store's tables.

An opening is one row. A ``hole`` is the opening as found, and once more as it could be cut.
A ``mouth`` is what a part meets: a hole itself, or what an adapter in that hole gives.
A hole or a mouth carries the step of the alteration ladder that it takes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from catalog_schema.ladder import step_rank
from matcher.rules.adapter import ADAPTER
from matcher.rules.dash import SCREEN_CLEAR
from matcher.rules.rule import FITS, MEASURE, Rule, rules_of
from matcher.search.fits.refusing import nothing_refused as nothing_refused
from matcher.search.fits.refusing import refuses as refuses
from matcher.search.fits.term_sql import basis_tol_sql, code_sql, rule_columns, value_sql
from matcher.settings import Settings

BOLT_FIGURES = ("bolt_w_mm", "bolt_h_mm", "bolt_circle_mm")
HOLE_FIGURES = ("w_mm", "h_mm", "found_w_mm", "found_h_mm", *BOLT_FIGURES, "shaft_mm")
UNKNOWN_LENGTH = "NULL::DECIMAL(15,6)"


def same_sql(one: str, other: str, columns: Iterable[str]) -> str:
    """SQL of two rows being the same in some columns, what is not known in either included."""
    return " AND ".join(f'{one}."{column}" IS NOT DISTINCT FROM {other}."{column}"' for column in columns)


def with_basis_tol(relation: str, otherwise: str, settings: Settings) -> str:
    """SQL of a relation's rows with the tolerance that each row's basis sets, as ``basis_tol``."""
    return f"SELECT *, {basis_tol_sql('basis', otherwise, settings)} AS basis_tol FROM {relation}"


def tol_of(alias: str, field: str) -> str:
    """SQL of a length's tolerance: its own, or by its row's basis."""
    return f'coalesce({alias}."{field}_tol", {alias}.basis_tol)'


def carried(alias: str, field: str, name: str) -> str:
    """SQL that carries a length and its tolerance on under another name."""
    return f'{alias}."{field}" AS "{name}", {tol_of(alias, field)} AS "{name}_tol"'


def hole_sql(kind: str, settings: Settings) -> str:
    """The openings of the relation ``opening``, as found and as they could be cut."""
    opening = f"({with_basis_tol('opening', 'measured', settings)}) o"
    w, h = ("hole_w_mm", "hole_h_mm") if kind == "speaker" else ("w_mm", "h_mm")
    sides = f"{_cut_side('w', w)}, {_cut_side('h', 'tall')}"
    return (
        f"SELECT o.vehicle_id, o.opening_id, '{kind}' AS kind, way.is_cut, {_step_sql()} AS step, "
        f"CASE WHEN way.is_cut THEN 'rect' ELSE o.shape END AS shape, {sides}, "
        f"{carried('o', w, 'found_w_mm')}, {carried('o', 'tall', 'found_h_mm')}, {_others(kind)} "
        f"FROM ({_tall(w, h, opening)}) o, (VALUES (false), (true)) way(is_cut) WHERE NOT way.is_cut "
        "OR o.cut_w_mm IS NOT NULL OR o.cut_h_mm IS NOT NULL OR o.cut_material IS NOT NULL OR o.cut_piece IS NOT NULL"
    )


def _tall(w: str, h: str, opening: str) -> str:
    """The opening with its height as ``tall``: that of a round hole is its width."""
    flat = f"o.shape = 'round' AND o.{h} IS NULL"
    return (
        f"SELECT o.*, CASE WHEN {flat} THEN o.{w} ELSE o.{h} END AS tall, "
        f"CASE WHEN {flat} THEN o.{w}_tol ELSE o.{h}_tol END AS tall_tol FROM {opening}"
    )


def _cut_side(side: str, found: str) -> str:
    """A side of the hole, or as far as it could be cut; a cut that names no size is of unknown size."""
    name, cut = f"{side}_mm", f"o.cut_{side}_mm"
    return (
        f"CASE WHEN NOT way.is_cut THEN o.{found} WHEN o.cut_w_mm IS NOT NULL OR o.cut_h_mm IS NOT NULL "
        f"THEN greatest(o.{found}, {cut}) END AS {name}, "
        f"CASE WHEN way.is_cut AND {cut} > coalesce(o.{found}, 0) THEN {tol_of('o', f'cut_{side}_mm')} "
        f"ELSE {tol_of('o', found)} END AS {name}_tol"
    )


def _step_sql() -> str:
    spare, hidden, metal = (step_rank(step) for step in ("spare_piece", "hidden_cut", "metal_cut"))
    return (
        f"CASE WHEN NOT way.is_cut THEN 0 WHEN o.cut_piece = 'spare' THEN {spare} "
        f"WHEN o.cut_material IN ('trim', 'hidden_plastic') THEN {hidden} ELSE {metal} END"
    )


def _others(kind: str) -> str:
    """What a hole of one kind has and of the other has not."""
    if kind == "speaker":
        bolts = ", ".join(carried("o", field, field) for field in BOLT_FIGURES)
        shaft = f"{UNKNOWN_LENGTH} AS shaft_mm, {UNKNOWN_LENGTH} AS shaft_mm_tol"
        return f"{bolts}, o.bolt_count, {shaft}"
    none = ", ".join(f"{UNKNOWN_LENGTH} AS {name}" for field in BOLT_FIGURES for name in (field, f"{field}_tol"))
    return f"{none}, NULL::INTEGER AS bolt_count, {carried('o', 'shaft_mm', 'shaft_mm')}"


def _figures(alias: str, names: Sequence[str]) -> str:
    return ", ".join(f"{alias}.{name}, {alias}.{name}_tol" for name in names)


def bare_mouth_sql() -> str:
    """Every hole as a mouth: nothing between the part and the opening."""
    return (
        "SELECT hole.vehicle_id, hole.opening_id, hole.is_cut, hole.is_cut AS hole_is_cut, hole.step, "
        f"NULL::VARCHAR AS adapter_id, true AS bolted, hole.shape, "
        f"{_figures('hole', HOLE_FIGURES)}, hole.bolt_count, "
        f"0::DECIMAL(15,6) AS forward_mm, 0::DECIMAL(15,6) AS forward_mm_tol, "
        f"{FITS} AS adapter_base, {FITS} AS adapter_bolts FROM hole"
    )


def adapter_mouth_sql(kind: str, settings: Settings, *, judged: bool = True) -> str:
    """What each adapter of the relation ``adapter`` gives in each hole; ``judged``: with how it sits there."""
    inner = (
        "SELECT hole.vehicle_id, hole.opening_id, false AS is_cut, hole.is_cut AS hole_is_cut, "
        f"greatest(hole.step, {step_rank('bolt_on')}) AS step, adapter.part_id AS adapter_id, "
        f"adapter.gives_shape AS shape, {_has_bolts()} AS bolted, "
        f"{', '.join(carried('adapter', f'gives_{name}', name) for name in ('w_mm', 'h_mm', *BOLT_FIGURES))}, "
        f"{_figures('hole', ('found_w_mm', 'found_h_mm', 'shaft_mm'))}, adapter.gives_bolt_count AS bolt_count, "
        f"{carried('adapter', 'forward_mm', 'forward_mm')}"
        f"{', ' + measured(ADAPTER, settings) if judged else ''} FROM adapter, hole "
        f"WHERE adapter.\"for\" = '{kind}'"
    )
    codes = f"{worst_code(ADAPTER, lifted=False)} AS adapter_base, {worst_code(ADAPTER, lifted=True)} AS adapter_bolts"
    return f"SELECT *{', ' + codes if judged else ''} FROM ({inner})"


def _has_bolts() -> str:
    return "(" + " OR ".join(f"adapter.gives_{name} IS NOT NULL" for name in BOLT_FIGURES) + ")"


def zone_sql() -> str:
    """SQL of whether the vehicle names the row ``opening`` among the places where nothing may be fastened."""
    named = "lower(trim(opening.opening_id)), lower(trim(coalesce(opening.label, '')))"
    return (
        "LATERAL (SELECT count(*) > 0 AS covers FROM no_fasten AS named "
        f"WHERE named.vehicle_id = opening.vehicle_id AND lower(trim(named.zone)) IN ({named})) AS zone"
    )


def worst_code(scope: str, *, lifted: bool) -> str:
    """SQL of the worst that a question's rules say: of those a drill lifts, or of the others.

    It stands over the columns that `measured` reads.
    """
    return worst_of(rule for rule in rules_of(scope) if (rule.lifted_at is not None) == lifted)


def worst_of(rules: Iterable[Rule]) -> str:
    """SQL of the worst that some rules say, over the columns that they read."""
    worst = f"least({', '.join([*map(code_sql, rules), str(FITS)])})"
    return f"greatest({worst}, {MEASURE})" if not refuses() else worst


def measured(scope: str, settings: Settings) -> str:
    """SQL of everything that a question's rules read of a row."""
    return ", ".join(rule_columns(rule, settings) for rule in rules_of(scope))


ROUND_FILLED = {
    "speaker": ("shape", (("cutout_h_mm", "cutout_w_mm"), ("flange_h_mm", "flange_w_mm"))),
    "adapter_fits": ("fits_shape", (("fits_h_mm", "fits_w_mm"),)),
    "adapter_gives": ("gives_shape", (("gives_h_mm", "gives_w_mm"),)),
}


def part_sql(family: str, settings: Settings) -> str:
    """A family's parts as rules ask them: round things with their heights, tolerances."""
    fills = [
        _filled(height, width, shape)
        for name, (shape, pairs) in ROUND_FILLED.items()
        if name.partition("_")[0] == family
        for height, width in pairs
    ]
    if family == "head_unit":
        from matcher.search.catalog.counted import rail_w

        rail = f"{rail_w(settings)}::DECIMAL(15,6)"
        fills.append(f"CASE WHEN amp_w > {rail} THEN {rail} ELSE amp_w END AS amp_w")  # unknown stays unknown
    replaced = f"* REPLACE ({', '.join(fills)})" if fills else "*"
    return f'SELECT {replaced}, {basis_tol_sql("basis", "maker", settings)} AS basis_tol FROM "{family}"'


def _filled(height: str, width: str, shape: str) -> str:
    return (
        f"CASE WHEN {shape} = 'round' THEN coalesce({height}, {width}) ELSE {height} END AS {height}, "
        f"CASE WHEN {shape} = 'round' AND {height} IS NULL THEN {width}_tol ELSE {height}_tol END AS {height}_tol"
    )


def rise_sql(settings: Settings) -> str:
    """SQL of the height ``mm`` at which the floating screen of each cell keeps the most room.

    It stands on the relations ``hung``, the figures of a part by ``cell`` and ``place_no``, and ``keep``, the things
    that must stay reachable by ``place_no``.

    Room is a maximum of straight lines in the rise, one up and one down for each thing beside a
    constant: the best rise is an end of the range, or lies midway between two things.
    """
    room = f"({value_sql(SCREEN_CLEAR.have, settings)}) - keep.clear"
    clear = value_sql(SCREEN_CLEAR.need, settings)  # the rule's own clearance, not a copy of it
    least, most = "part.screen_rise_min_mm", "part.screen_rise_max_mm"
    ranging = f"{least} IS NOT NULL AND {most} IS NOT NULL"
    return (
        f"WITH kept AS (SELECT *, {clear} AS clear FROM keep), "
        "midway AS (SELECT DISTINCT place_no, ((a.y_mm - a.clear + b.y_mm + b.h_mm + b.clear) / 2)::DECIMAL(15,6) "
        "AS high FROM kept AS a JOIN kept AS b USING (place_no)), "
        f"tried AS (SELECT cell, {least} AS mm FROM hung AS part WHERE {ranging} "
        f"UNION SELECT cell, {most} FROM hung AS part WHERE {ranging} "
        f"UNION SELECT cell, least(greatest(high, {least}), {most}) FROM hung AS part JOIN midway USING (place_no) "
        f"WHERE {ranging}), "
        f"judged AS (SELECT cell, rise.mm, min({room}) AS room FROM tried AS rise JOIN hung AS part USING (cell) "
        "JOIN kept AS keep USING (place_no) GROUP BY cell, rise.mm), "
        "best AS (SELECT cell, max({'room': room, 'low': -abs(mm), 'mm': mm}).mm AS mm FROM judged GROUP BY cell) "
        "SELECT cell, mm FROM hung LEFT JOIN best USING (cell)"
    )
