"""The path of a job on each of its pages, and its limits and wishes as chips of a sentence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from catalog_schema.ladder import DEFAULT_STEP
from matcher import Shop
from matcher.answers.messages import amount
from matcher.settings import Settings
from matcher.web.job_form import WISHES, figure_text
from matcher.web.wording import link, text, word

WANTED_FROM = 4
"""Least weight of a wish that is shown."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the path."""

    name: str
    to: str
    """Link to its page."""
    is_here: bool
    is_done: bool
    asks: bool
    """Whether the customer waits for an answer there."""


def steps_of(shop: Shop, job_id: str, here: str) -> list[Step]:
    """The steps of a job, each with its page and whether it is done."""
    state = shop.jobs.state(job_id)
    is_chosen = state.chosen is not None
    steps = (
        ("car", link("/vehicle", vehicle=state.vehicle_id, job=job_id), True),
        ("wishes", link("/job", job=job_id), is_chosen or state.answered_on is not None),
        ("packages", link("/options", job=job_id), is_chosen),
        ("choose", link("/choose", job=job_id), is_chosen),
        ("order", link("/order", job=job_id), state.ordered or state.signed),
        ("setup", link("/setup", job=job_id), state.signed),
    )
    return [Step(name, to, name == here, is_done, state.asks and name == "choose") for name, to, is_done in steps]


def job_facts(shop: Shop, job_id: str, here: str) -> dict[str, Any]:
    """Facts for every page of a job: its document, and its path with the current step."""
    return {"job": shop.jobs.document(job_id).document, "job_steps": steps_of(shop, job_id, here)}


@dataclass(frozen=True, slots=True)
class Chip:
    """One limit or wish."""

    says: str
    to: str
    is_limit: bool


def chips(document: Mapping[str, Any], names: Mapping[str, str], settings: Settings) -> list[Chip]:
    """Return a job's limits, then its wishes.

    Parameters
    ----------
    document
        The job's document.
    names
        Labels of the car's openings.
    """
    place = link("/job", job=document["job_id"])
    limits = [Chip(says, f"{place}#{at}", True) for at, says in _limits(document, names, settings)]
    wishes = document.get("wishes") or {}
    wanted = [name for name in WISHES if int(wishes.get(name, 3)) >= WANTED_FROM]
    return limits + [Chip(text(f"chip.{name}"), f"{place}#wish-{name}", False) for name in wanted]


def _limits(document: Mapping[str, Any], names: Mapping[str, str], settings: Settings) -> Iterator[tuple[str, str]]:
    limits = document.get("limits") or {}
    step = limits.get("alteration") or DEFAULT_STEP
    yield f"step-{step}", text(f"chip.{step}")
    for name, own in (limits.get("per_opening") or {}).items():
        yield f"step.{name}", text("chip.step_at", place=names.get(name, name), step=word("step", own).lower())
    if limits.get("budget") is not None:
        paid = " ".join(filter(None, (figure_text(limits["budget"]), settings.word("currency"))))
        is_taxed = settings["tax_pct"] and document.get("tax") != "excluded"
        yield "budget", text("chip.budget_taxed" if is_taxed else "chip.budget", paid=paid)
    if limits.get("screen_min_in") is not None:
        yield "screen_min_in", text("chip.screen_min", size=figure_text(limits["screen_min_in"]))
    for feature in limits.get("must") or ():
        yield "must-says", word("feature", feature)
    if limits.get("at_rest_ma") is not None:
        yield "at_rest_ma", text("chip.at_rest", drain=amount(limits["at_rest_ma"], "mA"))
    if limits.get("deliver_within_days") is not None:
        yield "deliver_within_days", text("chip.deliver", days=figure_text(limits["deliver_within_days"]))
    for name in document.get("keep") or ():
        yield "places", text("chip.keep", place=names.get(name, name))
