"""Answers that are kept: worked out once, asked again after an error, let go where nobody wants them any more."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from concurrent.futures import CancelledError
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from matcher import Shop
from matcher.errors import InputError, NotKnown, RankingLost, StoreBusy
from matcher.web.answers import AnswerCache, Asker, Urgency, Work
from matcher.web.questions import STOP, PageQuestion, Reply, question
from matcher.web.rankers import Ranker

LONG_S = 60.0
NOW, LATER = "stamp of now", "stamp of later"
ONE = Asker("one", "counter")


class Told:
    """A ranker that does as the question says, and stops where it is ended."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.on = Event()
        self.ended = Event()
        self.moved_to = ""

    def start(self) -> None:
        pass

    def ask(self, question: PageQuestion, stamp: str) -> Reply:
        name = question.given
        self.asked.append(name)
        if name.startswith("long"):
            while not (self.on.is_set() or self.ended.is_set()):
                time.sleep(0.005)
        if self.ended.is_set():
            self.ended.clear()
            raise RankingLost("ended")
        if name == "break":
            raise OSError("the disk is full")
        if name == "fault":
            return Reply(stamp, error=InputError("wrong"))
        return Reply(self.moved_to or stamp, f"{name} of {question.job_id}", size=1)

    def stop(self) -> None:
        self.on.set()

    looking = "ranking: 3 groups left"

    def end(self) -> None:
        self.ended.set()

    def close(self) -> None:
        self.end()


@pytest.fixture
def ranker() -> Told:
    return Told()


def named(name: str) -> PageQuestion:
    """A question about the one job, which the ranker of these tests knows by its name."""
    return PageQuestion(Shop.options, "job", name)


def ask(
    answers: AnswerCache, name: str, wait_s: float = LONG_S, asker: Asker = ONE, stamp: str = NOW, **facts: Any
) -> tuple[Any | None, Work]:
    """The answer to a question about the one job."""
    return answers.ask(named(name), stamp, wait_s, asker, **facts)


def test_an_answer_is_worked_out_once(ranker: Told) -> None:
    answers = AnswerCache([ranker])
    assert [ask(answers, "options")[0] for _ in range(3)] == ["options of job"] * 3
    assert ranker.asked == ["options"]
    assert answers.kept(named("options"), NOW) == "options of job"
    assert answers.kept(named("options"), LATER) is None


def test_a_slow_answer_is_announced_and_there_later(ranker: Told) -> None:
    answers = AnswerCache([ranker])
    assert ask(answers, "long", 0.0)[0] is None
    ranker.on.set()
    assert ask(answers, "long")[0] == "long of job"


def test_after_an_error_it_is_asked_again(ranker: Told) -> None:
    answers = AnswerCache([ranker])
    for _ in range(2):
        with pytest.raises(InputError, match="wrong"):
            ask(answers, "fault")
    assert ranker.asked == ["fault"] * 2


def test_whatever_breaks_is_told_and_the_next_question_is_answered(ranker: Told) -> None:
    def told(question: PageQuestion, answer: object) -> None:
        raise AssertionError(question.given)

    answers = AnswerCache([ranker], told)
    with pytest.raises(OSError, match="disk is full"):
        ask(answers, "break")
    assert [ask(answers, method)[0] for method in ("options", "why")] == ["options of job", "why of job"]


def test_an_answer_is_kept_for_the_state_that_it_was_asked_on(ranker: Told) -> None:
    answers = AnswerCache([ranker])
    ranker.moved_to = LATER
    assert ask(answers, "options")[0] is None  # the store has changed since: it is no answer to this question
    assert answers.kept(named("options"), NOW) is None
    assert answers.kept(named("options"), LATER) == "options of job"


@pytest.mark.parametrize(
    ("next_one", "goes_on"),
    [
        ({"name": "options"}, False),
        ({"name": "options", "asker": Asker("one", "another lane")}, True),
        ({"name": "options", "asker": Asker("one", "another lane"), "stamp": LATER}, False),
        ({"name": "options", "asker": Asker("other", "counter")}, True),
        ({"name": "options", "asker": Asker("other", "counter"), "stamp": LATER}, True),
    ],
    ids=["next question", "elsewhere", "the job has changed", "somebody else", "somebody else, changed"],
)
def test_a_question_ends_the_one_whose_place_it_takes(ranker: Told, next_one: dict[str, Any], goes_on: bool) -> None:
    second = Told()
    answers = AnswerCache([ranker, second])
    _, begun = ask(answers, "long", 0.1)
    assert ask(answers, **next_one)[0] == "options of job"
    if goes_on:
        time.sleep(0.1)
        assert begun.future.running()
    else:
        assert isinstance(begun.future.exception(LONG_S), CancelledError)
        ranker.on.set()
        second.on.set()
        assert ask(answers, "long", asker=Asker("other", ""))[0] == "long of job"  # it can be asked again


