"""Many at once: nothing that was answered "done" is lost, and nobody's change without a word."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from matcher import Shop
from matcher.errors import StoreBusy
from tests.web.conftest import Page, start, stop
from tests.web.counters import lost, sheet_of, work

COUNTERS = 20
TURNS = 4


def test_twenty_counters_lose_nothing(page: Page) -> None:
    counters = work(page, COUNTERS, lambda counter: counter.done < TURNS)
    assert [line for counter in counters for line in counter.wrong] == []
    assert lost(page, counters) == []


JOB = "/job?job=skua-work"


def test_changes_of_different_boxes_are_both_kept_and_reported(page: Page) -> None:
    one, other = page.visitor(), page.visitor()
    mine, theirs = sheet_of(one.get(JOB)), sheet_of(other.get(JOB))
    assert other.post(JOB, theirs | {"budget": ["1234"]}).status == 200
    answer = one.post(JOB, mine | {"label": ["Mine"]})
    assert answer.status == 200
    assert "both changes are kept" in answer.text
    assert "1234" in answer.text
    document = Shop(page.store).jobs.document("skua-work").document
    assert (document["label"], document["limits"]["budget"]) == ("Mine", 1234)


def test_the_second_change_of_a_box_asks_and_loses_nothing(page: Page) -> None:
    one, other = page.visitor(), page.visitor()
    mine, theirs = sheet_of(one.get(JOB)), sheet_of(other.get(JOB))
    assert other.post(JOB, theirs | {"notes": ["theirs"]}).status == 200
    answer = one.post(JOB, mine | {"notes": ["mine"], "budget": ["4321"]})
    assert answer.status == 409
    assert "Somebody else has changed this" in answer.text
    again = sheet_of(answer)
    assert (again["notes"], again["budget"]) == (["mine"], ["4321"])  # what I typed is still there
    assert Shop(page.store).jobs.document("skua-work").document["notes"] == "theirs"  # and theirs until I say so
    assert one.post(JOB, again).status == 200
    document = Shop(page.store).jobs.document("skua-work").document
    assert (document["notes"], document["limits"]["budget"]) == ("mine", 4321)


def test_a_box_that_cannot_be_read_is_refused_with_what_was_typed(page: Page) -> None:
    visitor = page.visitor()
    answer = visitor.post(JOB, sheet_of(visitor.get(JOB)) | {"budget": ["a lot"]})
    assert answer.status == 400
    assert sheet_of(answer)["budget"] == ["a lot"]
    assert "Found “a lot”; expected an amount" in answer.text
    assert answer.text.count('aria-invalid="true"') == 1


OPENING = "/opening?vehicle=tern-8&opening=dash"


def test_two_who_measure_one_opening_both_count(page: Page) -> None:
    one, other = page.visitor(), page.visitor()
    mine, theirs = sheet_of(one.get(OPENING)), sheet_of(other.get(OPENING))
    assert other.post(OPENING, theirs | {"box:depth_mm": ["171 ± 0.5"]}).status == 200
    assert one.post(OPENING, mine | {"box:w_mm": ["7 1/4 in"]}).status == 200
    [opening] = [
        one for one in Shop(page.store).vehicles.get("tern-8").document["openings"] if one["opening_id"] == "dash"
    ]
    assert (float(opening["depth_mm"]), float(opening["depth_mm_tol"])) == (171, 0.5)
    assert float(opening["w_mm"]) == pytest.approx(184.15)


@pytest.mark.parametrize("command", [("fit", "00146", "tern-8/dash-top"), ("reading", "list"), ("catalog", "show")])
def test_commands_work_beside_the_page(page: Page, command: tuple[str, ...]) -> None:
    page.visitor().get("/jobs")
    run = "from matcher.commands import main; main()"
    asked = [sys.executable, "-c", run, *command, "--store", str(page.store)]
    ended = subprocess.run(asked, capture_output=True, text=True, timeout=60)
    assert ended.returncode == 0, ended.stderr


def test_two_changes_that_meet_in_the_database_are_no_fault_of_the_store(demo_store: Path, tmp_path: Path) -> None:
    store = tmp_path / "shop.duckdb"
    store.write_bytes(demo_store.read_bytes())
    shop = Shop(store)
    with shop.store.reading() as con:
        con.execute("begin transaction")
        con.execute("update opening_speaker set depth_mm = 1 where vehicle_id = 'skua-p'")
        with pytest.raises(StoreBusy, match="worked with"):
            shop.readings.add("opening:skua-p/door", "depth_mm", 60)
        con.execute("rollback")
    shop.readings.add("opening:skua-p/door", "depth_mm", 60)


HOLD = """
import duckdb, sys, time
while True:
    try:
        con = duckdb.connect(sys.argv[1])
        break
    except duckdb.IOException:  # the page has it open for a moment
        time.sleep(0.02)
print("held", flush=True)
sys.stdin.read()
"""


@contextmanager
def held(store: Path) -> Iterator[int]:
    """Another process that holds the store; its number."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(store)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as holder:
        assert holder.stdout is not None
        holder.stdout.readline()
        yield holder.pid
        holder.communicate()


def test_while_another_process_holds_the_store_the_page_says_who(page: Page) -> None:
    with held(page.store) as number:
        answer = page.visitor().get("/jobs")
    assert answer.status == 503
    assert str(number) in answer.text
    assert page.visitor().get("/jobs").status == 200


def test_a_form_sent_to_a_held_store_can_be_sent_again(page: Page) -> None:
    visitor = page.visitor()
    form = sheet_of(visitor.get(JOB)) | {"notes": ["written while it was held"]}
    with held(page.store):
        answer = visitor.post(JOB, form)
    assert answer.status == 503
    assert "written while it was held" in answer.text
    assert visitor.post(JOB, form).status == 200


def test_told_to_end_it_ends_at_once_and_leaves_nothing_behind(demo_store: Path, tmp_path: Path) -> None:
    store, folder = tmp_path / "shop.duckdb", tmp_path / "tmp"
    store.write_bytes(demo_store.read_bytes())
    folder.mkdir()
    page = start(store, folder=folder)
    page.visitor().get("/options?job=tern-nocut")  # a ranking that is worked on
    assert list(folder.iterdir()) != []
    assert "Traceback" not in stop(page)
    assert page.process.returncode == 0
    assert list(folder.iterdir()) == []


LOSING = """
from matcher.errors import RankingLost
from matcher.web import app
def losing(request, form):
    raise RankingLost("the process that worked on it has ended", fix="ask again")
app.FORMS["/choose"] = losing
"""
"""A page on which nothing can be worked out."""


def test_a_lost_answer_keeps_the_typed_values(demo_store: Path, tmp_path: Path) -> None:
    page = start(Path(shutil.copy(demo_store, tmp_path / "shop.duckdb")), before=LOSING)
    answer = page.visitor().send("/choose", job="skua-work", note='as "agreed"')
    stop(page)
    assert answer.status == 503
    assert "the process that worked on it has ended" in answer.text
    assert "nothing of what you entered is lost" in answer.text
    assert (answer.value_of("job"), answer.value_of("note")) == ("skua-work", 'as "agreed"')
