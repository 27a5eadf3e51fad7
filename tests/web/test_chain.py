"""Two counters of a chain, each with a page of its own."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from matcher import Shop
from tests.postgres import Postgres
from tests.web.conftest import Page, start, stop
from tests.web.counters import lost, sheet_of, work

COUNTERS = 4
TURNS = 4
JOB = "/job?job=skua-work"


@pytest.fixture(scope="module")
def pages(
    demo_store: Path, postgres: Postgres, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Page, Page]]:
    """The pages of two counters of one chain, with the demo's catalog, cars and jobs."""
    served = []
    with postgres.lent() as lend:
        address, folder = lend(), tmp_path_factory.mktemp("chain")
        for name in ("one", "other"):
            store = Path(shutil.copy(demo_store, folder / f"{name}.duckdb"))
            Shop(store).sharing.join(address)
            served.append(start(store))
        one, other = served
        yield one, other
        said = [stop(page) for page in served]
    assert not any("Traceback" in text for text in said), said


def test_counters_at_two_pages_lose_nothing(pages: tuple[Page, Page]) -> None:
    one, other = pages
    counters = work(one, COUNTERS, lambda counter: counter.done < TURNS, other)
    assert [line for counter in counters for line in counter.wrong] == []
    assert lost(one, counters) == lost(other, counters) == []
    assert Shop(one.store).maintenance.check().problems == Shop(other.store).maintenance.check().problems == []


def test_a_stale_sheet_at_another_page_asks(pages: tuple[Page, Page]) -> None:
    here, there = (page.visitor() for page in pages)
    mine, theirs = sheet_of(here.get(JOB)), sheet_of(there.get(JOB))
    assert there.post(JOB, theirs | {"notes": ["theirs"], "budget": ["1234"]}).status == 200
    answer = here.post(JOB, mine | {"notes": ["mine"]})
    assert (answer.status, sheet_of(answer)["notes"]) == (409, ["mine"])
    assert Shop(pages[0].store).jobs.document("skua-work").document["notes"] == "theirs"
    assert here.post(JOB, sheet_of(answer)).status == 200
    document = Shop(pages[1].store).jobs.document("skua-work").document
    assert (document["notes"], document["limits"]["budget"]) == ("mine", 1234)


def test_a_page_whose_chain_is_gone_says_so(pages: tuple[Page, Page], postgres: Postgres) -> None:
    one, _ = pages
    visitor = one.visitor()
    token = visitor.get("/vehicles").token
    with Shop(one.store).store.changing_alone() as con:
        ((address,),) = con.execute("select address from chain").fetchall()
        con.execute("update chain set address = ?", [address.replace(str(postgres.port), "1")])
    answer = visitor.get("/jobs")
    assert answer.status == 503
    assert "does not answer: connection refused" in answer.text
    assert "see that its server runs" in answer.text
    sent = visitor.post("/vehicles", {"token": token, "vehicle_id": "gannet", "label": "typed & kept"})
    assert (sent.status, "does not answer: connection refused" in sent.text) == (503, True)
    assert "it is below, to be sent again when it answers" in sent.text
    assert (sent.value_of("vehicle_id"), sent.value_of("label")) == ("gannet", "typed & kept")
    with Shop(one.store).store.changing_alone() as con:
        con.execute("update chain set address = ?", [address])
    assert visitor.get("/jobs").status == 200
