"""The quick check: figures of a part and an opening typed in for somebody who walks in; nothing is stored."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.checks import Verdict
from catalog_schema.columns import Column
from catalog_schema.ladder import DEFAULT_STEP, LADDER
from catalog_schema.schemas import read_schema
from catalog_schema.vehicles import OPENINGS
from matcher.drawings.svg import Drawing
from matcher.errors import DoubtfulFigures, InputError
from matcher.explain.quick import KINDS, QuickFit, quick_fields, quick_fit
from matcher.explain.wording import alteration_says
from matcher.settings import DEFAULT_SETTINGS
from matcher.web.fit_screen import MAIN_DRAWINGS, worst_first
from matcher.web.form_edit import BoxProblem
from matcher.web.pages import asked, shop_of, show, word
from matcher.web.remarks import Remark, confirmed, picked, remarks
from matcher.web.vehicle_form import Box, Group, box_of, typed_fields

FIRST = {
    "speaker": (("cutout_w_mm", "depth_mm", "flange_w_mm"), ("hole_w_mm", "depth_mm", "behind", "front_mm")),
    "head_unit": (("body_w_mm", "body_h_mm", "body_d_mm"), ("shape", "w_mm", "h_mm", "depth_mm")),
    "amplifier": (("w_mm", "h_mm", "d_mm"), ("w_mm", "h_mm", "d_mm")),
    "enclosure": (("w_mm", "h_mm", "d_mm"), ("w_mm", "h_mm", "d_mm")),
}
"""By family: the figures of the part and of the opening that stand before all others."""
OF = ("part", "opening")


def quick(request: Request) -> Response:
    """The check as the address asks for it."""
    sent = FormData([*request.query_params.multi_items()])
    family = asked(request, "family")
    family = family if family in KINDS else next(iter(FIRST))
    step = asked(request, "step")
    step = step if step in LADDER else DEFAULT_STEP
    groups = _groups(family)
    typed = {box.name: "" for group in groups for box in group.boxes} | typed_fields(sent) | picked(sent)
    answer, drawings, said, error = _checked(request, family, step, typed, confirmed(sent))
    checks = sorted(answer.fit.checks, key=worst_first) if answer else []
    main = next((name for name in MAIN_DRAWINGS if name in drawings), "")
    return show(
        request,
        "quick.html",
        400 if error else 200,
        families=[(name, word("family", name)) for name in FIRST],
        family=family,
        step=step,
        groups=groups,
        fields=typed,
        answer=answer,
        alters=alteration_says(answer.fit) if answer else "",
        checks=[check for check in checks if not check.missing],
        stamp=_stamp(answer) if answer else "",
        first_drawing={name: one for name, one in drawings.items() if name == main},
        drawings={name: one for name, one in drawings.items() if name != main},
        remarks=said,
        error=None if said else error,
    )


def _stamp(answer: QuickFit) -> Verdict:
    """The sign of the answer: what is not known is no fit, however well the rest fits."""
    return "measure" if answer.open and answer.known != "no" else answer.known or "measure"


def _checked(
    request: Request, family: str, step: str, typed: Mapping[str, str], sure: Mapping[str, str]
) -> tuple[QuickFit | None, Mapping[str, Drawing], dict[str, Remark], InputError | None]:
    """The answer with its drawings; or what is said at each box that cannot be taken, and the error."""
    shop = shop_of(request)
    settings = shop.settings() if shop.store.exists() else DEFAULT_SETTINGS
    part, opening = (
        {name.removeprefix(f"{of}."): text for name, text in typed.items() if name.startswith(f"{of}.") and text}
        for of in OF
    )
    if not (part or opening):
        return None, {}, {}, None
    try:
        try:
            found = quick_fit(family, part, opening, settings, alteration=step)
        except DoubtfulFigures as error:
            doubted = [_box_at(one.column) for one in error.problems]
            if any(sure.get(name) != typed.get(name) for name in doubted):
                raise
            found = quick_fit(family, part, opening, settings, alteration=step, sure=True)
    except InputError as error:
        doubtful = isinstance(error, DoubtfulFigures)
        at = {_box_at(one.column): BoxProblem(one, doubtful) for one in error.problems}
        return None, {}, remarks(at, typed), error
    return *found, {}, None


def _box_at(place: str) -> str:
    of, _, name = place.partition(" ")
    return f"{of}.{name.replace('cut.', 'cut_')}"


def _groups(family: str) -> list[Group]:
    """The boxes: first those that decide most, then all others of the part and of the opening."""
    schemas = read_schema(family), read_schema("vehicle")["$defs"]
    own = schemas[0]["properties"], schemas[1][OPENINGS[KINDS[family]].__name__]["properties"]
    cut = schemas[1]["Cut"]["properties"]
    groups: list[Group] = []
    for of, columns, fields, first in zip(OF, quick_fields(family), own, FIRST[family], strict=True):
        boxes = {column.name: _box(of, column, fields, cut) for column in columns}
        groups.append(Group(f"typed_{of}", [boxes.pop(name) for name in first]))
        groups.append(Group(f"{of}_more", list(boxes.values())))
    return groups


def _box(of: str, column: Column, fields: Mapping[str, Any], cut: Mapping[str, Any]) -> Box:
    name = column.name
    return box_of(f"{of}.{name}", fields[name] if name in fields else cut[name.removeprefix("cut_")])
