"""Every candidate of every slot of a job, with what the rules say of their links."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from matcher.search.candidates.accessories import equipped
from matcher.search.candidates.amplifiers import amplifiers
from matcher.search.candidates.extras import beside
from matcher.search.candidates.head_units import head_units
from matcher.search.candidates.line_aids import line_aids
from matcher.search.candidates.loudspeakers import speakers
from matcher.search.field import Field
from matcher.search.fits.looks import Look
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion
from matcher.search.rooms import Rooms
from matcher.search.scoring import Scoring

if TYPE_CHECKING:
    from matcher.search.bass.side import BassSide


def gather_field(sweeps: Sweeps, question: JobQuestion, look: Look) -> Field:
    """Every candidate of every slot that a look asks for, with what the rules say of their links."""
    scoring, top = Scoring(question.job.wishes, sweeps.settings), look.k
    aids = line_aids(sweeps.catalog, scoring, top)
    matter = aids.needs

    heads = head_units(sweeps, question, scoring, matter, look)
    more = equipped(sweeps, question, scoring, matter, look)
    amps = amplifiers(sweeps, question, scoring)
    filled = {place.opening_id: speakers(sweeps, question, place, scoring, look) for place in question.speakers}
    return Field(
        question,
        scoring,
        top,
        [*heads.candidates, *more.candidates],
        amps.candidates,
        {name: one.candidates for name, one in filled.items()},
        beside(sweeps, question, scoring, top),
        _bass_side(sweeps, question, scoring),
        head_tallies=[*heads.tallies.values(), *more.tallies.values()],
        tallies={name: one.tallies for name, one in filled.items()},
        amplifier_tallies=amps.tallies,
        aids=aids,
        rooms=partial(Rooms, sweeps.catalog, scoring, question.job.vehicle_id),
    )


def _bass_side(sweeps: Sweeps, question: JobQuestion, scoring: Scoring) -> BassSide | None:
    """Every bass system, where bass is asked for: what no job needs is not loaded for it."""
    if not question.bass_names:
        return None
    from matcher.search.bass.side import bass_side

    return bass_side(sweeps, question, scoring)
