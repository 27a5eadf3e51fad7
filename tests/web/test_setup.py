"""Set-up entered in the bay: written down, held against its targets, and nobody's reading overwritten unasked."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import pytest

from matcher import Shop
from tests.web.conftest import Answered, Page, Visitor
from tests.web.test_boxes import marked

CHOSEN = "skua-kept"
"""A job whose amplifier feeds loudspeakers, so that it has a gain to set."""
PATH = f"/setup?job={CHOSEN}"


def form_of(answer: Answered) -> dict[str, Any]:
    """What the form carries beside what one types."""
    return {name: answer.value_of(name) for name in ("job", "choice", "seen")}


def send(visitor: Visitor, **typed: Any) -> Answered:
    """Open the form, fill it in, send it."""
    return visitor.send("/setup", **form_of(visitor.get(PATH)) | typed)


@pytest.fixture(scope="module")
def place(page: Page) -> str:
    """A place that has a gain to set."""
    shop = Shop(page.store)
    shop.choices.choose(CHOSEN, 1)
    return shop.choices.setup_record(CHOSEN).gains[0].opening_id


def values(page: Page) -> dict[str, str]:
    """What was written down so far."""
    return {one.field: one.value for one in Shop(page.store).choices.setup_record(CHOSEN).values}


def test_before_a_package_is_chosen_there_is_nothing_to_set(page: Page) -> None:
    answer = page.visitor().get("/setup?job=skua-work")
    assert "No package is chosen" in answer.text
    assert "<fieldset>" not in answer.text


def test_readings_of_the_setup_are_kept_and_judged(page: Page, place: str) -> None:
    visitor = page.visitor()
    typed = {
        f"gain_v.{place}": "1,5 V",
        f"polarity.{place}": "wrong",
        f"high_pass_hz.{place}": "80 Hz",
        f"delay_ms.{place}": "2,4",
        "rest_ma": "21",
        "step": ["28", "30", ""],
        "volts": ["2.1", "2.3", ""],
        "clean": ["yes", "no", ""],
        "by": "Bo",
    }
    answer = send(visitor, **typed)
    assert answer.status == 303, answer.text
    record = Shop(page.store).choices.setup_record(CHOSEN)
    assert (record.by, record.last_clean_step, record.clean_v) == ("Bo", Decimal(28), Decimal("2.1"))
    assert record.verdict == "no"
    shown = visitor.get(answer.headers["location"])
    assert "is saved" in shown.text
    assert "wrong: swap plus and minus" in shown.text
    assert 'value="1.5"' in shown.text
    paper = visitor.get(f"/paper?job={CHOSEN}&kind=setup&package=chosen&format=html").text
    assert "Set up and recorded" in paper
    assert all(text in paper for text in ("1.5", "High-pass, as set", "80", "2.4"))


def test_an_empty_box_keeps_the_earlier_reading(page: Page, place: str) -> None:
    visitor = page.visitor()
    send(visitor, **{f"gain_v.{place}": "1.4", "rest_ma": "20"})
    before = values(page)
    assert send(visitor, **{f"gain_v.{place}": "", "rest_ma": "", "music_a": "6"}).status == 303
    assert values(page) == before | {"music_a": "6"}


@pytest.mark.parametrize(
    ("typed", "box", "word"),
    [
        ({"rest_ma": "a lot"}, "rest_ma", "Found “a lot”; expected"),
        ({"step": ["x"], "volts": ["2"], "clean": [""]}, "step-1", "Found “x”; expected"),
        ({"step": ["30", ""], "volts": ["2", "2"], "clean": ["", ""]}, "step-2", "step of the volume"),
        ({}, "", "no reading was entered"),
    ],
)
def test_an_unreadable_value_is_refused_at_its_box_with_the_typed_text(
    page: Page, typed: dict[str, Any], box: str, word: str
) -> None:
    visitor, before = page.visitor(), Shop(page.store).choices.setup_record(CHOSEN).number
    answer = send(visitor, note="with the old meter", **typed)
    assert answer.status == 400
    assert marked(answer.text) == [box][: len(box)]
    said = re.search(rf'id="{box}-remark">(.*?)</div>' if box else "(.*)", answer.text, re.S)
    assert said is not None
    assert word in said[1]
    assert all(f'value="{text}"' in answer.text for text in (typed.get("rest_ma"), *typed.get("step", ())) if text)
    assert Shop(page.store).choices.setup_record(CHOSEN).number == before


def test_different_readings_of_two_people_both_count(page: Page) -> None:
    one, other = page.visitor(), page.visitor()
    mine = form_of(one.get(PATH))
    assert send(other, full_a="31").status == 303
    assert one.send("/setup", **mine, rest_before_ma="11").status == 303
    assert (values(page)["full_a"], values(page)["rest_before_ma"]) == ("31", "11")


def test_the_second_reading_of_the_same_thing_asks(page: Page) -> None:
    one, other = page.visitor(), page.visitor()
    mine = form_of(one.get(PATH))
    assert send(other, full_a="32").status == 303
    answer = one.send("/setup", **mine, full_a="33")
    assert answer.status == 409
    assert "Somebody else has changed this" in answer.text
    assert values(page)["full_a"] == "32"
    assert one.send("/setup", **form_of(answer), full_a="33").status == 303
    assert values(page)["full_a"] == "33"


def test_a_reading_of_another_package_is_not_taken(page: Page) -> None:
    visitor = page.visitor()
    form = form_of(visitor.get(PATH))
    Shop(page.store).choices.choose(CHOSEN, 2)
    answer = visitor.send("/setup", **form, rest_ma="17")
    assert answer.status == 400
    assert "another package was chosen" in answer.text
    assert values(page) == {}
