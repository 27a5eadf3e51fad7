"""Jobs: the list, a new one, and the job sheet, saved as one goes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.ladder import LADDER, LADDER_MEANING
from catalog_schema.parts import ROUTES
from catalog_schema.schemas import read_schema
from matcher import Shop
from matcher.errors import BoltbackError, InputError
from matcher.explain.wording_beside import ROUTE_WORDS
from matcher.web.job_form import BESIDE, WISHES, job_document, job_fields, places_of, typed_job
from matcher.web.meeting import Desk, Difference, Fields, StaleForm, read_seen, seen_text
from matcher.web.pages import asked, go, shop_of, show, single, who, whole

WISH_WORDS = {
    name: str(field["description"]).rstrip(".")
    for name, field in read_schema("job")["$defs"]["Wishes"]["properties"].items()
}
"""What each wish says, from the job's own schema."""


def jobs(request: Request) -> Response:
    """Every job, those still open first."""
    return _job_list(request, {})


def _job_list(request: Request, typed: Mapping[str, str], error: BoltbackError | None = None) -> Response:
    shop = shop_of(request)
    held = shop.store.exists()
    return show(
        request,
        "jobs.html",
        400 if error else 200,
        jobs=shop.job_states() if held else [],
        vehicles=shop.vehicles().document["vehicles"] if held else [],
        typed=typed,
        error=error,
    )


def new_job(request: Request, form: FormData) -> Response:
    """Begin a job on a vehicle."""
    shop, vehicle_id, label = shop_of(request), single(form, "vehicle"), single(form, "label")
    job_id = _free_name(shop, single(form, "job") or label or vehicle_id)
    try:
        shop.vehicle_document(vehicle_id)
        shop.save_job({"job_id": job_id, "vehicle_id": vehicle_id, "label": label or None}, by=who(request))
    except InputError as error:
        return _job_list(request, {"vehicle": vehicle_id, "label": label}, error)
    return go("/job", job=job_id)


def _free_name(shop: Shop, words: str) -> str:
    """A short name out of some words that no job has yet."""
    short = re.sub(r"[^\w]+", "-", words.casefold()).strip("-")[:60] or "job"
    taken = {str(job["job_id"]) for job in shop.jobs().document["jobs"]}
    numbered = (short if number == 1 else f"{short}-{number}" for number in range(1, len(taken) + 2))
    return next(name for name in numbered if name not in taken)


def job(request: Request) -> Response:
    """The job sheet as it stands."""
    shop, job_id = shop_of(request), asked(request, "job")
    kept = shop.job_document(job_id)
    vehicle = shop.vehicle_document(kept.document["vehicle_id"]).document
    fields = job_fields(kept.document, places_of(vehicle))
    return _sheet(request, kept.document, vehicle, fields, fields, kept.mark)


def save_job(request: Request, form: FormData) -> Response:
    """Keep the sheet; where somebody else changed it meanwhile, both changes, or the question which it is to be."""
    shop, job_id = shop_of(request), single(form, "job")
    document = shop.job_document(job_id).document
    vehicle = shop.vehicle_document(document["vehicle_id"]).document
    places = places_of(vehicle)
    mine, seen = typed_job(form, places), read_seen(single(form, "seen"))
    desk = Desk(
        lambda: shop.job_document(job_id),
        lambda found: job_fields(found, places),
        lambda found, fields: job_document(found, fields, places),
        lambda found, mark: shop.save_job(found, mark, by=who(request)),
        shop.store.turn,
    )
    try:
        saved = desk.save(mine, seen, single(form, "mark"))
    except StaleForm as stale:
        theirs = job_fields(stale.kept.document, places)
        facts: dict[str, Any] = {"clashes": stale.meeting.clashes, "taken": stale.meeting.taken, "status": 409}
        return _sheet(request, document, vehicle, stale.meeting.fields, theirs, stale.kept.mark, **facts)
    except InputError as error:
        return _sheet(request, document, vehicle, mine, seen, single(form, "mark"), error=error, status=400)
    fields = job_fields(saved.kept.document, places)
    return _sheet(request, saved.kept.document, vehicle, fields, fields, saved.kept.mark, taken=saved.taken, saved=True)


def _sheet(
    request: Request,
    document: Mapping[str, Any],
    vehicle: Mapping[str, Any],
    fields: Fields,
    seen: Fields,
    mark: str,
    *,
    status: int = 200,
    clashes: list[Difference] | None = None,
    taken: list[Difference] | None = None,
    saved: bool = False,
    error: BoltbackError | None = None,
) -> Response:
    shop = shop_of(request)
    openings = {str(one["opening_id"]): one for one in vehicle.get("openings", ())}
    answer = show(
        request,
        "job.html",
        status,
        job=document,
        vehicle=vehicle,
        openings=openings,
        places=places_of(vehicle),
        f=dict.fromkeys((f"do.{place}" for place in openings), "") | seen | fields,
        seen=seen_text(seen),
        mark=mark,
        clashes=clashes or [],
        taken=taken or [],
        saved=saved,
        error=error,
        ladder=[(step, LADDER_MEANING[step]) for step in LADDER],
        wishes=[(name, WISH_WORDS[name]) for name in WISHES],
        features=sorted({*shop.features(), *fields.get("must", ())}),
        routes=[(route, ROUTE_WORDS[route]) for route in ROUTES],
        beside=BESIDE,
    )
    return whole(answer) if clashes or taken else answer
