"""How a part would be mounted at an opening: each way with its checks, for one part."""

from __future__ import annotations

from dataclasses import dataclass, replace

from catalog_schema.answers import Check, CutNeeded
from matcher.rules.adapter import ADAPTER
from matcher.rules.dash import DASH, SCREEN
from matcher.rules.laid import IS_TURNED, across, down
from matcher.rules.rule import rules_of
from matcher.rules.speaker import SPEAKER
from matcher.search.relations import (
    adapter_mouth_sql,
    bare_mouth_sql,
    best_rise_sql,
    hole_sql,
    part_sql,
)
from matcher.search.statement import Asked, check_rows
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: a part, an opening, perhaps an adapter."""

    part_id: str
    family: str
    vehicle_id: str
    opening_id: str
    kind: str
    adapter_id: str | None

    @property
    def place(self) -> list[str]:
        return [self.vehicle_id, self.opening_id]


@dataclass(frozen=True, slots=True)
class Mount:
    """One hole with everything asked of it."""

    step: int
    is_cut: bool
    checks: list[Check]
    cut: CutNeeded | None
    turned: bool


def mounted_rows(con: Connection, question: Question, settings: Settings) -> list[Mount]:
    """The part in the opening as found, and as it could be cut, least step first."""
    scope = DASH if question.kind == "dash" else SPEAKER
    rules = (*(rules_of(ADAPTER) if question.adapter_id else ()), *rules_of(scope))
    source = "part, opening, mouth"
    if question.adapter_id:
        source += " JOIN hole ON mouth.hole_is_cut = hole.is_cut, adapter"
    asked = Asked(
        _ctes(question, settings), f"{source} ORDER BY mouth.step", _beside(question, settings), rules
    )
    params = [question.part_id, *question.place, *([question.adapter_id] if question.adapter_id else [])]
    mounts = []
    for (step, is_cut, w_mm, h_mm, material, turned), checks in check_rows(con, asked, params, settings):
        cut = CutNeeded(w_mm=w_mm, h_mm=h_mm, material=material) if is_cut and w_mm and h_mm else None
        named = [renamed(check, question, is_cut) for check in checks]
        mounts.append(Mount(step, is_cut, named, cut, turned))
    return mounts


def _ctes(question: Question, settings: Settings) -> str:
    kind = question.kind
    pieces = [
        f"part AS (SELECT * FROM ({part_sql(question.family)}) WHERE part_id = ?)",
        f"opening AS (SELECT * FROM opening_{kind} WHERE vehicle_id = ? AND opening_id = ?)",
        f"hole AS ({hole_sql(kind, settings)})",
    ]
    if question.adapter_id is None:
        pieces.append(f"mouth AS ({bare_mouth_sql()})")
    else:
        pieces.append(f"adapter AS (SELECT * FROM ({part_sql('adapter')}) WHERE part_id = ?)")
        pieces.append(f"mouth AS ({adapter_mouth_sql(kind, settings)})")
    return f"WITH {', '.join(pieces)}"


def _beside(question: Question, settings: Settings) -> tuple[str, ...]:
    """Step, whether cut, the opening after cutting, its material, whether the part lies turned."""
    if question.adapter_id:
        needs_w, needs_h = "adapter.fits_w_mm", "adapter.fits_h_mm"
    elif question.kind == "dash":
        needs_w, needs_h = "part.body_w_mm", "part.body_h_mm"
    else:
        needs_w, needs_h = across("cutout").value(settings), down("cutout").value(settings)
    w, h = ("w_mm", "h_mm") if question.kind == "dash" else ("hole_w_mm", "hole_h_mm")
    turned = IS_TURNED.sql if question.kind == "speaker" else "false"
    return (
        "mouth.step",
        "mouth.hole_is_cut",
        f"greatest(opening.{w}, {needs_w})",
        f"greatest(opening.{h}, {needs_h})",
        "opening.cut_material",
        turned,
    )


def screen_checks(con: Connection, question: Question, settings: Settings) -> list[Check]:
    """A floating screen against each thing that must stay reachable, at its best height."""
    ctes = (
        "WITH opening AS (SELECT vehicle_id, opening_id FROM opening_dash WHERE vehicle_id = ? AND opening_id = ?), "
        f"around AS ({keeps_sql(settings)}), "
        "part AS (SELECT * FROM head_unit WHERE part_id = ?), "
        f"rise AS (SELECT {best_rise_sql(settings)} AS mm FROM part, around), "
        "keep AS (SELECT k.* FROM keep_clear k JOIN opening USING (vehicle_id, opening_id))"
    )
    asked = Asked(ctes, "part, rise, keep ORDER BY keep.position", ("keep.name",), tuple(rules_of(SCREEN)))
    found = check_rows(con, asked, [*question.place, question.part_id], settings)
    return [
        replace(renamed(check, question, False, about=name), about=name)
        for (name,), checks in found
        for check in checks
    ]


def keeps_sql(settings: Settings) -> str:
    """The things around a dash opening as one list, and the rises midway between any two of them."""
    clear = "CASE reach " + "".join(
        f"WHEN '{word}' THEN {value} " for word, value in settings.by_word("reach_mm")
    )
    clear += f"ELSE coalesce(try_cast(reach AS DECIMAL(15,6)), {settings['reach_mm.fingers']}) END"
    return (
        f"SELECT list(k) AS keeps, list_distinct(flatten(list_transform(list(k), lambda a: list_transform(list(k), "
        f"lambda b: ((a.y_mm - a.clear + b.y_mm + b.h_mm + b.clear) / 2)::DECIMAL(15,6))))) AS rises "
        f"FROM (SELECT *, {clear} AS clear FROM keep_clear JOIN opening USING (vehicle_id, opening_id)) k"
    )


def renamed(check: Check, question: Question, is_cut: bool, about: str = "") -> Check:
    """The check with its missing figures named where they are kept: by part, opening or adapter."""
    if not check.missing:
        return check
    names = dict.fromkeys(name for old in check.missing for name in _kept_as(old, question, is_cut, about))
    return replace(check, missing=list(names))


def _kept_as(name: str, question: Question, is_cut: bool, about: str) -> list[str]:
    subject, _, field = name.partition(".")
    if subject == "rise":
        return ["part.screen_rise_min_mm", "part.screen_rise_max_mm"]
    if subject == "keep":
        return [f"opening.keep_clear[{about}].{field}"]
    if subject == "mouth" and question.adapter_id:
        return [f"adapter.{field}" if field == "forward_mm" else f"adapter.gives_{field}"]
    if subject in ("mouth", "hole"):
        prefix = "cut_" if is_cut and field in ("w_mm", "h_mm") else ""
        middle = "hole_" if not prefix and question.kind == "speaker" and field in ("w_mm", "h_mm") else ""
        return [f"opening.{prefix}{middle}{field}"]
    return [name]
