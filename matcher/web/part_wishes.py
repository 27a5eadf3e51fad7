"""Wishes about parts on the page: chips that remove them from the job, and buttons that add them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.answers import Line
from matcher.store.documents.wishes import PINNABLE
from matcher.web.pages import go, shop_of, single, who
from matcher.web.wording import text

WITHOUT = ("parts", "makers", "suppliers")
FITTED = ("head_unit", "speaker", "enclosure", "amplifier")
"""Slots whose part is pinned at its opening."""


def wishes_held(document: Mapping[str, Any], places: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """The wishes about parts of a job: field, value and name for each chip."""
    pins = dict(document.get("pin") or {})
    found = [("pin", f"{slot}=none", f"{places.get(slot) or slot}: {part}") for slot, part in pins.items()]
    return found + [("allow", name, text("options.without", name=name)) for name in _left_out(document)]


def _left_out(document: Mapping[str, Any]) -> list[str]:
    without = (document.get("limits") or {}).get("without") or {}
    return [str(name) for kind in WITHOUT for name in without.get(kind) or ()]


def pin_of(line: Line) -> str:
    """The value that pins the part of a line, as ``place=part``; empty if it cannot be pinned."""
    slot = {"bass": "bass", "enclosure": line.opening_id}.get(line.slot) or (
        line.opening_id if line.slot in FITTED else line.slot if line.slot in PINNABLE else None
    )
    return f"{slot}={line.part_id}" if slot and line.part_id else ""


def keep_part_wish(request: Request, form: FormData) -> Response:
    """Save a wish about parts in the job: pin a part, leave something out, or allow it again."""
    shop, job_id = shop_of(request), single(form, "job")
    left_out = _left_out(shop.jobs.document(job_id).document)
    terms: dict[str, Any] = {}
    if pin := single(form, "pin"):
        slot, _, part = pin.partition("=")
        terms["pin"] = {slot: part}
    if gone := [name.strip() for name in single(form, "without").split(";") if name.strip()]:
        terms["without"] = list(dict.fromkeys([*left_out, *gone]))
    if allowed := single(form, "allow"):
        terms["without"] = [name for name in left_out if name != allowed] or ["none"]
    if terms:
        shop.jobs.edit(job_id, terms, by=who(request))
    return go("/options", job=job_id)
