"""Answers that are kept: worked out once, asked again after an error, let go where nobody wants them any more."""

from __future__ import annotations

from threading import Event

import pytest

from matcher.web.answers import WORKERS, Answers

LONG_S = 30.0


@pytest.fixture
def answers() -> Answers:
    """Nothing asked yet."""
    return Answers()


def test_an_answer_is_worked_out_once(answers: Answers) -> None:
    asked: list[int] = []
    for _ in range(3):
        assert answers.ask("key", lambda: asked.append(1) or "answer", LONG_S)[0] == "answer"
    assert asked == [1]


def test_what_takes_long_is_told_and_there_later(answers: Answers) -> None:
    done = Event()
    assert answers.ask("key", lambda: done.wait(LONG_S), 0.0)[0] is None
    done.set()
    assert answers.ask("key", lambda: False, LONG_S)[0] is True


def test_after_an_error_it_is_asked_again(answers: Answers) -> None:
    with pytest.raises(ZeroDivisionError):
        answers.ask("key", lambda: 1 // 0, LONG_S)
    assert answers.ask("key", lambda: "answer", LONG_S)[0] == "answer"


def test_of_one_asking_after_the_other_only_the_last_is_worked_out(answers: Answers) -> None:
    done, asked = Event(), []
    for number in range(WORKERS):
        answers.ask(f"busy {number}", lambda: done.wait(LONG_S), 0.0)
    for weight in range(5):
        answers.ask(weight, lambda weight=weight: asked.append(weight), 0.0, lane="one counter")
    answers.ask("other", lambda: asked.append("other"), 0.0, lane="another counter")
    done.set()
    answers.ask("other", lambda: None, LONG_S)
    answers.ask(4, lambda: None, LONG_S)
    assert asked == [4, "other"]
