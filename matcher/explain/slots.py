"""Why a slot is empty: which rules refuse its parts, how many, and the nearest miss."""

from __future__ import annotations

from catalog_schema.answers import SlotCount
from matcher.explain.slots_bass import bass_counts
from matcher.explain.slots_beside import beside_counts
from matcher.explain.wording import miss_says, supply_says
from matcher.search.candidates.common import COMMON
from matcher.search.candidates.head_units import HEAD
from matcher.search.candidates.loudspeakers import SPEAKER
from matcher.search.cores import Field
from matcher.search.fits.laid import sets_of
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import Place
from matcher.search.fits.sweep import Sweeps
from matcher.search.fits.tally import Miss, misses, supply_refusals
from matcher.search.question import HEAD_UNIT

COLUMNS = {"head_unit": (*COMMON, *HEAD), "speaker": (*COMMON, *SPEAKER)}
"""What the ranking reads of a family: the sets of figures that were laid for it are asked again."""


def slot_counts(sweeps: Sweeps, field: Field) -> list[SlotCount]:
    """Each slot of a job: what fits within its limits, and what keeps the others out."""
    question, counts = field.question, []
    con, settings = sweeps.con, sweeps.settings
    vehicle = question.job.vehicle_id
    if question.dash_id is not None:
        place = Place("dash", "head_unit", vehicle, question.dash_id, question.dash_allowed)
        refusals = [supply_says(rule) for rule in supply_refusals(con, vehicle, settings)]
        counts.append(_count(sweeps, HEAD_UNIT, place, field.head_tallies, refusals))
    for chosen in question.chosen:
        place = Place("speaker", "speaker", vehicle, chosen.opening_id, chosen.allowed)
        counts.append(_count(sweeps, "speaker", place, list(field.tallies[chosen.opening_id].values()), []))
    return counts + bass_counts(con, field, settings) + beside_counts(con, field, settings)


def _misses(sweeps: Sweeps, place: Place) -> list[Miss]:
    return misses(sweeps.con, place, sets_of(sweeps, place, COLUMNS[place.family]), sweeps.settings)


def _count(sweeps: Sweeps, slot: str, place: Place, tallies: list[Tally], refusals: list[str]) -> SlotCount:
    total = sweeps.con.execute(f"SELECT count(*) FROM {place.family}").fetchone()
    parts, sure = sum(one.parts for one in tallies), sum(one.sure for one in tallies)
    refused: list[Miss] = sweeps.once((place, "misses"), lambda: _misses(sweeps, place))
    return SlotCount(
        slot=slot,
        opening_id=place.opening_id,
        fits=sure,
        measure=parts - sure,
        no=(total[0] if total else 0) - parts,
        by_rule={miss.rule.name: miss.count for miss in refused},
        reasons=[*refusals, *(miss_says(miss) for miss in refused)],
    )
