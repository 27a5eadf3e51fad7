"""Jobs: the list, a new one, and the job sheet, which is saved as one types."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.kinds import ROUTES
from catalog_schema.ladder import LADDER, LADDER_MEANING
from catalog_schema.schemas import read_schema
from matcher import Shop
from matcher.answers.messages_beside import ROUTE_WORDS
from matcher.errors import InputError, NotKnown
from matcher.store.database.kept_documents import KeptDocument
from matcher.web.asking import prepare
from matcher.web.form_edit import FormEdit
from matcher.web.job_form import (
    BESIDE,
    WISHES,
    job_document,
    job_fields,
    job_labels,
    places_in_job,
    places_of,
    typed_job,
)
from matcher.web.job_path import chips, steps_of
from matcher.web.pages import asked, go, opening_names, shop_of, show, single, used_vehicle, who
from matcher.web.remarks import remark_of
from matcher.web.saving import form_facts, save_form
from matcher.web.wording import short_name

WISH_WORDS = {
    name: str(field["description"]).rstrip(".")
    for name, field in read_schema("job")["$defs"]["Wishes"]["properties"].items()
}
"""Hint of each wish, from the job's own schema."""


def jobs(request: Request) -> Response:
    """Every job, open ones first."""
    return _job_list(request, {})


def _job_list(request: Request, typed: Mapping[str, str], error: InputError | None = None) -> Response:
    shop = shop_of(request)
    held = shop.store.exists()
    vehicles = shop.vehicles.all().document["vehicles"] if held else []
    return show(
        request,
        "jobs.html",
        400 if error else 200,
        jobs=shop.jobs.states() if held else [],
        vehicles=vehicles,
        cars={one["vehicle_id"]: one.get("label") for one in vehicles},
        typed=typed,
        remarks={"vehicle" if isinstance(error, NotKnown) else "label": remark_of(error)} if error else {},
    )


def new_job(request: Request, form: FormData) -> Response:
    """Start a job on a vehicle."""
    shop, vehicle_id, label = shop_of(request), single(form, "vehicle"), single(form, "label")
    job_id = _free_name(shop, single(form, "job") or label or vehicle_id)
    try:
        shop.vehicles.document(vehicle_id)
        shop.jobs.save({"job_id": job_id, "vehicle_id": vehicle_id, "label": label or None}, by=who(request))
    except InputError as error:
        return _job_list(request, {"vehicle": vehicle_id, "label": label}, error)
    return go("/job", job=job_id)


def _free_name(shop: Shop, words: str) -> str:
    """A short unused name for a job, from some words."""
    short = short_name(words) or "job"
    taken = {str(job["job_id"]) for job in shop.jobs.all(archived=None).document["jobs"]}
    numbered = (short if number == 1 else f"{short}-{number}" for number in range(1, len(taken) + 2))
    return next(name for name in numbered if name not in taken)


def job(request: Request) -> Response:
    """The job sheet."""
    kept = shop_of(request).jobs.document(asked(request, "job"))
    vehicle = _vehicle_of(shop_of(request), kept.document)
    return _sheet(request, vehicle, kept, **form_facts(job_fields(kept.document, places_of(vehicle)), kept.mark))


def _vehicle_of(shop: Shop, job: Mapping[str, Any]) -> dict[str, Any]:
    named = {*(job.get("choose") or ()), *(job.get("keep") or ())}
    return used_vehicle(shop, str(job["vehicle_id"]), named)


def save_job(request: Request, form: FormData) -> Response:
    """Save the sheet; if somebody else has changed it, merge, or ask which value counts."""
    shop, job_id = shop_of(request), single(form, "job")
    vehicle = _vehicle_of(shop, shop.jobs.document(job_id).document)
    places, notation = places_of(vehicle), shop.settings().notation()
    edit = FormEdit(
        lambda: shop.jobs.document(job_id),
        lambda found: job_fields(found, places),
        lambda found, fields: job_document(found, fields, places, notation),
        lambda found, mark, sure: shop.jobs.save(found, mark, by=who(request), sure=sure),
        lambda _: places_in_job(places),
        shop.store.turn,
    )
    return save_form(form, edit, typed_job(form, places), partial(_sheet, request, vehicle))


def _sheet(
    request: Request, vehicle: Mapping[str, Any], kept: KeptDocument, status: int = 200, **facts: Any
) -> Response:
    shop = shop_of(request)
    prepare(request, str(kept.document["job_id"]))
    openings = {str(one["opening_id"]): one for one in vehicle.get("openings", ())}
    fields = dict.fromkeys((f"do.{place}" for place in openings), "") | facts["fields"]
    return show(
        request,
        "job.html",
        status,
        **facts,
        job=kept.document,
        job_steps=steps_of(shop, str(kept.document["job_id"]), "wishes"),
        chips=chips(kept.document, opening_names(shop, str(vehicle["vehicle_id"])), shop.settings()),
        openings=openings,
        places=places_of(vehicle),
        f=fields,
        labels=job_labels({name: str(one.get("label") or name) for name, one in openings.items()}),
        ladder=[(step, LADDER_MEANING[step]) for step in LADDER],
        wishes=[(name, WISH_WORDS[name]) for name in WISHES],
        features=sorted({*shop.catalog.features(), *fields.get("must", ())}),
        routes=[(route, ROUTE_WORDS[route]) for route in ROUTES],
        beside=BESIDE,
    )
