"""Vehicles: the list, one vehicle's sheet, and its openings, each with a drawing that follows its figures."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.vehicles import KINDS
from matcher import Shop
from matcher.errors import InputError, NotKnown
from matcher.store.database.kept_documents import KeptDocument
from matcher.web.car_plan import BODIES, body_of, pins_of
from matcher.web.fit_screen import measured
from matcher.web.form_edit import FormEdit
from matcher.web.job_path import steps_of
from matcher.web.pages import asked, go, shop_of, show, single, who
from matcher.web.remarks import remark_of
from matcher.web.saving import form_facts, save_form
from matcher.web.vehicle_form import (
    fields_of,
    head_groups,
    labels_of,
    opening_groups,
    places_of,
    typed_fields,
    written,
)
from matcher.web.wording import short_name

Document = dict[str, Any]
NO_NEW: Mapping[str, str] = {}
"""Empty form for a new opening."""


def vehicles(request: Request) -> Response:
    """Every vehicle, and a form to add one."""
    return _list(request, {})


def _list(request: Request, typed: Mapping[str, str], error: InputError | None = None) -> Response:
    shop = shop_of(request)
    held = shop.vehicles.all().document["vehicles"] if shop.store.exists() else []
    facts = {"vehicles": held, "typed": typed, "remarks": {"label": remark_of(error)} if error else {}}
    return show(request, "vehicles.html", 400 if error else 200, **facts)


def new_vehicle(request: Request, form: FormData) -> Response:
    """Add a vehicle by its name, without figures yet."""
    shop, label = shop_of(request), single(form, "label")
    name = short_name(label)
    try:
        if not name:
            raise InputError("the vehicle has no name", fix="write what it is called at the counter")
        shop.vehicles.new(name, like=single(form, "like") or None, fields={"label": label}, by=who(request))
    except InputError as error:
        return _list(request, {"label": label, "like": single(form, "like")}, error)
    return go("/vehicle", vehicle=name)


def vehicle(request: Request) -> Response:
    """A vehicle's own figures, and links to its openings."""
    kept = shop_of(request).vehicles.document(asked(request, "vehicle"))
    return _vehicle(request, kept, **form_facts(fields_of(kept.document, head_groups(kept.document)), kept.mark))


def _vehicle(
    request: Request, kept: KeptDocument, status: int = 200, new: Mapping[str, str] = NO_NEW, **facts: Any
) -> Response:
    groups = head_groups(kept.document)
    facts |= {"groups": groups, "labels": labels_of(groups), "kinds": KINDS, "new": new}
    facts["measured"] = measured(shop_of(request), f"vehicle:{kept.name}")
    return show(request, "vehicle.html", status, vehicle=kept.document, **facts, **_car(request, kept.name))


def _car(request: Request, vehicle_id: str) -> dict[str, Any]:
    """The car from above with its openings, and the path of the current job."""
    shop, job_id = shop_of(request), asked(request, "job") or None
    figures = shop.vehicles.get(vehicle_id).document
    return {
        "pins": pins_of(figures, job_id),
        "body": body_of(figures),
        "body_kinds": list(BODIES),
        "job_id": job_id,
        "job_steps": steps_of(shop, job_id, "car") if job_id else [],
    }


def save_vehicle(request: Request, form: FormData) -> Response:
    """Save a vehicle's own figures."""
    shop, name = shop_of(request), single(form, "vehicle")
    notation = shop.settings().notation()
    edit = FormEdit(
        lambda: shop.vehicles.document(name),
        lambda document: fields_of(document, head_groups(document)),
        lambda document, typed: written(document, typed, head_groups(document), notation),
        lambda document, mark, sure: shop.vehicles.save(document, mark, by=who(request), sure=sure),
        lambda document: places_of(document, head_groups(document)),
        shop.store.turn,
    )
    return save_form(form, edit, typed_fields(form), partial(_vehicle, request))


def new_opening(request: Request, form: FormData) -> Response:
    """Add an opening of some kind to a vehicle."""
    shop, name = shop_of(request), single(form, "vehicle")
    kept = shop.vehicles.document(name)
    label, kind = single(form, "new_label"), single(form, "kind")
    opening_id = short_name(label)
    opening = {"opening_id": opening_id, "kind": kind, "label": label}
    try:
        if not opening_id:
            raise InputError("the opening has no name", fix="write what it is called at the counter")
        shop.vehicles.save(
            {**kept.document, "openings": [*kept.document.get("openings", ()), opening]}, kept.mark, by=who(request)
        )
    except InputError as error:
        facts = form_facts(fields_of(kept.document, head_groups(kept.document)), kept.mark)
        facts["remarks"] = {"new_label": remark_of(error)}
        return _vehicle(request, kept, 400, {"label": label, "kind": kind}, **facts)
    return go("/opening", vehicle=name, opening=opening_id, job=single(form, "job") or None)


def opening(request: Request) -> Response:
    """An opening's figures beside its drawing; for an archived one, the possible actions."""
    subject = f"opening:{asked(request, 'vehicle')}/{asked(request, 'opening')}"
    if subject in shop_of(request).archive.all():
        return go("/archive", subject=subject)
    kept = _opening_of(shop_of(request), asked(request, "vehicle"), asked(request, "opening"))
    return _opening(request, kept, **form_facts(fields_of(kept.document, opening_groups(kept.document)), kept.mark))


def _opening(request: Request, kept: KeptDocument, status: int = 200, **facts: Any) -> Response:
    shop, name, groups = shop_of(request), asked(request, "vehicle"), opening_groups(kept.document)
    place = f"{name}/{kept.name}"
    facts |= {"groups": groups, "labels": labels_of(groups), "drawings": shop.drawings.drawing(place)}
    facts["measured"] = measured(shop, f"opening:{place}")
    car = _car(request, name)
    here = next(place for place, pin in enumerate(car["pins"]) if pin.opening_id == kept.name)
    facts |= {"here": car["pins"][here], "following": next(iter(car["pins"][here + 1 :]), None)}
    facts["vehicle"] = shop.vehicles.document(name).document
    return show(request, "opening.html", status, vehicle_id=name, opening=kept.document, **facts, **car)


def _opening_of(shop: Shop, vehicle_id: str, opening_id: str) -> KeptDocument:
    """An opening's part of its vehicle's document, with the vehicle's mark."""
    kept = shop.vehicles.document(vehicle_id)
    held = {str(one["opening_id"]).strip(): one for one in kept.document.get("openings", ())}
    if opening_id not in held:
        raise NotKnown(f"opening of {vehicle_id}", opening_id, list(held))
    return KeptDocument(opening_id, held[opening_id], kept.mark)


def save_opening(request: Request, form: FormData) -> Response:
    """Save an opening's figures."""
    shop, name, opening_id = shop_of(request), asked(request, "vehicle"), asked(request, "opening")
    notation = shop.settings().notation()

    def keep(document: Document, mark: str, sure: bool) -> KeptDocument:
        whole = shop.vehicles.document(name).document
        others = whole.get("openings", ())
        changed = [document if str(one["opening_id"]).strip() == opening_id else one for one in others]
        shop.vehicles.save({**whole, "openings": changed}, mark, by=who(request), sure=sure)
        return _opening_of(shop, name, opening_id)

    edit = FormEdit(
        lambda: _opening_of(shop, name, opening_id),
        lambda document: fields_of(document, opening_groups(document)),
        lambda document, typed: written(document, typed, opening_groups(document), notation),
        keep,
        lambda document: places_of(document, opening_groups(document), f"openings[{opening_id}]"),
        shop.store.turn,
    )
    return save_form(form, edit, typed_fields(form), partial(_opening, request))