def test_a_shared_answer_goes_on_when_one_visitor_leaves(ranker: Told) -> None:
    answers = AnswerCache([ranker, Told()])
    ask(answers, "long", 0.1)
    _, begun = ask(answers, "long", 0.1, Asker("other", "counter"))
    ask(answers, "options")
    assert begun.future.running()
    ask(answers, "options", asker=Asker("other", "counter"))
    assert isinstance(begun.future.exception(LONG_S), CancelledError)


def test_an_answer_is_dropped_when_all_its_visitors_are_gone(ranker: Told) -> None:
    answers = AnswerCache([ranker], gone_s=0.3)
    _, begun = ask(answers, "long", 0.0)
    for _ in range(8):
        time.sleep(0.1)
        answers.seen("one")
    assert not begun.future.done()
    assert isinstance(begun.future.exception(LONG_S), CancelledError)
    assert answers.kept(named("long"), NOW) is None


def test_a_waiting_visitor_comes_before_work_ahead(ranker: Told) -> None:
    answers = AnswerCache([ranker])
    ask(answers, "long", 0.1)
    for number in range(3):
        ask(answers, f"ahead {number}", 0.0, Asker("one", f"ahead {number}"), urgency=Urgency.AHEAD)
    ask(answers, "beside", 0.0, Asker("one", "beside"), urgency=Urgency.BESIDE)
    ask(answers, "asked", 0.0, Asker("one", "asked"))
    ranker.on.set()
    ask(answers, "ahead 2", LONG_S, Asker("one", "ahead 2"))
    ask(answers, "ahead 1", LONG_S, Asker("one", "ahead 1"), urgency=Urgency.AHEAD)
    assert set(ranker.asked[1:3]) == {"asked", "ahead 2"}  # one waits for both
    assert ranker.asked[3:] == ["beside", "ahead 0", "ahead 1"]


def test_one_ranker_is_left_for_who_waits() -> None:
    rankers = [Told(), Told()]
    answers = AnswerCache(rankers)
    for number in range(3):
        ask(answers, f"long {number}", 0.0, Asker("one", number), urgency=Urgency.AHEAD)
    assert ask(answers, "options", asker=Asker("other", ""))[0] == "options of job"


def test_work_ahead_is_begun_at_once_for_a_waiting_visitor() -> None:
    answers = AnswerCache([Told(), Told()])
    _, ahead = ask(answers, "long", 0.1, Asker("one", "ahead"), urgency=Urgency.AHEAD)
    assert ahead.future.running()
    assert ask(answers, "options", 0.1, Asker("one", "next"), urgency=Urgency.AHEAD)[0] is None  # one is left free
    assert ask(answers, "options", 5.0, Asker("one", "counter"))[0] == "options of job"


