"""A job as a form: document to fields, and fields to document."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from starlette.datastructures import FormData

from catalog_schema.columns import columns_of
from catalog_schema.jobs import Wishes
from catalog_schema.kinds import ROUTES
from catalog_schema.notation import EITHER, Notation, settled_cell, split_amounts
from matcher.web.form_edit import Fields
from matcher.web.pages import single
from matcher.web.wording import text

WISHES = tuple(column.name for column in columns_of(Wishes))
"""Wishes, in the order of the form."""
LIMIT_BOXES = ("budget", "screen_min_in", "deliver_within_days", "at_rest_ma")
TEXT_BOXES = ("label", "notes", "film_vlt_pct", "tax")
LABEL_KEYS = {name: name for name in ("alteration", "budget", "tiers", "must", "routes", *TEXT_BOXES)}
LABEL_KEYS |= {
    "alteration": "ladder",
    "screen_min_in": "screen",
    "deliver_within_days": "deliver",
    "at_rest_ma": "at_rest",
}
"""Texts for the fields' labels."""
BESIDE = ("bass", "film", "security")
"""Choices other than openings."""
SOUND = ("dash", "speaker")
"""Kinds of opening chosen by default if a job names none."""


def figure_text(cell: Any) -> str:
    """Return a figure of a document as text: ``61``, ``61 ± 0.5``, ``2 3/8 in``.

    >>> figure_text({"value": 61, "tol": 1, "basis": "measured"}), figure_text("2 3/8 in"), figure_text(None)
    ('61 ± 1', '2 3/8 in', '')
    """
    if isinstance(cell, Mapping):
        tol = cell.get("tol")
        return f"{cell.get('value')} ± {tol}" if tol is not None else f"{cell.get('value')}"
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, list | tuple):
        return "; ".join(map(str, cell))
    return "" if cell is None else str(cell)


def places_of(vehicle: Mapping[str, Any]) -> dict[str, str]:
    """Return openings that a job on this vehicle can fill or keep, with name and kind, dashes first."""
    openings = {str(one["opening_id"]): str(one["kind"]) for one in vehicle.get("openings", ())}
    order = ("dash", "speaker", "cargo", "amp_spot")
    return dict(
        sorted(
            ((name, kind) for name, kind in openings.items() if kind in order), key=lambda pair: order.index(pair[1])
        )
    )


def job_fields(document: Mapping[str, Any], places: Mapping[str, str]) -> Fields:
    """Return a job's document as form fields."""
    limits, wishes = document.get("limits") or {}, document.get("wishes") or {}
    choose, keep = set(document.get("choose") or ()), set(document.get("keep") or ())
    steps = limits.get("per_opening") or {}
    fields: Fields = {name: str(document.get(name) or "") for name in TEXT_BOXES}
    fields["tax"] = fields["tax"] or "included"
    fields["alteration"] = limits.get("alteration") or "bolt_on"
    fields |= {name: figure_text(limits.get(name)) for name in LIMIT_BOXES}
    fields["must"] = sorted(limits.get("must") or ())
    fields["tiers"] = "; ".join(figure_text(tier) for tier in document.get("tiers") or ())
    fields["routes"] = sorted(document.get("security_routes") or ())
    fields |= {f"wish.{name}": str(wishes.get(name, 3)) for name in WISHES}
    for name, kind in places.items():
        fields[f"do.{name}"] = _done_with(name, kind, choose, keep)
        fields[f"step.{name}"] = steps.get(name) or ""
    fields |= {f"do.{name}": "choose" if name in choose else "leave" for name in BESIDE}
    return fields


def _done_with(name: str, kind: str, choose: set[str], keep: set[str]) -> str:
    if name in keep:
        return "keep"
    if name in choose or (kind == "dash" and "head_unit" in choose):
        return "choose"
    return "choose" if not choose and kind in SOUND else "leave"


def places_in_job(places: Mapping[str, str]) -> dict[str, str]:
    """Return the field for each place of a job's document that errors name."""
    found = {name: name for name in (*TEXT_BOXES, "tiers")}
    found |= {f"limits.{name}": name for name in ("alteration", *LIMIT_BOXES, "must")} | {"security_routes": "routes"}
    found |= {f"wishes.{name}": f"wish.{name}" for name in WISHES}
    return found | {f"limits.per_opening.{name}": f"step.{name}" for name in places}


def job_labels(names: Mapping[str, str]) -> dict[str, str]:
    """Return the label of each field of a job's form; openings are labeled by ``names``."""
    found = {name: text(f"job.{key}") for name, key in LABEL_KEYS.items()}
    found |= {f"wish.{name}": text(f"wish.{name}") for name in WISHES}
    found |= {f"do.{name}": text(f"beside.{name}") for name in BESIDE}
    found |= {f"step.{name}": f"{label}: {text('job.own_step')}" for name, label in names.items()}
    return found | {f"do.{name}": label for name, label in names.items()}


def typed_job(form: FormData, places: Mapping[str, str]) -> Fields:
    """Return the values typed into a job's form, by field."""
    own = [name for place in places for name in (f"do.{place}", f"step.{place}")]
    names = [*TEXT_BOXES, "alteration", *LIMIT_BOXES, "tiers", *(f"wish.{name}" for name in WISHES), *own]
    fields: Fields = {name: single(form, name) for name in names if name in form}
    fields["must"] = sorted(set(map(str, form.getlist("must"))))
    fields["routes"] = sorted(str(route) for route in form.getlist("routes") if route in ROUTES)
    return fields | {f"do.{name}": "choose" if f"do.{name}" in form else "leave" for name in BESIDE}


def job_document(
    document: Mapping[str, Any], fields: Mapping[str, Any], places: Mapping[str, str], notation: Notation = EITHER
) -> dict[str, Any]:
    """Return the document with changed fields written into it; content that the form does not show stays.

    ``notation`` is the shop's number format.
    """
    before = job_fields(document, places)
    changed = {name for name, value in fields.items() if before.get(name) != value}
    made = copy.deepcopy(dict(document))
    limits, wishes = dict(made.get("limits") or {}), dict(made.get("wishes") or {})
    for name in changed & {*TEXT_BOXES}:
        made[name] = fields[name] or None
    if "alteration" in changed:
        limits["alteration"] = fields["alteration"]
    for name in changed & {*LIMIT_BOXES}:
        limits[name] = settled_cell(fields[name], notation)
    if "must" in changed:
        limits["must"] = fields["must"]
    if any(name.startswith("step.") for name in changed):
        steps = {name: fields.get(f"step.{name}") for name in places}
        limits["per_opening"] = {name: step for name, step in steps.items() if step}
    for name in WISHES:
        if f"wish.{name}" in changed:
            wishes[name] = settled_cell(fields[f"wish.{name}"], notation)
    if "tiers" in changed:
        made["tiers"] = [settled_cell(piece, notation) for piece in split_amounts(fields["tiers"])]
    if "routes" in changed:
        made["security_routes"] = fields["routes"]
    if any(name.startswith("do.") for name in changed):
        made["choose"] = [*_named(fields, places, "choose"), *(n for n in BESIDE if fields.get(f"do.{n}") == "choose")]
        made["keep"] = list(_named(fields, places, "keep"))
    return made | {"limits": limits, "wishes": wishes}


def _named(fields: Mapping[str, Any], places: Mapping[str, str], what: str) -> Sequence[str]:
    return [name for name in places if fields.get(f"do.{name}") == what]
