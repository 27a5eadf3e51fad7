"""Set-up in the bay: targets for the chosen package, readings, and results."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.choices import Choice, Setup
from matcher.errors import BoltbackError, InputError
from matcher.shop.choices import ShopChoices
from matcher.web.form_edit import BoxProblem, Fields, Merge, merge, read_seen, seen_text
from matcher.web.job_path import job_facts
from matcher.web.order_screen import CHOSEN, called, open_points, why_refused
from matcher.web.pages import asked, go, opening_names, shop_of, show, single, who, whole_number
from matcher.web.remarks import BoxRemark, remarks
from matcher.web.setup_form import Typed, kept_fields, places_fed, step_rows, typed_setup
from matcher.web.wording import link

PAPERS = ("setup", "handover-car", "handover-owner")
"""Papers to hand over."""
TONES = ("0", "-5", "-10")
"""Levels of the recorded tone for setting gains."""


def setup(request: Request) -> Response:
    """Target values and readings."""
    saved = asked(request, "saved")
    return _page(request, asked(request, "job"), saved=whole_number(saved, "record") if saved else None)


def save_setup(request: Request, form: FormData) -> Response:
    """Save new readings; readings saved by others in the meantime stay, or the user is asked which count."""
    shop, job_id = shop_of(request), single(form, "job")
    choice = shop.choices.chosen(job_id)
    places = list(dict.fromkeys(name for link in choice.package.links for name in link.to))
    seen = read_seen(single(form, "seen"))
    typed = typed_setup(form, places, seen, shop.settings().notation())
    try:
        if single(form, "choice") != str(choice.number):
            raise InputError(
                "another package was chosen meanwhile: its targets are others", fix="look at it, then enter it again"
            )
        if typed.problems:
            raise InputError("a step of the volume cannot be read; nothing was written down", problems=typed.problems)
        with shop.store.turn():
            merged = merge(seen, typed.fields, theirs := kept_fields(shop.choices.setup_record(job_id)))
            if merged.conflicts:
                return _page(request, job_id, typed=typed, merged=merged, status=409)
            number = _write(request, form, typed, merged, theirs)
    except InputError as error:
        return _page(request, job_id, typed=typed, seen=seen, error=error, status=400)
    return go("/setup", job=job_id, saved=number)


def sign(request: Request, form: FormData) -> Response:
    """Sign the job off; open points require a reason, which is logged."""
    job_id, note = single(form, "job"), single(form, "reason")
    try:
        by = single(form, "by") or who(request)
        shop_of(request).choices.sign(job_id, by=by, note=note or None, anyway="anyway" in form)
    except InputError as error:
        return _page(request, job_id, status=400, note=note, unsigned=error)
    return go("/setup", job=job_id)


def _write(request: Request, form: FormData, typed: Typed, merged: Merge, theirs: Fields) -> int | None:
    news = {name: text for name, text in merged.fields.items() if text and text != theirs.get(name, "")}
    if not news:
        raise InputError("no reading was entered", fix="fill in one box at least")
    made = shop_of(request).choices.set_up(
        single(form, "job"),
        steps=[typed.steps[name] for name in news if name in typed.steps],
        values={name: text for name, text in news.items() if not name.startswith("output.")},
        replace_claims="replace_claims" in form,
        note=single(form, "note") or None,
        by=single(form, "by") or who(request),
    )
    return made.number


def _page(
    request: Request,
    job_id: str,
    *,
    saved: int | None = None,
    typed: Typed | None = None,
    seen: Fields | None = None,
    merged: Merge | None = None,
    error: BoltbackError | None = None,
    status: int = 200,
    note: str = "",
    unsigned: InputError | None = None,
) -> Response:
    shop = shop_of(request)
    choice, record = shop.choices.latest(job_id), shop.choices.setup_record(job_id)
    kept = kept_fields(record)
    names = {} if choice is None else opening_names(shop, choice.vehicle_id)
    places = [] if choice is None else places_fed(choice, record, names)
    facts: dict[str, Any] = {
        **job_facts(shop, job_id, "setup"),
        "choice": choice,
        "record": record,
        "places": places,
        "names": names,
        "labels": {place.opening_id: place.label for place in places},
        "f": kept | (merged.fields if merged else typed.fields if typed else {}),
        "rows": typed.rows if typed else step_rows(record),
        "seen": seen_text(kept if seen is None else seen),
        "conflicts": merged.conflicts if merged else [],
        "taken": merged.taken if merged else [],
        "tones": TONES,
        "aims": _aims(choice, record),
        "saved": saved,
        "error": error,
        "about": CHOSEN,
        "kinds": PAPERS,
        "signed": shop.jobs.state(job_id).signed,
        "note": note,
        "remarks": {"reason": why_refused(unsigned)} if unsigned else _at_boxes(error),
    }
    found = open_points(request, job_id, ShopChoices.open_to_sign, unsigned) if choice else (None, 0)
    facts["points"], facts["seconds"] = found
    facts["called"] = called(shop, choice, facts["points"])
    facts["again"] = link("/setup", job=job_id)
    return show(request, "setup.html", status, **facts)


def _at_boxes(error: BoltbackError | None) -> dict[str, BoxRemark]:
    """Remarks at boxes that are refused."""
    problems = error.problems if isinstance(error, InputError) else ()
    return remarks({one.column: BoxProblem(one, False) for one in problems}, {})


def _aims(choice: Choice | None, record: Setup) -> dict[str, Any]:
    """Results computed from the measured currents."""
    supply = None if choice is None else choice.package.supply
    return {} if supply is None else {"music_a": supply.music_a, "full_a": supply.full_a, "rest_ma": supply.standby_ma}
