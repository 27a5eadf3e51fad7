"""Refusals of bass: catalog boxes at each cargo space, and drivers in the boxes that fit there."""

from __future__ import annotations

from dataclasses import replace

from catalog_schema.answers import SlotCount
from matcher.answers.messages import miss_says
from matcher.answers.messages_bass import HELD, NO_CARGO, no_box_says
from matcher.search.catalog.catalog import Catalog
from matcher.search.field import RankingField
from matcher.search.fits.place import BOARD_STEP, Place
from matcher.search.fits.tally import box_misses


def bass_counts(catalog: Catalog, field: RankingField) -> list[SlotCount]:
    """Count the boxes and drivers of a job with bass."""
    question, side = field.question, field.bass
    if side is None:
        return []
    if not question.bass:
        return [SlotCount(slot="bass", opening_id=None, fits=0, measure=0, no=0, by_rule={}, reasons=[NO_CARGO])]
    vehicle = question.job.vehicle_id
    places = [Place("cargo", "enclosure", vehicle, one.opening_id, one.allowed) for one in question.bass]
    return [count for place in places for count in (_boxes(catalog, field, place), _drivers(catalog, field, place))]


def _boxes(catalog: Catalog, field: RankingField, place: Place) -> SlotCount:
    """Count catalog boxes that fit and take a driver; a box fits for certain if it does with one of them."""
    counted, refused = _count(catalog, field, place, "enclosure"), box_misses(catalog, place)
    return replace(
        counted,
        by_rule={miss.rule.name: miss.count for miss in refused},
        reasons=[*_step(place), *(miss_says(miss) for miss in refused)],
    )


def _drivers(catalog: Catalog, field: RankingField, place: Place) -> SlotCount:
    """Count drivers that go into a box there, purchased or made."""
    counted = _count(catalog, field, place, "subwoofer")
    return replace(counted, reasons=_step(place) or [no_box_says(counted.no)]) if counted.no else counted


def _step(place: Place) -> list[str]:
    """Report boxes that require more than the allowed step."""
    return [HELD] if place.allowed < BOARD_STEP else []


def _count(catalog: Catalog, field: RankingField, place: Place, family: str) -> SlotCount:
    assert field.bass is not None
    drivers, boxes = field.bass.tallies(place.opening_id)
    tally = boxes if family == "enclosure" else drivers
    return SlotCount(
        slot="enclosure" if family == "enclosure" else "bass",
        opening_id=place.opening_id,
        fits=tally.sure,
        measure=tally.parts - tally.sure,
        no=len(catalog.parts(family)) - tally.parts,
        by_rule={},
    )
