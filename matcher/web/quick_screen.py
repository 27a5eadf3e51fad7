"""The quick check: typed figures of a part and an opening; nothing is stored."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.checks import Verdict
from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.ladder import DEFAULT_STEP, LADDER
from catalog_schema.schemas import read_schema
from catalog_schema.vehicles import OPENINGS
from matcher.answers.messages import alteration_says
from matcher.answers.quick import KINDS, QuickFit, quick_fields, quick_fit
from matcher.drawings.svg import Drawing
from matcher.errors import DoubtfulFigures, InputError
from matcher.lengths import shown_unit, with_unit
from matcher.web.fit_screen import shown_checks
from matcher.web.form_edit import BoxProblem
from matcher.web.pages import go, settings_of, shop_of, show, single, who
from matcher.web.remarks import BoxRemark, confirmed, picked, remarks
from matcher.web.vehicle_form import FormBox, Group, box_of, typed_fields
from matcher.web.wording import short_name, text, word

FIRST = {
    "speaker": (("cutout_w_mm", "depth_mm", "flange_w_mm"), ("hole_w_mm", "depth_mm", "behind", "front_mm")),
    "head_unit": (("body_w_mm", "body_h_mm", "body_d_mm"), ("shape", "w_mm", "h_mm", "depth_mm")),
    "amplifier": (("w_mm", "h_mm", "d_mm"), ("w_mm", "h_mm", "d_mm")),
    "enclosure": (("w_mm", "h_mm", "d_mm"), ("w_mm", "h_mm", "d_mm")),
}
"""Most important figures of part and opening, by family."""
OF = ("part", "opening")
CAR = ("car", "place")
"""Boxes for the names of a car and its opening, in case they are kept."""


def quick(request: Request) -> Response:
    """The check of an address."""
    return _quick(request, FormData([*request.query_params.multi_items()]))


def _quick(request: Request, sent: FormData, refused: InputError | None = None) -> Response:
    """The check of typed values, and why the part or the opening was not kept."""
    family = _family(sent)
    step = single(sent, "step")
    step = step if step in LADDER else DEFAULT_STEP
    groups, to_keep = _groups(family), _to_keep(family)
    typed = {box.name: "" for group in (*groups, *to_keep) for box in group.boxes} | typed_fields(sent) | picked(sent)
    answer, drawings, said, error = _checked(request, family, step, typed, confirmed(sent))
    said |= _keep_remarks(refused, typed) if refused else {}
    checks = [check for check in answer.fit.checks if not check.missing] if answer else []
    return show(
        request,
        "quick.html",
        400 if error or refused else 200,
        families=[(name, word("family", name)) for name in FIRST],
        family=family,
        step=step,
        groups=groups,
        fields=typed,
        answer=answer,
        alters=alteration_says(answer.fit) if answer else "",
        **shown_checks(checks, drawings),
        stamp=_stamp(answer) if answer else "",
        remarks=said,
        error=None if said else error or refused,
        to_keep=to_keep,
    )


def _family(sent: FormData) -> str:
    family = single(sent, "family")
    return family if family in KINDS else next(iter(FIRST))


def _further(family: str) -> set[str]:
    """Fields that a catalog part requires in addition to those checked."""
    checked, _ = quick_fields(family)
    return {one.name for one in family_columns(family) if one.required} - {one.name for one in checked}


def _to_keep(family: str) -> list[Group]:
    """Boxes for further required fields of a part, and for the names of the car and its opening."""
    fields = read_schema(family)["properties"]
    first = {box.name for group in _groups(family)[:1] for box in group.boxes}
    needed = [f"part.{one.name}" for one in family_columns(family) if one.required]
    part = [box_of(name, fields[name.removeprefix("part.")]) for name in needed if name not in first]
    car = [
        FormBox(name, says, "", ()) for name, says in zip(CAR, (text("quick.car"), text("quick.place")), strict=True)
    ]
    return [Group("keep_part", part), Group("keep_car", car)]


def _keep_remarks(refused: InputError, typed: Mapping[str, str]) -> dict[str, BoxRemark]:
    """Remarks at the boxes below the answer, whose ids begin with ``keep-``."""
    at = {f"part.{one.column}": BoxProblem(one, isinstance(refused, DoubtfulFigures)) for one in refused.problems}
    return {f"keep-{name}": one for name, one in remarks(at, typed).items()}


def keep_part(request: Request, form: FormData) -> Response:
    """Save the typed part in the catalog."""
    typed = typed_fields(form) | picked(form)
    cells, further = _of(typed, "part"), _further(_family(form))
    try:
        number = shop_of(request).catalog.keep_part(
            _family(form),
            {name: cell for name, cell in cells.items() if name not in further},
            {name: cell for name, cell in cells.items() if name in further},
            by=who(request),
            sure=bool(confirmed(form)),
        )
    except InputError as error:
        return _quick(request, form, error)
    return go("/part", part=number)


def keep_car(request: Request, form: FormData) -> Response:
    """Save the typed opening in a car, which is created if it is new."""
    typed = typed_fields(form) | picked(form)
    car, place = (single(form, f"box:{name}") for name in CAR)
    vehicle_id, opening_id = short_name(car), short_name(place)
    try:
        if not (vehicle_id and opening_id):
            raise InputError(text("quick.unnamed"))
        shop_of(request).vehicles.keep_opening(
            _family(form),
            _of(typed, "opening"),
            {"vehicle_id": vehicle_id, "label": car},
            {"opening_id": opening_id, "label": place},
            by=who(request),
            sure=bool(confirmed(form)),
        )
    except InputError as error:
        return _quick(request, form, error)
    return go("/opening", vehicle=vehicle_id, opening=opening_id)


def _of(typed: Mapping[str, str], of: str) -> dict[str, str]:
    """Typed figures of the part or the opening by field; a bare length is in the shop's unit."""
    found = {name.removeprefix(f"{of}."): cell for name, cell in typed.items() if name.startswith(f"{of}.") and cell}
    unit = shown_unit("mm")
    return {name: with_unit(cell, unit) if name.endswith("_mm") else cell for name, cell in found.items()}


