"""The best package that holds a certain part, against plain enumeration."""

from __future__ import annotations

from random import Random

import pytest

from matcher.answers.fitted import fitted_of
from matcher.search.options import sum_limits
from matcher.search.what_if.forced import OnePart, holds
from matcher.search.what_if.relaxed import WhatIf, stated
from tests.factories import dash_opening, head_unit
from tests.search.oracle import ranked
from tests.search.shops import Store, drawn_job
from tests.soak import first


@pytest.mark.parametrize("seed", first(1, range(60, 63)))
def test_the_best_package_with_a_part_is_that_of_plain_enumeration(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    asked = stated(settled.job(drawn_job(draw, ["bolt_on", "drilled", "metal_cut"])), settled.catalog)
    everything, _, _ = ranked(settled.town, asked)
    for row in settled.parts:
        want = next((whole for whole in everything if row["part_id"] in whole.names), None)
        found = WhatIf(settled.catalog, asked, OnePart(settled.catalog, row["part_id"], row["family"])).best(asked)
        got = None if found is None else (found.points, found.cents, found.name)
        assert got == (want and (want.points, want.cents, want.names)), (seed, row)
        if found is not None:
            parts = [points for one in fitted_of(found) for _, points in one.points]
            assert found.points == found.doubt_points + found.plan_points + sum(parts)


def test_a_part_is_itself_after_all_of_its_family_was_ranked(store: Store) -> None:
    """The page told of most head units that they fit nowhere: their classes were kept from the ranking before."""
    settled = store.lay_town([head_unit(part_id="a"), head_unit(part_id="b", price=400)], [dash_opening()])
    asked = settled.job({"job_id": "j1", "vehicle_id": "tern", "limits": {}, "choose": ["head_unit"]})
    field = settled.rank(asked, 1).field
    found = OnePart(settled.catalog, "b", "head_unit").best(field, sum_limits(field.question, None))
    assert found is not None
    assert holds(found, "b")
