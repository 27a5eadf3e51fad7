"""The path of a job, on every page of it: car, wishes, packages, choose, order, hand over."""

from __future__ import annotations

from dataclasses import dataclass

from matcher import Shop
from matcher.web.pages import link


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the path."""

    name: str
    to: str
    """Its page."""
    is_here: bool
    is_done: bool


def steps_of(shop: Shop, job_id: str, here: str) -> list[Step]:
    """The steps of a job in their order, each with its page and whether it is done."""
    state = shop.job_state(job_id)
    done = {
        "car": True,
        "wishes": state.answered_on is not None or state.chosen is not None,
        "packages": state.chosen is not None,
        "choose": state.chosen is not None,
        "order": state.ordered or state.signed,
        "setup": state.signed,
    }
    to = {
        "car": link("/vehicle", vehicle=state.vehicle_id, job=job_id),
        "wishes": link("/job", job=job_id),
        "packages": link("/options", job=job_id),
        "choose": link("/choose", job=job_id),
        "order": link("/order", job=job_id),
        "setup": link("/setup", job=job_id),
    }
    return [Step(name, to[name], name == here, is_done) for name, is_done in done.items()]
