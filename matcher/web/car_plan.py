"""A car from above: outline by kind of body, and a pin for each opening."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from matcher.web.vehicle_form import recommended
from matcher.web.wording import link

BODIES = {
    "pickup": ("pickup", "pick-up", "flatbed"),
    "van": ("van", "minibus", "bus"),
    "hatchback": ("hatchback", "hatch"),
    "wagon": ("wagon", "estate"),
    "sedan": ("sedan", "saloon", "coupe"),
}
"""Words for bodies, by outline."""
PLACES = (
    ("dash", "control_spot", ((110, 248),)),
    ("dash", "dash", ((110, 196),)),
    ("corner", "speaker", ((62, 172), (158, 172))),
    ("dash", "speaker", ((66, 178), (154, 178))),
    ("load", "speaker", ((40, 372), (180, 372))),
    ("rear door", "speaker", ((36, 320), (184, 320))),
    ("door", "speaker", ((36, 232), (184, 232))),
    ("shelf", "speaker", ((64, 388), (156, 388))),
    ("rear", "speaker", ((64, 388), (156, 388))),
    ("load", "cargo", ((110, 414),)),
    ("passenger", "cargo", ((147, 300),)),
    ("seat", "cargo", ((110, 312),)),
    ("windshield", "amp_spot", ((110, 154),)),
    ("seat", "amp_spot", ((147, 270),)),
    ("cab", "amp_spot", ((76, 318),)),
    ("", "dash", ((110, 196),)),
    ("", "speaker", ((40, 280), (180, 280))),
    ("", "cargo", ((110, 414),)),
    ("", "amp_spot", ((150, 330),)),
    ("", "control_spot", ((110, 248),)),
)
"""Positions of openings on a plan of 220 by 478, by a word of the name and kind; the first match counts."""
APART = 30
"""Least distance of pins; others are moved backwards."""
ROUND = 2 * math.pi * 14
"""Circumference of a pin."""


@dataclass(frozen=True, slots=True)
class PlanPin:
    """An opening on the plan, and the share of it that is measured."""

    number: int
    opening_id: str
    label: str
    to: str
    at: tuple[tuple[int, int], ...]
    """Positions of its pins: two for a pair."""
    measured: int
    wanted: int

    @property
    def state(self) -> str:
        """``full``, ``part`` or ``none``: how much of its ring is filled."""
        return "full" if self.measured >= self.wanted else "part" if self.measured else "none"

    @property
    def arc(self) -> float:
        """Length of the filled part of its ring."""
        return round(ROUND * self.measured / max(self.wanted, 1), 1)


def body_of(vehicle: Mapping[str, Any]) -> str:
    """Return the outline of a vehicle's body; a wagon if its words match no other.

    >>> body_of({"body": "saloon, four doors"}), body_of({})
    ('sedan', 'wagon')
    """
    said = str(vehicle.get("body") or "").casefold()
    return next((name for name, words in BODIES.items() if any(word in said for word in words)), "wagon")


def pins_of(vehicle: Mapping[str, Any], job_id: str | None) -> list[PlanPin]:
    """Return a pin for each opening of a vehicle, in its order.

    Parameters
    ----------
    vehicle
        The vehicle's document with its readings.
    job_id
        The current job.
    """
    taken: list[tuple[int, int]] = []
    return [_pin(number, one, vehicle, job_id, taken) for number, one in enumerate(vehicle.get("openings") or (), 1)]


def _pin(
    number: int,
    opening: Mapping[str, Any],
    vehicle: Mapping[str, Any],
    job_id: str | None,
    taken: list[tuple[int, int]],
) -> PlanPin:
    name = str(opening["opening_id"])
    wanted = recommended(opening)
    at = _moved(_at(opening), taken)
    taken += at
    to = link("/opening", vehicle=vehicle["vehicle_id"], opening=name, job=job_id)
    measured = sum(opening.get(field) is not None for field in wanted)
    return PlanPin(number, name, str(opening.get("label") or name), to, at, measured, len(wanted))


def _at(opening: Mapping[str, Any]) -> tuple[tuple[int, int], ...]:
    said = f"{opening.get('place') or ''} {opening.get('label') or ''} {opening['opening_id']}".casefold()
    found = next(at for word, kind, at in PLACES if kind == opening["kind"] and word in said)
    return found[:1] if opening.get("count") == 1 else found


def _moved(at: Sequence[tuple[int, int]], taken: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Positions moved backwards until they overlap no other pin."""
    moved = tuple(at)
    while any(math.dist(one, other) < APART for one in moved for other in taken):
        moved = tuple((x, y + APART) for x, y in moved)
    return moved