def _stamp(answer: QuickFit) -> Verdict:
    """The stamp of the answer: an unknown figure is never a fit."""
    return "measure" if answer.open and answer.known != "no" else answer.known or "measure"


def _checked(
    request: Request, family: str, step: str, typed: Mapping[str, str], sure: Mapping[str, str]
) -> tuple[QuickFit | None, Mapping[str, Drawing], dict[str, BoxRemark], InputError | None]:
    """The answer with its drawings, or a remark at each refused box and the error."""
    further = _further(family)
    part, opening = ({name: cell for name, cell in _of(typed, of).items() if name not in further} for of in OF)
    if not (part or opening):
        return None, {}, {}, None
    try:
        try:
            found = quick_fit(family, part, opening, settings_of(request), alteration=step)
        except DoubtfulFigures as error:
            doubted = [_box_at(one.column) for one in error.problems]
            if any(sure.get(name) != typed.get(name) for name in doubted):
                raise
            found = quick_fit(family, part, opening, settings_of(request), alteration=step, sure=True)
    except InputError as error:
        doubtful = isinstance(error, DoubtfulFigures)
        at = {_box_at(one.column): BoxProblem(one, doubtful) for one in error.problems}
        return None, {}, remarks(at, typed), error
    return *found, {}, None


def _box_at(place: str) -> str:
    of, _, name = place.partition(" ")
    return f"{of}.{name.replace('cut.', 'cut_')}"


def _groups(family: str) -> list[Group]:
    """The boxes: the most important first, then all others of part and opening."""
    schemas = read_schema(family), read_schema("vehicle")["$defs"]
    own = schemas[0]["properties"], schemas[1][OPENINGS[KINDS[family]].__name__]["properties"]
    cut = schemas[1]["Cut"]["properties"]
    groups: list[Group] = []
    for of, columns, fields, first in zip(OF, quick_fields(family), own, FIRST[family], strict=True):
        boxes = {column.name: _box(of, column, fields, cut) for column in columns}
        groups.append(Group(f"typed_{of}", [boxes.pop(name) for name in first]))
        groups.append(Group(f"{of}_more", list(boxes.values())))
    return groups


def _box(of: str, column: TableColumn, fields: Mapping[str, Any], cut: Mapping[str, Any]) -> FormBox:
    name = column.name
    return box_of(f"{of}.{name}", fields[name] if name in fields else cut[name.removeprefix("cut_")])
