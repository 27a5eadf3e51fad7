"""The best parts for each opening: each as good as the best package in which it is pinned there."""

from __future__ import annotations

import json

from matcher.answers.instead import parts_at
from matcher.search.catalog.catalog import Catalog
from matcher.shop.base import shop_settings
from matcher.store.database.kept_documents import stored_job
from matcher.store.documents.saving import save_job
from tests.factories import Bench, dash_opening, head_unit, job, plain, speaker, speaker_opening, vehicle

RADIO = head_unit(part_id="radio", amp_channels=4, amp_w=20, amp_min_ohm=4, standby_ma=1, price=100)
DEARER = RADIO | {"part_id": "dearer", "price": 150}
DOORS = [
    speaker(part_id=name, rms_w=20, sens_db=db, sens_basis="1w", price=price)
    for name, db, price in (("a", 88, 50), ("b", 90, 120), ("c", 91, 60), ("d", 86, 40))
]


def test_each_alternative_is_the_best_package_with_its_part_pinned() -> None:
    bench = Bench()
    bench.lay(vehicle(dash_opening(), speaker_opening(opening_id="door")), RADIO, DEARER, *DOORS)
    document = job(choose=["dash", "door"])

    def best(**pin: str) -> int:
        save_job(bench.con, json.dumps(document | {"pin": pin}, default=plain), "test")
        return bench.options("j1").packages[0].score

    pinned = {
        "door": sorted((best(door=one["part_id"]) for one in DOORS), reverse=True),
        "dash": sorted((best(dash=one["part_id"]) for one in (RADIO, DEARER)), reverse=True),
    }
    save_job(bench.con, json.dumps(document, default=plain), "test")
    for most in (1, 3, 9):
        found = parts_at(Catalog(bench.con, shop_settings(bench.con)), stored_job(bench.con, "j1"), most)
        assert {at.opening_id: [one.score for one in at.best] for at in found} == {
            place: scores[:most] for place, scores in pinned.items()
        }
        for at in found:
            assert len({line.part_id for one in at.best for line in one.lines}) == len(at.best)
    bench.con.close()
