"""Why a slot is empty: which rules refuse its parts, how many, and the nearest miss."""

from __future__ import annotations

from catalog_schema.answers import SlotCount
from matcher.explain.slots_bass import bass_counts
from matcher.explain.slots_beside import beside_counts
from matcher.explain.wording import miss_says, supply_says
from matcher.search.cores import Field
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import Place
from matcher.search.fits.tally import misses, supply_refusals
from matcher.search.question import HEAD_UNIT
from matcher.settings import Settings
from matcher.store.connection import Connection


def slot_counts(con: Connection, field: Field, settings: Settings) -> list[SlotCount]:
    """Each slot of a job: what fits within its limits, and what keeps the others out."""
    question, counts = field.question, []
    vehicle = question.job.vehicle_id
    if question.dash_id is not None:
        place = Place("dash", "head_unit", vehicle, question.dash_id, question.dash_allowed)
        refusals = [supply_says(rule) for rule in supply_refusals(con, vehicle, settings)]
        counts.append(_count(con, HEAD_UNIT, place, field.head_tallies, settings, refusals))
    for chosen in question.chosen:
        place = Place("speaker", "speaker", vehicle, chosen.opening_id, chosen.allowed)
        counts.append(_count(con, "speaker", place, list(field.tallies[chosen.opening_id].values()), settings, []))
    return counts + bass_counts(con, field, settings) + beside_counts(con, field, settings)


def _count(
    con: Connection, slot: str, place: Place, tallies: list[Tally], settings: Settings, refusals: list[str]
) -> SlotCount:
    total = con.execute(f"SELECT count(*) FROM {place.family}").fetchone()
    parts, sure = sum(one.parts for one in tallies), sum(one.sure for one in tallies)
    refused = misses(con, place, settings)
    return SlotCount(
        slot=slot,
        opening_id=place.opening_id,
        fits=sure,
        measure=parts - sure,
        no=(total[0] if total else 0) - parts,
        by_rule={miss.rule.name: miss.count for miss in refused},
        reasons=[*refusals, *(miss_says(miss) for miss in refused)],
    )
