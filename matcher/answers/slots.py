"""Reasons for an empty slot: the rules that refuse its parts, the number of refusals, and the nearest miss."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from catalog_schema.answers import SlotCount
from matcher.answers.messages import miss_says, supply_says
from matcher.answers.slots_bass import bass_counts
from matcher.answers.slots_beside import beside_counts
from matcher.search.catalog.catalog import Catalog
from matcher.search.field import RankingField
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import Place
from matcher.search.fits.tally import Miss, misses, supply_refusals
from matcher.search.question import HEAD_UNIT, JobQuestion, pinned


def slot_counts(catalog: Catalog, field: RankingField, *, with_reasons: bool = True) -> list[SlotCount]:
    """Return for each slot of a job the parts that fit within its limits, and the reasons that exclude the others.

    Without reasons, `by_rule` and `reasons` are empty for the head unit and the loudspeakers: every rule would have to
    be evaluated for every part.
    """
    counts = []
    for place in _places(field.question):
        if place.kind == "dash":
            mine = pinned(catalog, field.question, "head_unit", place.opening_id, HEAD_UNIT)
            count = _count(mine, HEAD_UNIT, place, field.head_tallies)
        else:
            mine = pinned(catalog, field.question, "speaker", place.opening_id)
            count = _count(mine, "speaker", place, field.tallies[place.opening_id].values())
        counts.append(_explained(mine, place, count) if with_reasons else count)
    return counts + bass_counts(catalog, field) + beside_counts(catalog, field)


def _places(question: JobQuestion) -> list[Place]:
    """Return the dash if a head unit is wanted, and each wanted loudspeaker place."""
    vehicle, places = question.job.vehicle_id, []
    if question.dash_id is not None:
        places.append(Place("dash", "head_unit", vehicle, question.dash_id, question.dash_allowed))
    chosen = (Place("speaker", "speaker", vehicle, one.opening_id, one.allowed) for one in question.chosen)
    return [*places, *chosen]


def _count(catalog: Catalog, slot: str, place: Place, tallies: Collection[Tally]) -> SlotCount:
    parts, sure = sum(one.parts for one in tallies), sum(one.sure for one in tallies)
    return SlotCount(
        slot=slot,
        opening_id=place.opening_id,
        fits=sure,
        measure=parts - sure,
        no=len(catalog.parts(place.family)) - parts,
        by_rule={},
    )


def _explained(catalog: Catalog, place: Place, count: SlotCount) -> SlotCount:
    """Add the rules that refuse parts at a place, and those by which the vehicle's supply refuses every one."""
    refused: list[Miss] = catalog.once((place, "misses"), lambda: misses(catalog, place))
    supply = supply_refusals(catalog, place.vehicle_id) if place.kind == "dash" else []
    return replace(
        count,
        by_rule={miss.rule.name: miss.count for miss in refused},
        reasons=[*map(supply_says, supply), *map(miss_says, refused)],
    )
