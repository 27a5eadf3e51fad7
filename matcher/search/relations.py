"""The relations that rules are asked on, as SQL over the store's tables.

An opening is one row. A ``hole`` is the opening as found, and once more as it could be cut.
A ``mouth`` is what a part meets: a hole itself, or what an adapter in that hole gives.
A hole or a mouth carries the step of the alteration ladder that it takes.
"""

from __future__ import annotations

from catalog_schema.jobs import step_rank
from matcher.rules.adapter import ADAPTER
from matcher.rules.dash import SCREEN_CLEAR
from matcher.rules.patterns import has_circle, has_rectangle
from matcher.rules.rule import FITS, rules_of
from matcher.settings import Settings

BOLT_FIGURES = ("bolt_w_mm", "bolt_h_mm", "bolt_circle_mm")


def default_tol(alias: str, field: str, settings: Settings) -> str:
    """SQL of a length's tolerance: its own, or by its row's basis."""
    cases = " ".join(f"WHEN '{word}' THEN {tol}" for word, tol in settings.by_word("tolerance_mm"))
    return f'coalesce({alias}."{field}_tol", CASE {alias}.basis {cases} END)'


def carried(alias: str, field: str, name: str, settings: Settings) -> str:
    """SQL that carries a length and its tolerance on under another name."""
    return f'{alias}."{field}" AS "{name}", {default_tol(alias, field, settings)} AS "{name}_tol"'


def hole_sql(kind: str, settings: Settings) -> str:
    """The openings of the relation ``opening``, as found and as they could be cut."""
    w, h = ("hole_w_mm", "hole_h_mm") if kind == "speaker" else ("w_mm", "h_mm")
    return f"{_found_hole(kind, w, h, settings)} UNION ALL {_cut_hole(kind, w, h, settings)}"


def _found_hole(kind: str, w: str, h: str, settings: Settings) -> str:
    return (
        f"SELECT o.vehicle_id, o.opening_id, '{kind}' AS kind, o.basis, false AS is_cut, 0 AS step, o.shape, "
        f"{carried('o', w, 'w_mm', settings)}, {_height(h, w, settings)}, {_others(kind, settings)} FROM opening o"
    )


def _height(h: str, w: str, settings: Settings) -> str:
    """The height of a round hole is its width."""
    return (
        f"CASE WHEN o.shape = 'round' THEN coalesce(o.{h}, o.{w}) ELSE o.{h} END AS h_mm, "
        f"CASE WHEN o.shape = 'round' AND o.{h} IS NULL THEN {default_tol('o', w, settings)} "
        f"ELSE {default_tol('o', h, settings)} END AS h_mm_tol"
    )


def _cut_hole(kind: str, w: str, h: str, settings: Settings) -> str:
    spare, hidden, metal = (step_rank(step) for step in ("spare_piece", "hidden_cut", "metal_cut"))
    sides = ", ".join(
        f"greatest(o.{field}, o.cut_{name}) AS {name}, CASE WHEN o.cut_{name} > coalesce(o.{field}, 0) "
        f"THEN {default_tol('o', f'cut_{name}', settings)} ELSE {default_tol('o', field, settings)} END AS {name}_tol"
        for name, field in (("w_mm", w), ("h_mm", h))
    )
    return (
        f"SELECT o.vehicle_id, o.opening_id, '{kind}', o.basis, true, "
        f"CASE WHEN o.cut_piece = 'spare' THEN {spare} WHEN o.cut_material IN ('trim', 'hidden_plastic') "
        f"THEN {hidden} ELSE {metal} END, 'rect', {sides}, {_others(kind, settings)} FROM opening o "
        "WHERE o.cut_w_mm IS NOT NULL OR o.cut_h_mm IS NOT NULL"
    )


def _others(kind: str, settings: Settings) -> str:
    if kind == "speaker":
        bolts = ", ".join(carried("o", field, field, settings) for field in BOLT_FIGURES)
        return f"{bolts}, o.bolt_count, NULL::DECIMAL(15,6) AS shaft_mm, NULL::DECIMAL(15,6) AS shaft_mm_tol"
    none = ", ".join(
        f"NULL::DECIMAL(15,6) AS {name}" for field in BOLT_FIGURES for name in (field, f"{field}_tol")
    )
    return f"{none}, NULL::INTEGER AS bolt_count, {carried('o', 'shaft_mm', 'shaft_mm', settings)}"


MOUTH_FIGURES = ("w_mm", "h_mm", *BOLT_FIGURES, "shaft_mm")


