"""A search that the user bounds by time or memory: an answer with what it may miss, told in words."""

from __future__ import annotations

import json
import signal

import pytest
import typer
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from catalog_schema.schemas import read_schema
from matcher import Shop
from matcher.commands.main import app
from matcher.commands.progress import Progress
from matcher.errors import InputError
from tests.factories import dash_opening, head_unit, job, speaker, speaker_opening, store_file, vehicle


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    folder = tmp_path_factory.mktemp("shop")
    dear = speaker(part_id="dear", sens_db=95, sens_basis="1w", price=150)
    path = store_file(folder / "shop.duckdb", head_unit(), speaker(), dear, vehicle(dash_opening(), speaker_opening()))
    file = folder / "job.json"
    file.write_text(json.dumps(job()), encoding="utf-8")
    made = Shop(path)
    made.jobs.load(file)
    return made


def test_enough_time_and_memory_change_nothing(shop: Shop) -> None:
    bounded, free = shop.options("j1", seconds=600, memory_mb=2000), shop.options("j1")
    assert bounded.packages == free.packages
    assert (bounded.complete, bounded.missed_score_at_most) == (True, None)


def test_no_time_gives_an_answer_that_says_what_it_may_miss(shop: Shop) -> None:
    best = shop.options("j1").packages[0].score
    told = shop.options("j1", seconds=0)
    assert not told.complete
    assert told.conflicts == []  # that nothing was found in time is no conflict
    assert told.missed_score_at_most is not None and told.missed_score_at_most >= best
    Draft202012Validator(read_schema("options")).validate(told.to_dict())


def test_the_command_ends_well_and_says_so(shop: Shop) -> None:
    run = CliRunner().invoke(app, ["options", "j1", "--seconds", "0", "--store", str(shop.store.path)])
    assert run.exit_code == 0
    said = " ".join(run.output.split())  # wherever its lines break
    assert "Ended after" in said and "at most" in said
    assert "searched" not in said


@pytest.mark.parametrize("bound", [["--seconds", "-1"], ["--memory-mb", "1"], ["--seconds", "soon"]])
def test_a_bound_that_is_none_is_refused(shop: Shop, bound: list[str]) -> None:
    run = CliRunner().invoke(app, ["options", "j1", *bound, "--store", str(shop.store.path)])
    assert run.exit_code == 2


def test_too_little_memory_to_read_what_fits_is_told(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    import duckdb

    def full(*_: object, **__: object) -> None:
        raise duckdb.OutOfMemoryException("failed to allocate")

    monkeypatch.setattr("matcher.answers.options.answer_options", full)
    with pytest.raises(InputError, match="64 MB is not enough memory"):
        shop.options("j1", memory_mb=64)


def test_a_search_that_the_user_stops_ends_with_what_it_has(shop: Shop) -> None:
    told = shop.options("j1", is_stopped=lambda: True)
    assert (told.complete, told.packages) == (False, [])
    assert shop.measure("j1", is_stopped=lambda: True).complete is False


def test_the_first_interrupt_ends_a_search_and_a_second_one_stops_it() -> None:
    with pytest.raises(typer.Exit), Progress() as progress:
        is_stopped = progress.end_on_interrupt()
        assert is_stopped() is False
        signal.raise_signal(signal.SIGINT)
        assert is_stopped() is True
        signal.raise_signal(signal.SIGINT)
