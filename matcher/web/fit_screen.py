"""The fit check for the bay: part number, opening, verdict, and readings entered on the spot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.answers import Check, Fit
from catalog_schema.checks import VERDICT_ORDER
from catalog_schema.figures import unit_of_field
from catalog_schema.ladder import DEFAULT_STEP, LADDER
from catalog_schema.places import OPENING_FAMILIES
from matcher import Shop
from matcher.answers.messages import alteration_says, without_says
from matcher.drawings.svg import Drawing
from matcher.errors import InputError, NotKnown
from matcher.store.catalog.search import FoundPart
from matcher.store.readings.readings import Reading
from matcher.web.pages import asked, go, inside, shop_of, show, single, subject_label, used_vehicle, who, whole_number
from matcher.web.remarks import BoxRemark, confirmed, picked, remark_of
from matcher.web.wording import box_label, figure, text

BASES = ("measured", "caliper", "estimate")
"""Bases of a figure measured in the bay."""
READING_BOXES = ("value", "unit", "basis", "by")
NOTHING_READ: Mapping[str, str] = {}


def fit(request: Request) -> Response:
    """The check of an address."""
    return _page(request, {name: asked(request, name) for name in ("vehicle", "opening", "part", "adapter", "step")})


def _page(
    request: Request,
    typed: dict[str, str],
    read: Mapping[str, str] = NOTHING_READ,
    refused: InputError | None = None,
) -> Response:
    """The check; if a reading was ``refused``, its box shows the value ``read``."""
    error: InputError | None = None
    shop = shop_of(request)
    vehicles = shop.vehicles.all().document["vehicles"] if shop.store.exists() else []
    openings: list[dict[str, Any]] = []
    answer: Fit | None = None
    typed["step"] = typed["step"] if typed["step"] in LADDER else DEFAULT_STEP
    try:
        if typed["vehicle"]:
            openings = used_vehicle(shop, typed["vehicle"])["openings"]
        if typed["part"] and typed["opening"]:
            place = f"{typed['vehicle']}/{typed['opening']}"
            answer = shop.fit(typed["part"], place, adapter=typed["adapter"] or None, alteration=typed["step"])
    except InputError as wrong:
        error = wrong
    alike = _alike(shop, typed["part"], openings, typed["opening"]) if error and not answer else []
    drawings = shop.drawings.drawing(answer.opening, answer.part_id, answer.adapter_id, fit=answer) if answer else {}
    to_measure = _to_measure(shop, answer) if answer else []
    number = next(
        (at for at, one in enumerate(to_measure, 1) if one[:2] == (read.get("subject"), read.get("field"))), 0
    )
    error = error if number else error or refused
    facts = shown_checks(answer.checks if answer else [], drawings)
    return show(
        request,
        "fit.html",
        400 if error or refused else 200,
        typed=typed,
        read=read,
        remarks=_remarks(error, refused, read.get("value", ""), number),
        vehicles=vehicles,
        openings=openings,
        alike=alike,
        fit=answer,
        alters=alteration_says(answer) if answer else "",
        without=without_says(answer) if answer else "",
        **facts,
        least=_least_margin(facts["checks"]),
        to_measure=to_measure,
        called=partial(subject_label, shop),
        bases=BASES,
        error=error,
        saved=asked(request, "saved"),
    )


def _remarks(error: InputError | None, refused: InputError | None, value: str, number: int) -> dict[str, BoxRemark]:
    """A remark at the box of a refused reading, or of a part or an adapter that the shop does not have."""
    if refused and number:
        return {f"value-{number}": remark_of(refused, "value", value)}
    if isinstance(error, NotKnown) and error.kind in ("part", "adapter"):
        return {error.kind: BoxRemark(text("fit.not_known", kind=error.kind, name=error.name))}
    return {}


MAIN_DRAWINGS = ("section", "front")
"""The first available drawing of these for the verdict."""


def shown_checks(checks: Sequence[Check], drawings: Mapping[str, Drawing]) -> dict[str, Any]:
    """Checks for the page, worst first, with the drawings for the verdict, the others, and full-size templates."""
    main = next((name for name in MAIN_DRAWINGS if name in drawings), "")
    templates = {name: one for name, one in drawings.items() if name.endswith("-template")}
    return {
        "checks": sorted(checks, key=worst_first),
        "first_drawing": {name: one for name, one in drawings.items() if name == main},
        "drawings": {name: one for name, one in drawings.items() if name != main and name not in templates},
        "templates": templates,
    }


MOST_ALIKE = 12


def _alike(shop: Shop, words: str, openings: list[dict[str, Any]], opening_id: str) -> list[FoundPart]:
    """Parts that match the words, in the family for the opening."""
    kind = next((str(one["kind"]) for one in openings if one["opening_id"] == opening_id), "")
    families = OPENING_FAMILIES.get(kind, ())
    return shop.catalog.find(words, families[0] if families else None, limit=MOST_ALIKE) if words else []


def worst_first(check: Check) -> tuple[int, float]:
    """Sort key of checks on a page: verdict, then margin."""
    spare = float(check.margin - check.tol) if check.margin is not None else 0.0
    return VERDICT_ORDER[check.verdict], spare


def _least_margin(checks: list[Check]) -> Check | None:
    """The smallest margin in millimeters."""
    known = [check for check in checks if check.margin is not None and check.unit == "mm"]
    return min(known, key=lambda check: check.margin or 0, default=None)


def _to_measure(shop: Shop, answer: Fit) -> list[tuple[str, str, str, str]]:
    """Figures that would decide the verdict: subject, field, unit, and the subject's label."""
    named = {"opening": f"opening:{answer.opening}", "part": f"part:{answer.part_id}"}
    named["adapter"] = f"part:{answer.adapter_id}"
    found = dict.fromkeys(
        name for check in answer.checks if check.verdict == "measure" for name in (*check.missing, *check.loose)
    )
    pairs = ((name.rpartition(".")[0], name.rpartition(".")[2]) for name in found)
    read = [(named.get(subject, subject), field) for subject, field in pairs]
    return [(subject, field, unit_of_field(field) or "", subject_label(shop, subject)) for subject, field in read]


