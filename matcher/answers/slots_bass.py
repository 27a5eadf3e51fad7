"""Rejections of bass: the boxes of the catalog at each cargo space, and the drivers in any box that goes in."""

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
    """Boxes and drivers of a job that asks for bass."""
    question, side = field.question, field.bass
    if side is None:
        return []
    if not question.bass:
        return [SlotCount(slot="bass", opening_id=None, fits=0, measure=0, no=0, by_rule={}, reasons=[NO_CARGO])]
    vehicle = question.job.vehicle_id
    places = [Place("cargo", "enclosure", vehicle, one.opening_id, one.allowed) for one in question.bass]
    return [count for place in places for count in (_boxes(catalog, field, place), _drivers(catalog, field, place))]


def _boxes(catalog: Catalog, field: RankingField, place: Place) -> SlotCount:
    """Boxes of the catalog that go in and take some driver; a box is sure where it is with one of them."""
    counted, refused = _count(catalog, field, place, "enclosure"), box_misses(catalog, place)
    return replace(
        counted,
        by_rule={miss.rule.name: miss.count for miss in refused},
        reasons=[*_step(place), *(miss_says(miss) for miss in refused)],
    )


def _drivers(catalog: Catalog, field: RankingField, place: Place) -> SlotCount:
    """Drivers that go into some box there, bought or made."""
    counted = _count(catalog, field, place, "subwoofer")
    return replace(counted, reasons=_step(place) or [no_box_says(counted.no)]) if counted.no else counted


def _step(place: Place) -> list[str]:
    """That a box takes more than the step which is allowed, where it does."""
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
