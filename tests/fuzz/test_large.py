"""Ten megabytes for a word, a key that stands twice, half a character: taken or refused, and said in few words.

Refusals are held to their length in `targets`: nobody is shown ten megabytes of what they sent.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.factories import plain, speaker, speaker_opening, store_file, vehicle
from tests.fuzz.faces import run_command
from tests.fuzz.targets import (
    JOB,
    MAP,
    ROW,
    Counter,
    load_list,
    take_job,
    take_map,
    take_reading,
    take_vehicle,
    write_list,
)
from tests.web.conftest import start, stop

LARGE = "x" * 10_000_000
HALF = "\ud800"
CAR = json.loads(json.dumps(vehicle(speaker_opening()), default=plain))


@pytest.fixture(scope="module")
def counter(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Counter]:
    """A small shop, which nothing stays in."""
    made = Counter(tmp_path_factory.mktemp("large"))
    yield made
    made.con.close()


def as_list(how: str) -> Callable[[Counter, str], bool]:
    """A list with a cell for its model."""
    return lambda counter, word: load_list(counter, write_list(counter.folder, how, [ROW | {"model": word}]))


def figure_list(counter: Counter, word: str) -> bool:
    """A list with a cell for a depth."""
    return load_list(counter, write_list(counter.folder, "json", [ROW | {"depth_mm": word}]))


def in_document(take: Callable[[Counter, str], bool], base: dict[str, Any], key: str) -> Callable[[Counter, str], bool]:
    """A document with a word for one of its values."""
    return lambda counter, word: take(counter, json.dumps(base | {key: word}))


def strange_key(counter: Counter, word: str) -> bool:
    """A vehicle with a key of that name."""
    return take_vehicle(counter, json.dumps(CAR | {word: 1}))


def toml_job(counter: Counter, word: str) -> bool:
    """A job in a format that no job is in."""
    return take_job(counter, f'job_id = "j2"\nvehicle_id = "tern"\nnotes = "{word}"\n')


def reading(counter: Counter, word: str) -> bool:
    """A reading of a word."""
    return take_reading(counter, ("part:speaker-1", "depth_mm", word, None, None))


def noted(counter: Counter, word: str) -> bool:
    """A reading with a note."""
    return take_reading(counter, ("part:speaker-1", "depth_mm", "60", None, word))


def of_subject(counter: Counter, word: str) -> bool:
    """A reading of something of that name."""
    return take_reading(counter, (f"part:{word}", "depth_mm", "60", None, None))


WAYS = {
    **{f"a cell of {how}": as_list(how) for how in ("csv", "json", "jsonl", "parquet")},
    "a depth in a list": figure_list,
    "a vehicle's label": in_document(take_vehicle, CAR, "label"),
    "a vehicle's name": in_document(take_vehicle, CAR, "vehicle_id"),
    "a vehicle's year": in_document(take_vehicle, CAR, "year"),
    "a vehicle's key": strange_key,
    "a job's name": in_document(take_job, JOB, "job_id"),
    "a job's vehicle": in_document(take_job, JOB, "vehicle_id"),
    "a job in TOML": toml_job,
    "a map's name": in_document(take_map, MAP, "name"),
    "a map's family": in_document(take_map, MAP, "family"),
    "a reading": reading,
    "a reading's note": noted,
    "a reading's subject": of_subject,
}


@pytest.mark.parametrize("word", [LARGE, f"a{HALF}b"], ids=["large", "half a character"])
@pytest.mark.parametrize("way", WAYS)
def test_a_word_is_taken_or_refused_in_few_words(way: str, word: str, counter: Counter) -> None:
    assert WAYS[way](counter, word) in (True, False)


TWICE = [
    ("vehicle", take_vehicle, json.dumps(CAR).replace('"label":', '"year": 1984, "year": 1985, "label":', 1)),
    ("opening", take_vehicle, json.dumps(CAR).replace('"depth_mm":', '"depth_mm": 7, "depth_mm":', 1)),
    ("job", take_job, json.dumps(JOB).replace('"budget": 500', '"budget": 500, "budget": 600')),
    ("map", take_map, json.dumps(MAP).replace('"family": "speaker"', '"family": "speaker", "family": "film"')),
]


@pytest.mark.parametrize(("take", "text"), [row[1:] for row in TWICE], ids=[row[0] for row in TWICE])
def test_a_key_that_stands_twice_is_refused(take: Callable[[Counter, str], bool], text: str, counter: Counter) -> None:
    json.loads(text)
    assert take(counter, text) is False


@pytest.mark.parametrize("how", ["json", "jsonl"])
def test_a_key_that_stands_twice_in_a_list_never_passes_unseen(how: str, counter: Counter) -> None:
    path = write_list(counter.folder, how, [ROW])
    path.write_text(path.read_text("utf-8").replace('"depth_mm": 60', '"depth_mm": 60, "depth_mm": 61'), "utf-8")
    assert load_list(counter, path, spotless=False) is False


def test_the_page_and_the_commands_say_it_in_few_words(tmp_path: Path) -> None:
    store = store_file(tmp_path / "shop.duckdb", speaker(), vehicle(speaker_opening()))
    typed = LARGE[:131_000]  # Linux passes no longer word to a command
    for words in (["fit", typed, "tern/door"], ["reading", "add", "part:speaker-1", "depth_mm", typed]):
        code, said = run_command([*words, "--store", str(store)])
        assert (code, len(said) < 6_000) == (2, True)
    page = start(store, folder=tmp_path)
    try:
        visitor = page.visitor()
        answer = visitor.send("/reading", subject="part:speaker-1", value=LARGE)
        assert 400 <= answer.status < 500
        assert len(answer.text) < 20_000
        assert visitor.get("/name").status == 200
    finally:
        said = stop(page)
    assert "Traceback" not in said
