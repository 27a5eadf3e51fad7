"""Mountings of parts at an opening: each with its checks, the rules reported by the kernel."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import product
from typing import NamedTuple

import numpy as np

from catalog_schema.checks import Check, CutNeeded, worst
from matcher.kernel.columns import Column, Columns, word_code, word_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import from_micro
from matcher.kernel.explain import cell, explain
from matcher.kernel.worked import Worth
from matcher.rules.adapter import ADAPTER
from matcher.rules.dash import DASH, SCREEN
from matcher.rules.laid import IS_TURNED, across, down
from matcher.rules.rule import rule_named, rules_of
from matcher.rules.speaker import SPEAKER
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.holes import Holes, adapter_interfaces, bare_interfaces, holes_of
from matcher.search.fits.place import BOARD_STEP, DRILLED
from matcher.search.fits.screens import best_rise
from matcher.settings import Settings


class MountingQuestion(NamedTuple):
    """The pair in question: a part, an opening, possibly an adapter."""

    part_id: str
    family: str
    vehicle_id: str
    opening_id: str
    kind: str
    adapter_id: str | None


class Mount(NamedTuple):
    """A part in one hole, as found or as cut, or standing there, with its checks."""

    step: int
    is_cut: bool
    checks: list[Check]
    cut: CutNeeded | None
    turned: bool

    def verdict(self, step: int) -> str:
        """The verdict at a step of the ladder, which lifts some rules and forbids some ways."""
        return "no" if step < self.step else worst([check.verdict for check in self.checks_at(step)])

    def checks_at(self, step: int) -> list[Check]:
        """The checks that a step of the ladder does not lift."""
        return [check for check in self.checks if stands_at(check, step)]


def stands_at(check: Check, step: int) -> bool:
    """Return whether a check applies at a step of the ladder: new screw holes lift some."""
    return step < DRILLED or rule_named(check.rule).lifted_at != "drilled"


def mounts_of(catalog: Catalog, asked_of: Sequence[MountingQuestion]) -> dict[MountingQuestion, list[Mount]]:
    """Yield each part's mountings in the opening as found and as cut, by rising step.

    All questions are about parts of one family at one opening, either all with adapters or none.
    """
    first = asked_of[0]
    opening = catalog.vehicle(first.vehicle_id).opening(first.kind, first.opening_id)
    holes = holes_of(first.kind, opening)
    rules = rules_of(DASH if first.kind == "dash" else SPEAKER)
    rules = rules if first.adapter_id is None else [*rules_of(ADAPTER), *rules]
    rows = len(asked_of) * len(holes)
    columns = _columns(catalog, asked_of, holes) | opening
    checks = explain(rules, columns, catalog.settings, rows)
    cuts = list(_cuts(first, columns, holes, catalog.settings, rows))
    found: dict[MountingQuestion, list[Mount]] = {one: [] for one in asked_of}
    for row, (one, hole) in enumerate(product(asked_of, range(len(holes)))):
        cut, cut_unknown, turned = cuts[row]
        step = int(holes.step[hole]) if one.adapter_id is None else max(int(holes.step[hole]), BOARD_STEP)
        named = [renamed(check, one, cut_unknown=cut_unknown) for check in checks[row]]
        found[one].append(Mount(step, bool(holes.is_cut[hole]), named, cut, turned))
    return found


def _columns(catalog: Catalog, asked_of: Sequence[MountingQuestion], holes: Holes) -> Columns:
    """Part, hole, adapter and interface, one row per question and hole."""
    hole = np.tile(np.arange(len(holes)), len(asked_of))
    parts = catalog.parts(asked_of[0].family)
    each = np.repeat(parts.rows([one.part_id for one in asked_of]), len(holes))
    there = holes.columns.take(hole)
    told = parts.columns.take(each) | there
    named = [one.adapter_id for one in asked_of if one.adapter_id is not None]
    if not named:
        return told | bare_interfaces(holes).take(hole)
    adapters = catalog.parts("adapter")
    through = adapters.subject("adapter").take(np.repeat(adapters.rows(named), len(holes)))
    return told | through | adapter_interfaces(there, through, len(hole))


def _cuts(
    question: MountingQuestion, columns: Columns, holes: Holes, settings: Settings, rows: int
) -> Iterable[tuple[CutNeeded | None, bool, bool]]:
    """By row: the opening after cutting, whether the extent of the cut is known, whether the part is turned."""
    at = Evaluation(columns, settings)
    found = [columns[f"mouth.found_{side}_mm"] for side in "wh"]
    needed = _needed(question, at)
    material = columns["opening.cut_material"]
    sized = any(bool(cell(columns[f"opening.cut_{side}_mm"].known, 0)) for side in "wh")
    turned = at.holds(IS_TURNED).yes if question.kind == "speaker" else False
    for row in range(rows):
        sides = [_larger(*each, row) for each in zip(found, needed, strict=True)]
        is_cut = bool(holes.is_cut[row % len(holes)])
        word = word_of(cell(material.values, 0)) if cell(material.known, 0) else None
        cut = CutNeeded(w_mm=sides[0], h_mm=sides[1], material=word) if is_cut and sides[0] and sides[1] else None
        yield cut, is_cut and not sized, bool(cell(turned, row))


def _needed(question: MountingQuestion, at: Evaluation) -> list[Worth]:
    """Sides of the hole that passes through: the adapter's, or the part's own."""
    if question.adapter_id is not None:
        return [Worth(*at.columns[f"adapter.fits_{side}_mm"][:2]) for side in "wh"]
    if question.kind == "dash":
        return [Worth(*at.columns[f"part.body_{side}_mm"][:2]) for side in "wh"]
    return [at.value(across("cutout")), at.value(down("cutout"))]


def _larger(found: Column, needed: Worth, row: int) -> Decimal | None:
    """Required side of a hole; None if unknown."""
    if not cell(needed.known, row):
        return None
    least = int(cell(needed.values, row))
    return from_micro(max(least, int(cell(found.values, row))) if cell(found.known, row) else least)


def screen_checks(catalog: Catalog, question: MountingQuestion) -> list[Check]:
    """Checks of a floating screen against each thing that must stay reachable, at its best height."""
    hung = _hung(catalog, question)
    if hung is None:
        return []
    part, things = hung
    best = best_rise(part, things, catalog.settings)  # of one part before things: a row that stands for all of them
    rise = {"rise.mm": Column(best.values.reshape(-1), np.asarray(best.known).reshape(-1))}
    names = [row["name"] for row in catalog.vehicle(question.vehicle_id).thing_rows(question.opening_id)]
    told = explain(rules_of(SCREEN), part | things | rise, catalog.settings, len(names))
    open_ends = [f"part.screen_rise_{end}_mm" for end in ("min", "max")]
    rises = [name for name in open_ends if not cell(part[name].known, 0)]
    return [
        replace(_named_around(check, name, rises), about=name)
        for name, checks in zip(names, told, strict=True)
        for check in checks
    ]


def screen_rise_mm(catalog: Catalog, question: MountingQuestion) -> Decimal | None:
    """Height at which a floating screen leaves the most room; None if nothing around it needs room."""
    hung = _hung(catalog, question)
    if hung is None:
        return None
    rise = best_rise(*hung, catalog.settings)
    return from_micro(cell(rise.values, 0)) if cell(rise.known, 0) else None


def _hung(catalog: Catalog, question: MountingQuestion) -> tuple[Columns, Columns] | None:
    """A part with a possible floating screen, and the things that must stay reachable."""
    things = catalog.vehicle(question.vehicle_id).things(question.opening_id)
    part = catalog.part("head_unit", question.part_id)
    screen = part["part.screen"]
    if things is None or (cell(screen.known, 0) and cell(screen.values, 0) != word_code("floating")):
        return None
    return part, things


def _named_around(check: Check, about: str, rises: Sequence[str]) -> Check:
    """The check with its missing figures named by their readings."""

    def kept_as(name: str) -> Sequence[str]:
        subject, _, field = name.partition(".")
        return rises if subject == "rise" else [f"opening.keep_clear.{about}.{field}" if subject == "keep" else name]

    return _renamed(check, kept_as)


def renamed(check: Check, question: MountingQuestion, *, cut_unknown: bool) -> Check:
    """The check with its missing figures named by their readings: part, opening or adapter."""
    if not (check.missing or check.loose):
        return check
    check = _renamed(check, lambda name: [_kept_as(name, question, cut_unknown)])
    return replace(check, loose=[name for name in check.loose if name != "opening.forward_mm"])


def _renamed(check: Check, kept_as: Callable[[str], Sequence[str]]) -> Check:
    missing, loose = (
        list(dict.fromkeys(kept for name in names for kept in kept_as(name))) for names in (check.missing, check.loose)
    )
    return replace(check, missing=missing, loose=loose)


SIDES = {"w_mm": "w_mm", "h_mm": "h_mm", "found_w_mm": "w_mm", "found_h_mm": "h_mm"}


def _kept_as(name: str, question: MountingQuestion, cut_unknown: bool) -> str:
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