def bare_mouth_sql() -> str:
    """Every hole as a mouth: nothing between the part and the opening."""
    figures = ", ".join(f"hole.{name}, hole.{name}_tol" for name in MOUTH_FIGURES)
    return (
        "SELECT hole.vehicle_id, hole.opening_id, hole.basis, hole.is_cut, hole.is_cut AS hole_is_cut, hole.step, NULL::VARCHAR AS adapter_id, "
        f"true AS bolted, hole.shape, {figures}, hole.bolt_count, 0::DECIMAL(15,6) AS forward_mm, "
        f"0::DECIMAL(15,6) AS forward_mm_tol, {FITS} AS adapter_base, {FITS} AS adapter_bolts FROM hole"
    )


def adapter_mouth_sql(kind: str, settings: Settings) -> str:
    """What each adapter of the relation ``adapter`` gives in each hole, with how it sits there."""
    figures = ", ".join(
        carried("adapter", f"gives_{name}", name, settings) for name in ("w_mm", *BOLT_FIGURES)
    )
    height = (
        "CASE WHEN adapter.gives_shape = 'round' THEN coalesce(adapter.gives_h_mm, adapter.gives_w_mm) "
        "ELSE adapter.gives_h_mm END AS h_mm, "
        f"{default_tol('adapter', 'gives_h_mm', settings)} AS h_mm_tol"
    )
    bolted = f"({has_circle('adapter.gives_')} OR {has_rectangle('adapter.gives_')})"
    inner = (
        "SELECT hole.vehicle_id, hole.opening_id, adapter.basis, false AS is_cut, hole.is_cut AS hole_is_cut, "
        f"greatest(hole.step, {step_rank('bolt_on')}) AS step, adapter.part_id AS adapter_id, "
        f"{bolted} AS bolted, adapter.gives_shape AS shape, {height}, {figures}, "
        "adapter.gives_bolt_count AS bolt_count, NULL::DECIMAL(15,6) AS shaft_mm, "
        f"NULL::DECIMAL(15,6) AS shaft_mm_tol, {carried('adapter', 'forward_mm', 'forward_mm', settings)}, "
        f"{measured(ADAPTER, settings)} FROM adapter, hole WHERE adapter.\"for\" = '{kind}'"
    )
    return (
        f"SELECT *, {worst_code(ADAPTER, lifted=False)} AS adapter_base, "
        f"{worst_code(ADAPTER, lifted=True)} AS adapter_bolts FROM ({inner})"
    )


def worst_code(scope: str, *, lifted: bool) -> str:
    """SQL of the worst that a question's rules say: of those a drill lifts, or of the others.

    It stands over the columns that `measured` reads.
    """
    codes = [rule.code_sql() for rule in rules_of(scope) if (rule.lifted_at is not None) == lifted]
    return f"least({', '.join([*codes, str(FITS)])})"


def measured(scope: str, settings: Settings) -> str:
    """SQL of everything that a question's rules read of a row."""
    return ", ".join(rule.measured_sql(settings) for rule in rules_of(scope))


ROUND_FILLED = ("cutout", "flange")


def part_sql(family: str) -> str:
    """A family's parts, with the heights of round loudspeakers filled in by their widths."""
    if family == "adapter":
        fills = [_filled("fits_h_mm", "fits_w_mm", "fits_shape")]
        return f"SELECT * REPLACE ({', '.join(fills)}) FROM adapter"
    if family != "speaker":
        return f'SELECT * FROM "{family}"'
    fills = [_filled(f"{name}_h_mm", f"{name}_w_mm", "shape") for name in ROUND_FILLED]
    return f"SELECT * REPLACE ({', '.join(fills)}) FROM speaker"


def _filled(height: str, width: str, shape: str) -> str:
    return (
        f"CASE WHEN {shape} = 'round' THEN coalesce({height}, {width}) ELSE {height} END AS {height}, "
        f"CASE WHEN {shape} = 'round' AND {height} IS NULL THEN {width}_tol ELSE {height}_tol END AS {height}_tol"
    )


def best_rise_sql(settings: Settings) -> str:
    """SQL of the rise at which a floating screen keeps the most room, over the list ``keeps``.

    Room is a maximum of straight lines in the rise, one up and one down for each thing beside a
    constant: the best rise is an end of the range, or lies midway between two things.
    """
    room = f"({SCREEN_CLEAR.have.value(settings)}) - keep.clear"
    least, most = "part.screen_rise_min_mm", "part.screen_rise_max_mm"
    rises = f"list_transform(rises, lambda high: least(greatest(high, {least}), {most}))"
    rises = f"list_concat([{least}, {most}], {rises})"
    judged = (
        f"list_transform(list_transform({rises}, lambda high: {{'mm': high}}), lambda rise: {{"
        f"'room': list_min(list_transform(keeps, lambda keep: {room})), "
        "'low': -abs(rise.mm), 'mm': rise.mm})"
    )
    return f"CASE WHEN {least} IS NOT NULL AND {most} IS NOT NULL THEN list_max({judged}).mm END"
