"""Asking again in one process: what is kept changes no answer, and what has changed in between counts at once."""

from __future__ import annotations

import csv
import json
import threading
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from catalog_schema.answers import Options
from catalog_schema.terms import without
from matcher import Shop
from matcher.search.catalog.kept import _grounds, forget
from matcher.search.catalog.parts import Parts, read_parts
from matcher.settings import Settings
from matcher.store.database.connection import Connection
from tests.factories import Row, dash_opening, head_unit, job, speaker, speaker_opening, store_file, vehicle

METAL = {"w_mm": 180, "h_mm": 180, "material": "steel"}


def plain(answer: Options) -> Options:
    return replace(answer, seconds=0)


SPEAKERS = (speaker(part_id="plain", price=50), speaker(part_id="loud", sens_db=95, sens_basis="1w", price=150))


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A small shop on disk, whose catalog came by lists."""
    made = Shop(store_file(tmp_path / "shop.duckdb", vehicle(dash_opening(), speaker_opening(cut=METAL))))
    made.catalog.load_families(
        {"head_unit": [written(tmp_path, head_unit())], "speaker": [written(tmp_path, *SPEAKERS)]}
    )
    (tmp_path / "job.json").write_text(json.dumps(job()), encoding="utf-8")
    made.jobs.load(tmp_path / "job.json")
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


def load_dearer(shop: Shop) -> None:
    shop.catalog.load_families({"speaker": [written(shop.store.path.parent, SPEAKERS[1] | {"price": 999})]})


def give_little_money(shop: Shop) -> None:
    kept = shop.jobs.document("j1")
    shop.jobs.save(kept.document | {"limits": kept.document["limits"] | {"budget": 200}}, kept.mark)


def dig_less_deep(shop: Shop) -> None:
    kept = shop.vehicles.document("tern")
    openings = [one | ({"depth_mm": 10} if one["opening_id"] == "door" else {}) for one in kept.document["openings"]]
    shop.vehicles.save(kept.document | {"openings": openings}, kept.mark)


CHANGES: dict[str, Any] = {
    "a setting": lambda shop: shop.set("labour_rate", 99),
    "a reading": lambda shop: shop.readings.add("part:loud", "price", 999),
    "a part": load_dearer,
    "the job": give_little_money,
    "the vehicle": dig_less_deep,
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_change_counts_for_the_next_question(shop: Shop, what: str) -> None:
    before = plain(shop.options("j1"))
    CHANGES[what](shop)
    after = plain(shop.options("j1"))
    assert before.packages
    assert after != before
    forget()
    assert after == plain(shop.options("j1"))


def test_whatever_was_asked_before_the_answer_is_what_it_is_alone(shop: Shop) -> None:
    for name, limits in {"j2": {"budget": 300}, "j3": {"alteration": "metal_cut"}, "j4": {"must": ["mirror"]}}.items():
        shop.jobs.save(job(job_id=name, limits=limits))

    def told(name: str) -> list[Any]:
        document = shop.jobs.document(name).document
        terms = without(document, [one.name for one in shop.liftable(name)][:2]) | {"wish": {"bass": 0}}
        return [
            plain(shop.options(name, top=2)),
            plain(shop.what_if(name, terms=terms, top=2)),
            shop.limits(name),
            shop.measure(name, looks=1),
        ]

    alone = {}
    for name in ("j1", "j2", "j3", "j4"):
        forget()
        alone[name] = told(name)
    for name in ("j2", "j1", "j4", "j3", "j1", "j2"):
        assert told(name) == alone[name]


def test_another_question_reads_no_part_again(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    forget()
    read: list[str] = []

    def noted(con: Connection, family: str, settings: Settings) -> Parts:
        read.append(family)
        return read_parts(con, family, settings)

    monkeypatch.setattr("matcher.search.catalog.catalog.read_parts", noted)
    for wishes in ({"price": 1}, {"bass": 5}):
        shop.options("j1", terms={"wish": wishes})
    assert {"head_unit", "speaker"} <= set(read)
    assert len(read) == len(set(read))


def test_an_earlier_version_is_not_answered_with_what_was_read_of_the_catalog_of_now(shop: Shop) -> None:
    then = plain(shop.options("j1"))
    load_dearer(shop)
    now = plain(shop.options("j1"))
    assert now.packages != then.packages
    assert plain(shop.options("j1", version=then.catalog_version)) == then
    assert plain(shop.options("j1")) == now


def test_threads_share_what_was_read(shop: Shop) -> None:
    forget()
    told: list[Options] = []
    others = [threading.Thread(target=lambda: told.append(plain(shop.options("j1", remember=False)))) for _ in range(3)]
    for other in others:
        other.start()
    for other in others:
        other.join()
    assert told == [plain(shop.options("j1"))] * 3


def test_unused_results_are_dropped(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("matcher.search.catalog.kept.MOST_QUESTIONS", 2)
    forget()
    kept = []
    for top in (1, 2, 1, 2, 1):
        shop.options("j1", top=top)
        kept.append(len(_grounds[shop.store.path].kept.made))
    assert kept[4] == kept[2] == kept[0] < kept[1] == kept[3]
