"""What each rule keeps out of a slot: counted by sets of figures, as asking every part by itself counts it."""

from __future__ import annotations

from decimal import Decimal

import pytest

from catalog_schema.answers import SlotCount
from matcher.answers.slots import slot_counts
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.fit import fit_part
from matcher.search.fits.place import LOOSEST, CandidatePass, Place
from matcher.search.fits.tally import misses
from matcher.search.gathering import gather_field
from matcher.search.question import question_of
from matcher.settings import DEFAULT_SETTINGS
from matcher.store.database.kept_documents import stored_job
from tests.factories import Row, dash_opening, head_unit, job, speaker, speaker_opening
from tests.search.shops import Store
from tests.soak import first

RADIO = head_unit(amp_channels=4, amp_w=50, amp_min_ohm=4, standby_ma=1)


def door(store: Store, *parts: Row) -> SlotCount:
    """How the loudspeakers of a shop fared at a door whose hole is 145 mm wide, with 70 mm behind it."""
    store.lay_town([RADIO, *parts], [dash_opening(), speaker_opening(hole_w_mm=145)]).job(job())
    catalog = Catalog(store.con, DEFAULT_SETTINGS)
    field = gather_field(catalog, question_of(catalog, stored_job(store.con, "j1")), CandidatePass(1))
    return next(slot for slot in slot_counts(catalog, field) if slot.slot == "speaker")


# cutouts of loudspeakers; how many a hole of 145 mm refuses, and the nearest with what it is short by
@pytest.mark.parametrize(
    ("cutouts", "refused", "nearest"),
    [
        ({"a": 145}, 0, None),  # on the limit
        ({"a": None}, 0, None),  # not known: to be measured
        ({"a": 147}, 1, "a, short by 2"),
        ({"a": 150, "b": 147, "c": 147}, 3, "b, short by 2"),  # of equals the first by name
        ({"c": 147, "b": 147, "a": 150}, 3, "b, short by 2"),  # in whatever order they were listed
        ({"a": None, "b": 148, "c": 146}, 1, "b, short by 3"),  # within the tolerance it is to be measured
    ],
)
def test_the_nearest_miss_is_the_first_by_name_of_those_that_miss_by_least(
    store: Store, cutouts: dict[str, int | None], refused: int, nearest: str | None
) -> None:
    told = door(store, *(speaker(part_id=name, cutout_w_mm=width) for name, width in cutouts.items()))
    assert told.by_rule.get("speaker.hole_width", 0) == refused
    says = [reason for reason in told.reasons if "speaker.hole_width" in reason]
    assert bool(says) == bool(nearest)
    assert all(str(nearest) in one for one in says)


@pytest.mark.parametrize("seed", first(2, range(5)))
def test_each_rule_refuses_as_many_as_it_refuses_one_by_one(store: Store, seed: int) -> None:
    settled = store.settle(seed, times=3)
    catalog = Catalog(store.con, settled.settings)
    for kind, family in (("dash", "head_unit"), ("speaker", "speaker")):
        parts = [name for (name,) in store.con.execute(f"SELECT part_id FROM {family} ORDER BY 1").fetchall()]
        openings = store.con.execute(f"SELECT vehicle_id, opening_id FROM opening_{kind}").fetchall()
        for vehicle_id, opening_id in openings:
            counted: dict[str, list[tuple[Decimal, str]]] = {}
            for name in parts:
                fit = fit_part(Catalog(store.con, settled.settings), name, vehicle_id, opening_id, None, "bolt_on")
                for check in fit.checks:
                    if check.verdict == "no" and check.rule != "step" and not check.about:
                        counted.setdefault(check.rule, []).append((-(check.margin or Decimal(0)), name))
            place = Place(kind, family, vehicle_id, opening_id, LOOSEST)
            told = misses(catalog, place)
            assert {one.rule.name: (one.count, one.nearest) for one in told} == {
                rule: (len(some), min(some)[1]) for rule, some in counted.items()
            }
