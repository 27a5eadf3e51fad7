"""Rankings beside the page: told of when they are lost, ended with the page, stopped where they are to be, kept."""

from __future__ import annotations

import os
import re
import shutil
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from matcher import Shop
from tests.web.conftest import Answered, Page, Visitor, start, stop

LONG = "/options?job=auk-unmeasured"
"""A question that takes some seconds."""
QUICK = "/options?job=skua-work"
WORKED_ON = "the page refreshes by itself"


def there(visitor: Visitor, path: str, lacks: str = WORKED_ON) -> Answered:
    """A page once it lacks some words."""
    for _ in range(120):
        answer = visitor.get(path)
        if lacks not in answer.text:
            return answer
        time.sleep(0.5)
    raise AssertionError(f"{path}: {lacks!r} for a minute")


def rankers(page: Page) -> list[int]:
    """The processes that rank beside a page, by Linux."""
    children = Path(f"/proc/{page.process.pid}/task").glob("*/children")
    return sorted({int(number) for path in children for number in path.read_text().split()})


@pytest.fixture
def own_page(demo_store: Path, tmp_path: Path) -> Iterator[Page]:
    """A page of the test's own: what it is still asked at the end holds up nobody."""
    store = tmp_path / "shop.duckdb"
    shutil.copy(demo_store, store)
    served = start(store)
    yield served
    assert "Traceback" not in stop(served)


def test_a_ranking_that_is_lost_is_told_of_once_and_asked_again(own_page: Page) -> None:
    visitor = own_page.visitor()
    assert WORKED_ON in visitor.get(LONG).text
    for number in rankers(own_page):
        os.kill(number, signal.SIGKILL)
    told = there(visitor, LONG)
    assert told.status == 503
    assert "ended by signal 9" in told.text
    assert f'href="{own_page.url}{LONG}"' in told.text.replace("&amp;", "&")  # to be asked again
    assert WORKED_ON in visitor.get(LONG).text


def test_other_screens_answer_while_every_ranker_is_busy(own_page: Page) -> None:
    visitor = own_page.visitor()
    asked = (LONG, "/options?job=tern-spare", "/options?job=tern-nocut", "/options?job=skua-clash")
    at_first = [visitor.get(path).text for path in asked]
    assert [visitor.get(path).status for path in ("/jobs", "/job?job=tern-nocut", "/catalog?words=ebb")] == [200] * 3
    assert any(WORKED_ON in text for text in at_first)


def test_rankers_end_with_the_page(demo_store: Path, tmp_path: Path) -> None:
    store, folder = tmp_path / "shop.duckdb", tmp_path / "tmp"
    shutil.copy(demo_store, store)
    folder.mkdir()
    page = start(store, folder=folder)
    page.visitor().get(LONG)
    found = rankers(page)
    assert len(found) >= 2
    assert [*folder.rglob("store.duckdb")] != []
    page.process.kill()  # it has no time to end anything
    page.process.communicate(timeout=30)
    for _ in range(100):
        if not any(Path(f"/proc/{number}").exists() for number in found):
            break
        time.sleep(0.1)
    assert [number for number in found if Path(f"/proc/{number}").exists()] == []
    assert [*folder.rglob("store.duckdb")] == []  # no copy of the shop's data lies about


def test_an_answer_is_for_the_job_as_it_is_now(page: Page) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    before = there(visitor, QUICK)
    job = shop.jobs.document("skua-work")
    kept = shop.jobs.save({**job.document, "limits": {**job.document["limits"], "budget": 600}}, job.mark)
    assert packages(there(visitor, QUICK)) != packages(before)
    shop.jobs.save(job.document, kept.mark)
    again = visitor.get(QUICK)  # as it was: nothing is worked out for it
    assert packages(again) == packages(before) != []


def packages(answer: Answered) -> list[str]:
    """The prices of the packages on a page."""
    return re.findall(r'class="total">(?:from )?([\d.,]+)', answer.text)


def test_a_limit_with_a_price_shows_at_once_what_would_be(own_page: Page) -> None:
    visitor, shop = own_page.visitor(), Shop(own_page.store)
    best = shop.options("skua-work", top=1).packages[0]
    shop.jobs.edit("skua-work", {"budget": f"{best.price.total - 1:.2f}"})
    there(visitor, QUICK)
    there(visitor, QUICK, "Working out the price")
    [one] = [one for one in shop.limits("skua-work").limits if one.limit == "budget"]
    assert one.package is not None
    total = f"{one.package.price.total:,.2f}"
    assert total == f"{best.price.total:,.2f}"
    lifted = visitor.get(f"{QUICK}&lift={one.limit}")
    assert one.says in lifted.text
    assert total in packages(lifted)
    assert total in packages(there(visitor, f"{QUICK}&lift={one.limit}"))


def test_a_ranking_that_is_stopped_tells_what_it_may_have_missed(demo_store: Path, tmp_path: Path) -> None:
    store = tmp_path / "shop.duckdb"
    shutil.copy(demo_store, store)
    page = start(store, "--seconds", "0.1")
    try:
        visitor = page.visitor()
        stopped = there(visitor, "/options?job=tern-nocut").text
        found = re.search(r"a missing package has at most (\d+) points", stopped)
        assert found is not None
        assert "No package meets every limit" not in stopped  # which nobody knows yet
        whole = there(visitor, "/options?job=tern-nocut&whole=1").text
        assert "no better package exists" in whole
        best = Shop(store).options("tern-nocut", remember=False).packages[0]
        assert best.score <= int(found[1])
        assert "no better package exists" in visitor.get("/options?job=tern-nocut").text  # now that it is known
    finally:
        assert "Traceback" not in stop(page)
