"""The customer's own parts in a job: list, form, and removal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.columns import family_columns
from catalog_schema.schemas import read_schema
from catalog_schema.terms import NOTHING, OWNED_FIELDS
from matcher.errors import DoubtfulFigures, InputError
from matcher.lengths import with_unit
from matcher.store.catalog.owned import FAMILIES
from matcher.web.form_edit import BoxProblem
from matcher.web.pages import asked, go, opening_names, shop_of, show, single, who
from matcher.web.remarks import confirmed, picked, remarks
from matcher.web.vehicle_form import FormBox, Group, box_of, typed_fields
from matcher.web.wording import text, word

FIGURES = "figures."
UNTYPED = frozenset({"part_id", "maker", "model", "price", "pack_of", "stock", "lead_days", "basis", "source", "notes"})
"""Columns of a family that its form does not show as figures."""


def owned(request: Request) -> Response:
    """The parts of a job's customer, and the boxes for another one: of the catalog, or of a family."""
    return _owned(request, asked(request, "job"), asked(request, "family"), {})


def _owned(
    request: Request, job_id: str, family: str, typed: Mapping[str, str], refused: InputError | None = None
) -> Response:
    shop = shop_of(request)
    document, family = shop.jobs.document(job_id).document, family if family in FAMILIES else ""
    groups = _groups(family)
    problems = _at_boxes(refused, typed["part_id"], len(document.get("owned") or ())) if refused else {}
    return show(
        request,
        "owned.html",
        400 if refused else 200,
        job=document,
        owned=document.get("owned") or (),
        openings=opening_names(shop, str(document["vehicle_id"])),
        families=[(name, word("family", name)) for name in FAMILIES],
        family=family,
        groups=groups,
        fields={box.name: "" for group in groups for box in group.boxes} | {"opening_id": "", **typed},
        remarks=remarks(problems, typed),
        error=None if problems else refused,
    )


def _groups(family: str) -> list[Group]:
    """Boxes of the part and the figures that its family requires; then all other figures."""
    figures = read_schema(family or "speaker")["properties"]
    names = ("part_id", "maker", "model", "pieces", "condition") if family else ("part_id", "pieces", "condition")
    first: list[FormBox] = [FormBox(name, text(f"owned.box.{name}"), "", ()) for name in names]
    more: list[FormBox] = []
    for column in family_columns(family) if family else ():
        if column.name not in UNTYPED:
            (first if column.required else more).append(box_of(FIGURES + column.name, figures[column.name]))
    return [Group("typed_part", first), *([Group("part_more", more)] if more else [])]


def _at_boxes(refused: InputError, part_id: str, row: int) -> dict[str, BoxProblem]:
    """The problems by box; None if one is about no box."""
    found = {}
    for problem in refused.problems:
        place = problem.column.removeprefix("owned ")
        inside = next((place[len(one) :] for one in (part_id, str(row)) if one and place.startswith(one)), None)
        if inside is None:
            return {}
        found[inside.lstrip(".") or "part_id"] = BoxProblem(problem, isinstance(refused, DoubtfulFigures))
    return found


def keep_owned(request: Request, form: FormData) -> Response:
    """Add or replace a part of the customer, or remove one."""
    shop, job_id, family = shop_of(request), single(form, "job"), single(form, "family")
    typed = {"part_id": "", "opening_id": single(form, "opening_id")} | typed_fields(form) | picked(form)
    named = single(form, "gone") or typed["part_id"]
    held = shop.jobs.document(job_id).document.get("owned") or ()
    others = [one for one in held if one["part_id"] != named]
    kept = others if "gone" in form else [*others, _part(family, typed)]
    try:
        shop.jobs.edit(job_id, {"owned": kept or [NOTHING]}, by=who(request), sure=bool(confirmed(form)))
    except InputError as error:
        return _owned(request, job_id, family, typed, error)
    return go("/owned", job=job_id)


def _part(family: str, typed: Mapping[str, str]) -> dict[str, Any]:
    """The part for a job's document; a bare length is in the shop's unit."""
    units = {box.name: box.unit for group in _groups(family) for box in group.boxes}
    cells = {name: with_unit(cell, units.get(name, "")) for name, cell in typed.items() if cell}
    own = {name: cell for name, cell in cells.items() if name in ("part_id", *OWNED_FIELDS)}
    figures = {name.removeprefix(FIGURES): cell for name, cell in cells.items() if name.startswith(FIGURES)}
    return {"part_id": "", "family": family or None, **own, "figures": figures}