def test_the_answer_asked_longest_ago_is_dropped_first(ranker: Told, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("matcher.web.answers.MOST_BYTES", 3)
    answers = AnswerCache([ranker])
    for number in range(5):
        ask(answers, f"{number}")
        ask(answers, "0")
    kept = [number for number in range(5) if answers.kept(named(f"{number}"), NOW)]
    assert kept == [0, 3, 4]


# The process itself


@pytest.fixture
def shop(demo_store: Path, tmp_path: Path) -> Shop:
    shutil.copy(demo_store, tmp_path / "shop.duckdb")
    return Shop(tmp_path / "shop.duckdb")


@pytest.fixture
def process(shop: Shop, tmp_path: Path) -> Iterator[Ranker]:
    folder = tmp_path / "0"
    folder.mkdir()
    ranker = Ranker(shop, folder)
    yield ranker
    ranker.close()


RADIO = question(Shop.options, "dunlin-radio", top=2, remember=False)


def test_a_process_answers_as_the_shop_does_and_sees_every_change(shop: Shop, process: Ranker) -> None:
    work = question(Shop.options, "skua-work", top=2, remember=False)
    reply = process.ask(work, work.stamp(shop))
    assert (reply.stamp, reply.error) == (work.stamp(shop), None)
    assert reply.answer.packages == shop.options("skua-work", top=2, remember=False).packages
    job = shop.jobs.document("skua-work")
    shop.jobs.save({**job.document, "limits": {"budget": 700}}, job.mark)
    changed = process.ask(work, work.stamp(shop))
    assert changed.stamp == work.stamp(shop) != reply.stamp
    assert changed.answer.packages == shop.options("skua-work", top=2, remember=False).packages
    assert changed.answer.packages != reply.answer.packages


def test_an_error_comes_back_with_its_facts(shop: Shop, process: Ranker) -> None:
    reply = process.ask(question(Shop.why, "dunlin-radio", part="nowhere"), RADIO.stamp(shop))
    assert isinstance(reply.error, NotKnown)
    assert (reply.error.kind, reply.error.name) == ("part", "nowhere")
    assert str(reply.error) == str(NotKnown("part", "nowhere", [])).splitlines()[0] + f"\nfix: {reply.error.fix}"


def test_a_process_that_was_killed_is_told_of_and_followed_by_another(shop: Shop, process: Ranker) -> None:
    process.start()
    assert process._process is not None
    process._process[0].kill()
    process._process[0].join()
    assert process.ask(RADIO, RADIO.stamp(shop)).error is None  # it was at nothing: nobody need know
    answers = AnswerCache([process])
    asked = question(Shop.measure, "tern-nocut")
    _, begun = answers.ask(asked, asked.stamp(shop), 2.0, ONE)
    assert begun.future.running()
    process._process[0].kill()
    with pytest.raises(RankingLost, match="signal 9"):
        begun.future.result(LONG_S)
    assert answers.ask(RADIO, RADIO.stamp(shop), LONG_S, ONE)[0] is not None


def test_a_question_dropped_during_its_copy_reaches_no_process(
    shop: Shop, process: Ranker, monkeypatch: pytest.MonkeyPatch
) -> None:
    copied = shop.maintenance.lend

    def lend(target: Path) -> None:
        copied(target)
        process.end()

    monkeypatch.setattr(shop.maintenance, "lend", lend)
    process.start()
    with pytest.raises(RankingLost, match="nobody waits"):
        process.ask(RADIO, RADIO.stamp(shop))
    monkeypatch.undo()
    process.start()
    assert process.ask(RADIO, RADIO.stamp(shop)).error is None


def test_a_process_ends_with_the_page(shop: Shop, process: Ranker) -> None:
    process.ask(RADIO, RADIO.stamp(shop))
    assert process._process is not None
    running, connection = process._process
    connection.close()  # as the system closes it when the page is killed
    running.join(LONG_S)
    assert running.exitcode == 0


def test_a_process_reaches_its_own_copy_alone(shop: Shop, process: Ranker) -> None:
    process.ask(RADIO, RADIO.stamp(shop))
    assert [path.name for path in process.copy.parent.iterdir() if path.is_file()] == ["store.duckdb"]
    before = shop.store.path.stat().st_mtime_ns
    process.ask(question(Shop.limits, "skua-work"), question(Shop.limits, "skua-work").stamp(shop))
    assert shop.store.path.stat().st_mtime_ns == before


class Busy(Told):
    """A ranker whose store is always busy."""

    def ask(self, question: PageQuestion, stamp: str) -> Reply:
        raise StoreBusy("the store is worked with")


def test_a_busy_store_is_reported_after_the_time_that_visitors_wait() -> None:
    answers, begun = AnswerCache([Busy()], gone_s=1.0), time.monotonic()
    with pytest.raises(StoreBusy):
        while time.monotonic() - begun < LONG_S:
            answers.seen(ONE.visitor)
            ask(answers, "options", wait_s=0.1)
    answers.close()
    assert 1 <= time.monotonic() - begun < LONG_S


def test_a_search_is_ended_with_what_it_has_by_the_only_one_who_waits(ranker: Told) -> None:
    answers = AnswerCache([ranker])
    _, one = ask(answers, "long", 0.0)
    while one.ranker is None:
        time.sleep(0.005)
    assert one.looking == "ranking: 3 groups left"
    answers.stop("somebody else", one.question.job_id)
    assert not ranker.on.is_set()
    answers.stop(ONE.visitor, one.question.job_id)
    assert one.future.result(LONG_S) == "long of job"


def test_a_ranking_that_is_stopped_keeps_what_it_has(demo_store: Path, tmp_path: Path) -> None:
    shop, asked = Shop(demo_store), question(Shop.options, "tern-nocut", remember=False)
    (tmp_path / STOP).touch()
    assert not asked.ask(shop, tmp_path).complete
    (tmp_path / STOP).unlink()
    assert asked.ask(shop, tmp_path).complete