def add_reading(request: Request, form: FormData) -> Response:
    """Save a reading, and show the verdict again."""
    typed = {name: single(form, name) for name in ("vehicle", "opening", "part", "adapter", "step")}
    try:
        reading = _written(request, form)
    except InputError as error:
        return _page(request, typed, _typed_reading(form), error)
    told = {name: text for name, text in typed.items() if text}
    label = box_label(f"{reading.subject}.{reading.field}")
    return go("/fit", **told, saved=f"{label}, {figure(reading.figure, reading.field)}")


def reading(request: Request) -> Response:
    """One figure to be measured, with a link back."""
    return _reading(request, {name: asked(request, name) for name in ("subject", "field", "next")})


def _reading(request: Request, typed: dict[str, str], refused: InputError | None = None) -> Response:
    return show(
        request,
        "reading.html",
        400 if refused else 200,
        subject=typed["subject"],
        field=typed["field"],
        unit=unit_of_field(typed["field"]) or "",
        next=inside(typed["next"]),
        typed=typed,
        bases=BASES,
        remarks={"value-1": remark_of(refused, "value", typed["value"])} if refused else {},
        where=subject_label(shop_of(request), typed["subject"]),
        drawings=_where(request, typed),
    )


def measured(shop: Shop, subject: str) -> dict[str, Any]:
    """Readings of a subject with the claims they replace, and voided ones, for its sheet."""
    voided = [one for one in shop.readings.all(subject) if one.voided is not None]
    return {"claims": shop.readings.beside_claims(subject), "voided": voided}


def void_reading(request: Request, form: FormData) -> Response:
    """Void a reading, and return to its sheet."""
    number = whole_number(single(form, "number"), "reading", least=1)
    shop_of(request).readings.void(number, note=single(form, f"note-{number}"), by=who(request))
    return go(inside(single(form, "next")))


def _typed_reading(form: FormData) -> dict[str, str]:
    return {name: single(form, name) for name in ("subject", "field", "next", *READING_BOXES)} | picked(form)


def _where(request: Request, typed: dict[str, str]) -> dict[str, Drawing]:
    """Drawing of the place to measure, if there is one."""
    kind, _, place = typed["subject"].partition(":")
    try:
        return {"where": shop_of(request).drawings.measuring(place, typed["field"])} if kind == "opening" else {}
    except InputError:
        return {}


def write_reading(request: Request, form: FormData) -> Response:
    """Save the reading, and return to the page that asked for it."""
    try:
        _written(request, form)
    except InputError as error:
        return _reading(request, _typed_reading(form), error)
    return go(inside(single(form, "next")))


def _written(request: Request, form: FormData) -> Reading:
    read = _typed_reading(form)
    value, unit = read["value"], read["unit"]
    if not value:
        raise InputError(f"no value for {read['field']}", fix="write what was measured")
    return shop_of(request).readings.add(
        read["subject"],
        read["field"],
        f"{value} {unit}" if unit == "in" else value,
        basis=read["basis"] or None,
        by=read["by"] or who(request),
        sure=confirmed(form).get("value") == value,
    )
