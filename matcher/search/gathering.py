"""Every candidate of every slot of a job, with what the rules say of their links."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matcher.search.candidates.accessories import equipped
from matcher.search.candidates.amplifiers import OnSpots, amplifiers
from matcher.search.candidates.beside import Beside
from matcher.search.candidates.common import Filled
from matcher.search.candidates.controls import control_spots
from matcher.search.candidates.extras import beside
from matcher.search.candidates.head_units import head_units, wanted_of
from matcher.search.candidates.line_aids import line_aids
from matcher.search.candidates.loudspeakers import speakers
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidates
from matcher.search.field import Field
from matcher.search.fits.looks import Look
from matcher.search.question import JobQuestion, SpeakerPlace, allowed_step
from matcher.search.rooms import Rooms
from matcher.search.scoring import Scoring

if TYPE_CHECKING:
    from matcher.search.bass.side import BassSide


def gather_field(catalog: Catalog, question: JobQuestion, look: Look) -> Field:
    """Every candidate of every slot that a look asks for, with what the rules say of their links."""
    scoring, top = Scoring(question.job.wishes, catalog.settings), look.k
    aids = line_aids(catalog, scoring, top)
    heads = _heads(catalog, question, scoring, aids.needs, look)
    amps = _amplifiers(catalog, question, scoring)
    filled = {place.opening_id: _speakers(catalog, question, place, scoring, look) for place in question.speakers}
    return Field(
        question,
        scoring,
        top,
        heads.candidates,
        amps.candidates,
        {name: one.candidates for name, one in filled.items()},
        _beside(catalog, question, scoring, top),
        _bass_side(catalog, question, scoring),
        head_tallies=list(heads.tallies.values()),
        tallies={name: one.tallies for name, one in filled.items()},
        amplifier_tallies=amps.tallies,
        aids=aids,
        rooms=Rooms(catalog, scoring, question.job.vehicle_id),
    )


def _heads(catalog: Catalog, question: JobQuestion, scoring: Scoring, matter: tuple[str, ...], look: Look) -> Filled:
    """Head units by themselves, and with accessories that give what they lack."""

    def fill() -> Filled:
        some = [fill(catalog, question, scoring, matter, look) for fill in (head_units, equipped)]
        tallies = [tally for one in some for tally in one.tallies.values()]
        return Filled(Candidates(head for one in some for head in one.candidates), dict(enumerate(tallies)))

    spots = tuple(control_spots(catalog, question)) if question.job.limits.must else ()
    asked = question.dash_id, question.dash_allowed, wanted_of(question.job), spots
    found: Filled = catalog.once(("heads", question.job.vehicle_id, asked, scoring.wishes, matter, look), fill)
    return found


def _amplifiers(catalog: Catalog, question: JobQuestion, scoring: Scoring) -> OnSpots:
    bass = (bool(question.bass_names), *(control_spots(catalog, question) if question.bass_names else ()))
    spots = tuple((spot, allowed_step(question.job, spot)) for spot in question.amp_spots)
    asked = question.job.vehicle_id, spots, bass, question.headroom, scoring.wishes
    found: OnSpots = catalog.once(("amplifiers of spots", *asked), lambda: amplifiers(catalog, question, scoring))
    return found


def _speakers(catalog: Catalog, question: JobQuestion, place: SpeakerPlace, scoring: Scoring, look: Look) -> Filled:
    key = ("loudspeakers", question.job.vehicle_id, place, scoring.wishes, look)
    found: Filled = catalog.once(key, lambda: speakers(catalog, question, place, scoring, look))
    return found


def _beside(catalog: Catalog, question: JobQuestion, scoring: Scoring, k: int) -> list[Beside]:
    asked = question.asks_film, question.asks_security, question.routes
    key = ("beside", question.job.vehicle_id, asked, scoring.wishes, k)
    found: list[Beside] = catalog.once(key, lambda: beside(catalog, question, scoring, k))
    return found


def _bass_side(catalog: Catalog, question: JobQuestion, scoring: Scoring) -> BassSide | None:
    """Every bass system, where bass is asked for: what no job needs is not loaded for it."""
    if not question.bass_names:
        return None
    from matcher.search.bass.side import bass_side

    return bass_side(catalog, question, scoring)
