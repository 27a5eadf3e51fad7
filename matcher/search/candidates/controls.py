"""Remote level controls at a vehicle's control spots: those that are bought, and an amplifier's own.

One that is bought goes where the rules say best of it; one that goes nowhere is not offered. An amplifier that plays
the bass brings its own remote along: nothing to buy, and of a size that no list states.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from matcher.rules.mount import CONTROL
from matcher.rules.rule import NO
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.place import BOARD_STEP, Place
from matcher.search.fits.relations import measured, part_sql, worst_code
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion, allowed_step

KIND = "level_control"
"""The kind of such an accessory, and the slot of an amplifier's own remote."""
GIVES = "bass_level"


def control_spots(sweeps: Sweeps, question: JobQuestion) -> list[str]:
    """The spots of a vehicle at which a control may be held, by name."""
    return [place.opening_id for place in _places(sweeps, question) if place.allowed >= BOARD_STEP]


def closed_spots(sweeps: Sweeps, question: JobQuestion) -> list[str]:
    """The spots at which the job's limits alone let no control be held, by name."""
    return [place.opening_id for place in _places(sweeps, question) if place.allowed < BOARD_STEP]


def _places(sweeps: Sweeps, question: JobQuestion) -> list[Place]:
    """The spots for controls that need not stay as they are, and at which anything may be fastened."""
    vehicle_id = question.job.vehicle_id
    statement = "SELECT opening_id FROM opening_control_spot WHERE vehicle_id = ? ORDER BY opening_id"
    found = sweeps.once(("control spots", vehicle_id), lambda: sweeps.con.execute(statement, [vehicle_id]).fetchall())
    kept = set(question.job.keep or ())
    places = [
        Place("control_spot", "accessory", vehicle_id, name, allowed_step(question.job, name))
        for (name,) in found
        if name not in kept
    ]
    return [place for place in places if sweeps.may_hold(place)]


def placed(sweeps: Sweeps, question: JobQuestion) -> dict[str, tuple[str, int]]:
    """By level control of the catalog: the spot of which the rules say best, and what they say, if any takes it."""
    vehicle_id, spots = question.job.vehicle_id, control_spots(sweeps, question)
    statement = (
        f"WITH part AS ({part_sql('accessory', sweeps.settings)}), "
        "opening AS (SELECT * FROM opening_control_spot WHERE vehicle_id = $1 "
        "AND opening_id IN (SELECT unnest($2::VARCHAR[]))), "
        f"asked AS (SELECT part.part_id, opening.opening_id, {measured(CONTROL, sweeps.settings)} FROM part, opening "
        f"WHERE part.kind = '{KIND}'), coded AS (SELECT *, {worst_code(CONTROL, lifted=False)} AS code FROM asked) "
        f"SELECT part_id, opening_id, code FROM coded WHERE code != {NO} "
        "QUALIFY row_number() OVER (PARTITION BY part_id ORDER BY code DESC, opening_id) = 1"
    )
    rows = sweeps.once(
        ("controls", vehicle_id, *spots), lambda: sweeps.con.execute(statement, [vehicle_id, spots]).fetchall()
    )
    return {part_id: (spot, code) for part_id, spot, code in rows}


def with_remotes(sweeps: Sweeps, question: JobQuestion, amplifiers: Sequence[Candidate]) -> list[Candidate]:
    """The amplifiers, in a job with bass those that play it with their own remote at the first control spot."""
    spots = control_spots(sweeps, question) if question.bass_names else []
    if not spots:
        return list(amplifiers)
    statement = "SELECT part_id FROM amplifier WHERE level_control"
    able = sweeps.once("level controls", lambda: {name for (name,) in sweeps.con.execute(statement).fetchall()})
    remote = _remote(spots[0])
    return [replace(one, along=(*one.along, remote)) if one.part_id in able else one for one in amplifiers]


def _remote(spot: str) -> Candidate:
    return Candidate(
        slot=KIND,
        opening_id=spot,
        step=BOARD_STEP,
    )
