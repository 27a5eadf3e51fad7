"""How a part would be mounted at an opening: each way with its checks, for one part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, NamedTuple

from catalog_schema.checks import Check, CutNeeded
from matcher.rules.adapter import ADAPTER
from matcher.rules.dash import DASH, SCREEN
from matcher.rules.laid import IS_TURNED, across, down
from matcher.rules.rule import rules_of
from matcher.rules.speaker import SPEAKER
from matcher.search.fits.relations import (
    adapter_mouth_sql,
    bare_mouth_sql,
    hole_sql,
    part_sql,
    rise_sql,
)
from matcher.search.fits.statement import Asked, check_rows
from matcher.search.fits.term_sql import condition_sql, value_sql
from matcher.settings import Settings
from matcher.store.connection import Connection


class Question(NamedTuple):
    """What is asked: a part, an opening, perhaps an adapter."""

    part_id: str
    family: str
    vehicle_id: str
    opening_id: str
    kind: str
    adapter_id: str | None

    @property
    def place(self) -> list[str]:
        """What names the opening in the store."""
        return [self.vehicle_id, self.opening_id]


class Mount(NamedTuple):
    """One hole with everything asked of it."""

    step: int
    is_cut: bool
    checks: list[Check]
    cut: CutNeeded | None
    turned: bool


def mounted_rows(con: Connection, asked_of: Sequence[Question], settings: Settings) -> dict[Question, list[Mount]]:
    """Each part in the opening as found, and as it could be cut, least step first.

    All that is asked is about one opening, and either all of it through adapters or none.
    """
    question, named = asked_of[0], {(one.part_id, one.adapter_id): one for one in asked_of}
    through = question.adapter_id is not None
    rules = (*(rules_of(ADAPTER) if through else ()), *rules_of(DASH if question.kind == "dash" else SPEAKER))
    source = "part, opening, mouth"
    if through:
        source += " JOIN hole ON mouth.hole_is_cut = hole.is_cut JOIN adapter ON adapter.part_id = mouth.adapter_id"
    parts, adapters = (list(dict.fromkeys(names)) for names in zip(*named, strict=True))
    beside = ("part.part_id", "adapter.part_id" if through else "NULL", *_beside(question, settings))
    ctes = _ctes(question, len(parts), len(adapters), settings)
    order = ", ".join(["part.part_id", *(["adapter.part_id"] if through else []), "mouth.step"])
    asked = Asked(ctes, f"{source} ORDER BY {order}", beside, rules)
    params = [*parts, *question.place, *(adapters if through else [])]
    mounts: dict[Question, list[Mount]] = {one: [] for one in asked_of}
    for (part_id, adapter_id, *mounted), checks in check_rows(con, asked, params, settings):
        one = named.get((part_id, adapter_id))  # an adapter may have been asked about with another part alone
        if one is not None:
            mounts[one].append(_mount(one, mounted, checks))
    return mounts


def _mount(question: Question, mounted: Sequence[Any], checks: Sequence[Check]) -> Mount:
    step, is_cut, sized, w_mm, h_mm, material, turned = mounted
    cut = CutNeeded(w_mm=w_mm, h_mm=h_mm, material=material) if is_cut and w_mm and h_mm else None
    named = [renamed(check, question, cut_unknown=is_cut and not sized) for check in checks]
    return Mount(step, is_cut, named, cut, turned)


def one_of_sql(column: str, count: int) -> str:
    """SQL of a column being one of so many parameters."""
    return f"{column} = ?" if count == 1 else f"{column} IN ({', '.join('?' * count)})"


def _ctes(question: Question, parts: int, adapters: int, settings: Settings) -> str:
    kind = question.kind
    pieces = [
        f"part AS (SELECT * FROM ({part_sql(question.family, settings)}) WHERE {one_of_sql('part_id', parts)})",
        f"opening AS (SELECT * FROM opening_{kind} WHERE vehicle_id = ? AND opening_id = ?)",
        f"hole AS ({hole_sql(kind, settings)})",
    ]
    if question.adapter_id is None:
        pieces.append(f"mouth AS ({bare_mouth_sql()})")
    else:
        alone = one_of_sql("part_id", adapters)
        pieces.append(f"adapter AS (SELECT * FROM ({part_sql('adapter', settings)}) WHERE {alone})")
        pieces.append(f"mouth AS ({adapter_mouth_sql(kind, settings, judged=False)})")
    return f"WITH {', '.join(pieces)}"


def _beside(question: Question, settings: Settings) -> tuple[str, ...]:
    """Step, whether cut and how far is known, the opening after cutting, its material, whether the part lies turned."""
    if question.adapter_id:
        sides = ("adapter.fits_w_mm", "adapter.fits_h_mm")
    elif question.kind == "dash":
        sides = ("part.body_w_mm", "part.body_h_mm")
    else:
        sides = (value_sql(across("cutout"), settings), value_sql(down("cutout"), settings))
    cuts = [
        f"CASE WHEN {needed} IS NOT NULL THEN greatest(mouth.found_{side}_mm, {needed}) END"
        for side, needed in zip("wh", sides, strict=True)
    ]
    turned = condition_sql(IS_TURNED) if question.kind == "speaker" else "false"
    sized = "(opening.cut_w_mm IS NOT NULL OR opening.cut_h_mm IS NOT NULL)"
    return ("mouth.step", "mouth.hole_is_cut", sized, *cuts, "opening.cut_material", f"coalesce({turned}, false)")


def screen_checks(con: Connection, question: Question, settings: Settings) -> list[Check]:
    """A floating screen against each thing that must stay reachable, at its best height."""
    if not _may_cover(con, question):
        return []
    beside = ("keep.name", "part.screen_rise_min_mm IS NULL", "part.screen_rise_max_mm IS NULL")
    asked = Asked(_rise_ctes(settings), "part, rise, keep ORDER BY keep.position", beside, tuple(rules_of(SCREEN)))
    found = check_rows(con, asked, [*question.place, question.part_id], settings)
    return [
        replace(_named_around(check, name, no_least, no_most), about=name)
        for (name, no_least, no_most), checks in found
        for check in checks
    ]


def screen_rise_mm(con: Connection, question: Question, settings: Settings) -> Decimal | None:
    """The height at which a floating screen keeps the most room; none where nothing around it asks for room."""
    if not _may_cover(con, question):
        return None
    row = con.execute(f"{_rise_ctes(settings)} SELECT mm FROM rise", [*question.place, question.part_id]).fetchone()
    return None if row is None else row[0]


def _rise_ctes(settings: Settings) -> str:
    """SQL of the opening, what is around it, the part, and the height its screen hangs at."""
    return (
        "WITH opening AS (SELECT vehicle_id, opening_id FROM opening_dash WHERE vehicle_id = ? AND opening_id = ?), "
        "keep AS (SELECT k.*, 0 AS place_no FROM keep_clear k JOIN opening USING (vehicle_id, opening_id)), "
        f"part AS (SELECT * FROM ({part_sql('head_unit', settings)}) WHERE part_id = ?), "
        f"hung AS (SELECT *, 0 AS cell, 0 AS place_no FROM part), rise AS ({rise_sql(settings)})"
    )


def _may_cover(con: Connection, question: Question) -> bool:
    """Whether the part may have a floating screen, and anything around the opening must stay reachable."""
    row = con.execute(
        "SELECT 1 FROM head_unit, keep_clear WHERE part_id = ? AND coalesce(screen, 'floating') = 'floating' "
        "AND vehicle_id = ? AND opening_id = ? LIMIT 1",
        [question.part_id, *question.place],
    ).fetchone()
    return row is not None


def _named_around(check: Check, about: str, no_least: bool, no_most: bool) -> Check:
    """The check with its missing figures named where they are kept."""
    rises = [f"part.screen_rise_{end}_mm" for end, unknown in (("min", no_least), ("max", no_most)) if unknown]

    def kept_as(name: str) -> list[str]:
        subject, _, field = name.partition(".")
        return rises if subject == "rise" else [f"opening.keep_clear.{about}.{field}" if subject == "keep" else name]

    missing, loose = (
        list(dict.fromkeys(kept for name in names for kept in kept_as(name))) for names in (check.missing, check.loose)
    )
    return replace(check, missing=missing, loose=loose)


def renamed(check: Check, question: Question, *, cut_unknown: bool) -> Check:
    """The check with its missing figures named where they are kept: by part, opening or adapter."""
    if not (check.missing or check.loose):
        return check
    missing, loose = (
        list(dict.fromkeys(_kept_as(name, question, cut_unknown) for name in names))
        for names in (check.missing, check.loose)
    )
    return replace(check, missing=missing, loose=[name for name in loose if name != "opening.forward_mm"])


SIDES = {"w_mm": "w_mm", "h_mm": "h_mm", "found_w_mm": "w_mm", "found_h_mm": "h_mm"}


def _kept_as(name: str, question: Question, cut_unknown: bool) -> str:
    subject, _, field = name.partition(".")
    of_adapter = subject == "mouth" and question.adapter_id and field not in ("shaft_mm", "found_w_mm", "found_h_mm")
    if of_adapter:
        return f"adapter.{field}" if field == "forward_mm" else f"adapter.gives_{field}"
    if subject in ("mouth", "hole"):
        if cut_unknown and field in ("w_mm", "h_mm"):
            return f"opening.cut_{field}"
        middle = "hole_" if question.kind == "speaker" and field in SIDES else ""
        return f"opening.{middle}{SIDES.get(field, field)}"
    return name
