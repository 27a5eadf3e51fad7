"""The best package under assumed figures, against a ranking of the whole catalog with them."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest

from matcher.answers.assuming import AssumedRankings
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.question import question_of
from matcher.search.ranking import best_of
from matcher.search.what_if.assumed import Value, supposing
from matcher.search.what_if.contenders import Contenders
from tests.factories import Row, adapter, dash_opening, head_unit, speaker, speaker_opening
from tests.search.shops import Store, priced

JOB = {"job_id": "j1", "vehicle_id": "tern", "limits": {"alteration": "bolt_on", "budget": 500}}
VALUES: dict[str, dict[str, list[Any]]] = {
    "head_unit": {"body_d_mm": [90, 160], "price": [1, 300], "amp_w": [5, 45]},
    "speaker": {"depth_mm": [40, 90], "sens_db": [80, 100], "price": [1, 300]},
    "adapter": {"forward_mm": [0, 60], "price": [1, 300]},
}
OPENINGS = [dash_opening(), speaker_opening(), speaker_opening(opening_id="shelf", position="rear")]


def drawn_parts(draw: Random) -> list[Row]:
    """Head units and loudspeakers that differ in sound and price; small loudspeakers need one of two rings."""
    small = {"cutout_w_mm": 120, "flange_w_mm": 138, "bolt_circle_mm": 110}
    parts = [head_unit(part_id=f"h{at}", amp_w=draw.choice([15, 30, None]), **priced(draw)) for at in range(3)]
    for at in range(6):
        own = {"sens_db": draw.choice([88, 90, 92, None]), "depth_mm": draw.choice([55, 55, 66, None])}
        parts.append(speaker(part_id=f"s{at}", **own | (small if at % 2 else {}) | priced(draw)))
    return parts + [adapter(part_id=name, **priced(draw)) for name in ("ring", "ruby")]


def drawn_figures(draw: Random, parts: list[Row]) -> dict[str, Value]:
    """Figures of one or two parts, and sometimes of the door."""
    figures: dict[str, Value] = {}
    for one in draw.sample(parts, draw.choice([1, 1, 2])):
        field, values = draw.choice([*VALUES[one["family"]].items()])
        figures[f"part:{one['part_id']}.{field}"] = draw.choice(values)
    return figures | ({"opening:tern/door.depth_mm": draw.choice([50, 66])} if draw.random() < 0.3 else {})


@pytest.mark.parametrize("seed", range(12))
def test_only_packages_with_the_part_are_ranked_again(store: Store, seed: int) -> None:
    """The same package wins as in a ranking of everything, whether the assumption helps the part or excludes it."""
    draw = Random(seed)
    parts = drawn_parts(draw)
    settled = store.lay_town(parts, OPENINGS)
    wishes = {name: draw.randint(0, 5) for name in ("loudness", "bass")} | {"price": 3}
    job = settled.job({**JOB, "choose": ["head_unit", "door", "shelf"], "wishes": wishes})
    winner, question = settled.rank(job, 1).found[0], question_of(settled.catalog, job)
    asking = AssumedRankings(settled.catalog, job, winner, Contenders(settled.catalog, question, winner).places_of)
    families = {one["part_id"]: one["family"] for one in parts}
    for _ in range(12):
        figures = drawn_figures(draw, parts)
        catalog = supposing(Catalog(store.con, settled.settings), figures, families.__getitem__)
        field = gather_field(catalog, question_of(catalog, job), CandidatePass(1))
        whole = best_of(field, sum_limits(field.question, job.limits.budget))
        assert order(asking.best(figures)) == order(whole), figures


def order(found: Found | None) -> object:
    return None if found is None else found.order
