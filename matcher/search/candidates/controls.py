"""Remote level controls at a vehicle's control spots: bought ones, and an amplifier's own.

A bought one goes to the spot with the best verdict; one that fits nowhere is not offered. An amplifier that plays the
bass includes its own remote at no cost; no list states its size.
"""

from __future__ import annotations

import numpy as np

from matcher.rules.mount import CONTROL
from matcher.rules.rule import NO, rules_of
from matcher.search.candidates.goods import of_kind
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.families import may_hold
from matcher.search.fits.place import BOARD_STEP, Place, is_allowed
from matcher.search.fits.tables import verdict_table
from matcher.search.question import JobQuestion, allowed_step

KIND = "level_control"
"""Kind of such an accessory, and slot of an amplifier's own remote."""
GIVES = "bass_level"


def control_spots(catalog: Catalog, question: JobQuestion) -> list[str]:
    """Return the names of a vehicle's spots that can hold a control."""
    return [place.opening_id for place in _places(catalog, question) if is_allowed(BOARD_STEP, place.allowed)]


def closed_spots(catalog: Catalog, question: JobQuestion) -> list[str]:
    """Return the names of spots where only the job's limits exclude a control."""
    return [place.opening_id for place in _places(catalog, question) if not is_allowed(BOARD_STEP, place.allowed)]


def _places(catalog: Catalog, question: JobQuestion) -> list[Place]:
    """Control spots without a kept original where something may be fastened."""
    vehicle_id, kept = question.job.vehicle_id, set(question.job.keep or ())
    places = [
        Place("control_spot", "accessory", vehicle_id, name, allowed_step(question.job, name))
        for name in catalog.vehicle(vehicle_id).openings("control_spot").opening_ids
        if name not in kept
    ]
    return [place for place in places if may_hold(catalog, place)]


def placed(catalog: Catalog, question: JobQuestion) -> dict[int, tuple[str, int]]:
    """Return the spot with the best verdict for each level control, and the verdict; None if no spot takes it."""
    vehicle_id, spots = question.job.vehicle_id, control_spots(catalog, question)
    found: dict[int, tuple[str, int]] = catalog.once(
        ("controls", vehicle_id, *spots), lambda: _best_spots(catalog, vehicle_id, spots)
    )
    return found


def _best_spots(catalog: Catalog, vehicle_id: str, spots: list[str]) -> dict[int, tuple[str, int]]:
    parts, vehicle = catalog.parts("accessory"), catalog.vehicle(vehicle_id)
    if not spots:
        return {}
    each_code = [
        verdict_table(
            rules_of(CONTROL), parts, "part", vehicle.opening("control_spot", spot), 1, catalog.settings
        ).by_part[:, 0]
        for spot in spots
    ]
    codes = np.stack(each_code, axis=1)
    best = codes.argmax(axis=1)  # of equal ones the first by name
    rows = np.flatnonzero(of_kind(parts, KIND) & (codes.max(axis=1) != NO))
    return {row: (spots[best[row]], int(codes[row, best[row]])) for row in rows.tolist()}


def own_remote(spot: str) -> Candidate:
    """Return the remote that comes with an amplifier, at its spot."""
    return Candidate(slot=KIND, opening_id=spot, step=BOARD_STEP)
