"""Gathers every candidate of every slot of a job, with their joint verdicts."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from matcher.search.candidates.accessories import equipped
from matcher.search.candidates.amplifiers import OnSpots, amplifiers
from matcher.search.candidates.beside import beside
from matcher.search.candidates.common import KEPT, SlotCandidates, with_head
from matcher.search.candidates.controls import control_spots
from matcher.search.candidates.head_units import (
    Features,
    HeadUnits,
    head_groups,
    heads_at,
    wanted_of,
)
from matcher.search.candidates.line_aids import line_aids
from matcher.search.candidates.loudspeakers import at_place, speakers
from matcher.search.candidates.originals import original_amplifiers, original_head, original_speaker
from matcher.search.candidates.table import Beside, Tabled, table_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.kit import KitNeed, kit_prices, place_wire
from matcher.search.feeds.parts import speaker_signature
from matcher.search.field import PinnedSlot, RankingField, every_model, of_model
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import CandidatePass
from matcher.search.question import BASS, HEAD_UNIT, JobQuestion, SpeakerPlace, allowed_step, pinned, wished
from matcher.search.rooms import Rooms
from matcher.search.scoring import Scoring

if TYPE_CHECKING:
    from matcher.search.bass.side import BassSide


def gather_field(catalog: Catalog, question: JobQuestion, look: CandidatePass) -> RankingField:
    """Every candidate of every slot that a look asks for, with what the rules say of their links.

    Where the customer's own part is taken already the next one is wanted, so that one candidate more is kept for each.
    """
    look = replace(look, k=look.k + len(question.job.owned))
    catalog = wished(catalog, question.job, known_delivery=look.known_delivery)
    scoring = Scoring(question.job.wishes, catalog.settings, look.hoping)
    aids = line_aids(catalog, scoring)
    heads, head_tallies = _heads(
        pinned(catalog, question, "head_unit", question.dash_id, HEAD_UNIT), question, scoring, aids.needs, look
    )
    amps = _amplifiers(pinned(catalog, question, "cable", "cable"), question, scoring)
    filled = {
        name: _speakers(pinned(catalog, question, "speaker", name), question, place, scoring, look)
        for place in question.speakers
        for name in (place.opening_id,)
    }
    return RankingField(
        question,
        scoring,
        heads,
        amps.candidates,
        {name: one.candidates for name, one in filled.items()},
        _beside(catalog, question, scoring, look.k),
        _bass_side(catalog, question, scoring),
        head_tallies=head_tallies,
        tallies={name: one.tallies for name, one in filled.items()},
        amplifier_tallies=amps.tallies,
        aids=aids,
        rooms=Rooms(catalog, scoring, question.job.vehicle_id),
        with_head=partial(with_head, kit_prices(catalog), _wires(catalog, question), scoring),
        pins=_amplifier_pins(question),
    )


def _wires(catalog: Catalog, question: JobQuestion) -> dict[str, KitNeed]:
    """Wire from an amplifier to each place; from a factory amplifier it is there."""
    vehicle = catalog.vehicle(question.job.vehicle_id)
    if set(question.amp_spots) <= set(question.kept):
        return {}
    rows = {one.opening_id: vehicle.opening_row("speaker", one.opening_id) for one in question.speakers}
    return {name: place_wire(row, catalog.settings) for name, row in rows.items()}


def _heads(
    catalog: Catalog, question: JobQuestion, scoring: Scoring, matter: Features, look: CandidatePass
) -> tuple[HeadUnits, list[Tally]]:
    """Head units alone and with accessories that add missing features, and their number."""

    def fill() -> tuple[HeadUnits, list[Tally]]:
        if question.dash_id is None:
            return HeadUnits(head_groups([original_head(catalog, question)])), [KEPT]
        groups, tallies = equipped(catalog, question, scoring, matter, look)
        at = heads_at(catalog, question, scoring, matter, look)
        if at is not None:
            groups, tallies = [at.group(), *groups], [*at.tallies.values(), *tallies]
        return HeadUnits(groups), tallies

    spots = tuple(control_spots(catalog, question)) if question.job.limits.must else ()
    asked = question.dash_id, question.dash_allowed, wanted_of(question.job), spots, bool(question.bass_names)
    found: tuple[HeadUnits, list[Tally]] = catalog.once(
        ("heads", question.job.vehicle_id, asked, scoring.key, matter, look), fill
    )
    return found


def _amplifiers(catalog: Catalog, question: JobQuestion, scoring: Scoring) -> OnSpots:
    bass = (bool(question.bass_names), *(control_spots(catalog, question) if question.bass_names else ()))
    spots = tuple((spot, allowed_step(question.job, spot)) for spot in question.amp_spots)
    asked = question.job.vehicle_id, spots, bass, question.headroom, scoring.key

    def fill() -> OnSpots:
        on_spots, stay = amplifiers(catalog, question, scoring), original_amplifiers(catalog, question)
        tallies = on_spots.tallies | dict.fromkeys(stay.cells["spot"].tolist(), KEPT)
        return OnSpots(on_spots.candidates + stay, tallies) if len(stay) else on_spots

    found: OnSpots = catalog.once(("amplifiers of spots", question.kept, *asked), fill)
    return found


def _speakers(
    catalog: Catalog, question: JobQuestion, place: SpeakerPlace, scoring: Scoring, look: CandidatePass
) -> SlotCandidates:
    key = ("loudspeakers", question.job.vehicle_id, place, scoring.key, look)

    def fill() -> SlotCandidates:
        if not place.kept:
            return speakers(catalog, question, place, scoring, look)
        one = original_speaker(catalog, question, place, at_place(scoring, place))
        return SlotCandidates(Tabled(table_of([one])), {speaker_signature(one): KEPT})

    found: SlotCandidates = catalog.once(key, fill)
    return found


def _beside(catalog: Catalog, question: JobQuestion, scoring: Scoring, k: int) -> list[Beside]:
    """Independent slots: only a pinned film, and only security sets with a pinned layer."""
    layer = question.pinned("security")
    k = k if layer is None else max(k, len(catalog.parts("security")))
    catalog = pinned(catalog, question, "film", "film")
    asked = question.asks_film, question.job.film_vlt_pct, question.asks_security, question.routes
    key = ("beside", question.job.vehicle_id, asked, scoring.key, k)
    found: list[Beside] = catalog.once(key, lambda: beside(catalog, question, scoring, k))
    return [one if layer is None or one.slot != "security" else one.with_part(layer) for one in found]


def _amplifier_pins(question: JobQuestion) -> tuple[PinnedSlot, ...]:
    """Required amplifiers: a model on a given or any spot, or any amplifier that uses the pinned cable."""
    by_slot = {slot: part for slot, part in question.job.pin.items() if part is not None}
    tasks = [
        PinnedSlot(task, of_model(by_slot[task], None)) for task in ("amplifier", "bass_amplifier") if task in by_slot
    ]
    spots = [PinnedSlot("amplifier", of_model(by_slot[spot], spot)) for spot in question.amp_spots if spot in by_slot]
    return (*tasks, *spots, *([PinnedSlot("amplifier", every_model)] if "cable" in by_slot else []))


def _bass_side(catalog: Catalog, question: JobQuestion, scoring: Scoring) -> BassSide | None:
    """All bass systems, if bass is wanted; the module is loaded only then."""
    if not question.bass_names:
        return None
    from matcher.search.bass.side import bass_side

    side = bass_side(catalog, question, scoring)
    pins = {place.opening_id: part for place in question.bass if (part := question.pinned(place.opening_id))}
    if not pins and (part := question.pinned(BASS)):
        pins = {place.opening_id: part for place in question.bass}
    return side.with_parts(pins) if pins else side
