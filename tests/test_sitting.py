"""A sitting: what is shared between questions changes no answer, and what changes meanwhile counts at once."""

from __future__ import annotations

import csv
import json
import threading
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from catalog_schema.answers import Options
from catalog_schema.jobs import LADDER
from matcher import Shop
from tests.factories import Row, dash_opening, head_unit, job, speaker, speaker_opening, store_file, vehicle
from tests.search.shops import Store, drawn_job
from tests.soak import first

METAL = {"w_mm": 180, "h_mm": 180, "material": "steel"}


def plain(answer: Options) -> Options:
    return replace(answer, seconds=0)


@pytest.mark.parametrize("seed", first(1, range(20)))
def test_whatever_was_asked_before_the_answer_is_what_it_is_alone(seed: int) -> None:
    store, draw = Store(), Random(seed)
    settled = store.settle(seed)
    asked = [settled.job(drawn_job(draw, [*LADDER], job_id=f"j{number}")).job_id for number in range(4)]
    asked += [asked[0], asked[2]]

    def told(name: str) -> list[Any]:
        lifted = [one.name for one in store.liftable(name)][:2]
        return [
            plain(store.options(name, top=2)),
            plain(store.what_if(name, lift=lifted, wishes={"bass": 0}, top=2)),
            store.limits(name),
            store.measure(name, looks=1),
        ]

    alone = {name: told(name) for name in dict.fromkeys(asked)}
    with store.sitting():
        for name in asked:
            assert told(name) == alone[name]


SPEAKERS = (speaker(part_id="plain", price=50), speaker(part_id="loud", sens_db=95, sens_basis="1w", price=150))


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A small shop on disk, whose catalog came by lists."""
    made = Shop(store_file(tmp_path / "shop.duckdb", vehicle(dash_opening(), speaker_opening(cut=METAL))))
    made.load_families({"head_unit": [written(tmp_path, head_unit())], "speaker": [written(tmp_path, *SPEAKERS)]})
    (tmp_path / "job.json").write_text(json.dumps(job()), encoding="utf-8")
    made.load_job(tmp_path / "job.json")
    return made


def written(folder: Path, *parts: Row) -> Path:
    """A list of parts of one family."""
    path = folder / f"{parts[0]['family']}.csv"
    names = list(dict.fromkeys(name for part in parts for name in part if name != "family"))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(parts)
    return path


def test_what_a_question_lays_for_itself_is_no_part_of_the_store(shop: Shop) -> None:
    with shop.sitting():
        shop.options("j1")
        found = Shop(shop.store.path).check_store()
    assert found.sound, found.problems
    assert not [name for name in found.rows if name.startswith(("swept", "parts_", "beyond"))]


def load_dearer(shop: Shop) -> None:
    shop.load_families({"speaker": [written(shop.store.path.parent, SPEAKERS[1] | {"price": 999})]})


def give_little_money(shop: Shop) -> None:
    kept = shop.job_document("j1")
    shop.save_job(kept.document | {"limits": kept.document["limits"] | {"budget": 200}}, kept.mark)


def dig_less_deep(shop: Shop) -> None:
    kept = shop.vehicle_document("tern")
    openings = [one | ({"depth_mm": 10} if one["opening_id"] == "door" else {}) for one in kept.document["openings"]]
    shop.save_vehicle(kept.document | {"openings": openings}, kept.mark)


CHANGES: dict[str, Any] = {
    "a setting": lambda shop: shop.set("labour_rate", 99),
    "a reading": lambda shop: shop.add_reading("part:loud", "price", 999),
    "a part": load_dearer,
    "the job": give_little_money,
    "the vehicle": dig_less_deep,
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_change_in_a_sitting_counts_for_the_next_question(shop: Shop, what: str) -> None:
    with shop.sitting():
        before = plain(shop.options("j1"))
        CHANGES[what](shop)
        after = plain(shop.options("j1"))
    assert before.packages
    assert after != before
    assert after == plain(shop.options("j1"))


def test_an_earlier_version_is_not_answered_with_what_was_read_of_the_catalog_of_now(shop: Shop) -> None:
    then = plain(shop.options("j1"))
    load_dearer(shop)
    with shop.sitting():
        now = plain(shop.options("j1"))
        assert now.packages != then.packages
        assert plain(shop.options("j1", version=then.catalog_version)) == then
        assert plain(shop.options("j1")) == now


def test_another_thread_does_not_share_the_connection(shop: Shop) -> None:
    told: list[Options] = []
    alone = plain(shop.options("j1"))
    with shop.sitting():
        shop.options("j1")
        other = threading.Thread(target=lambda: told.append(plain(shop.options("j1"))))
        other.start()
        other.join()
    assert told == [alone]


def test_what_no_question_asks_for_any_more_is_let_go(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("matcher.shop.sitting.MOST_QUESTIONS", 2)
    with shop.sitting():
        assert shop._sitting is not None
        laid = []
        for _ in range(7):
            shop.options("j1")
            laid.append(len(shop._sitting._laid()))
    assert laid[0] == max(laid)
