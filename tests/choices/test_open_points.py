"""What is open keeps a job from being ordered and signed off: every point is listed, and going on is logged."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from matcher import Shop
from matcher.commands import main
from matcher.errors import InputError, StillOpen
from matcher.store.documents.saving import save_job
from tests.choices.conftest import AMP, CAR, HEAD, JOB, SPEAKER
from tests.factories import Bench, plain, store_file, withdraw

SET_UP = {"gain_v.door": "14", "polarity.door": "right", "clean_v": "2", "music_a": "3", "rest_ma": "3"}
"""A whole set-up of the shop's job, every value within its target."""


@pytest.fixture
def chosen(shop: Bench) -> Bench:
    """The shop with its best package chosen: nothing of it is open."""
    shop.choices.choose("j1", 1)
    return shop


def lose_a_part(shop: Bench) -> None:
    withdraw(shop.con, "speaker", "speaker-1")


def lose_a_figure(shop: Bench) -> None:
    shop.lay(SPEAKER | {"depth_mm": None})


def take_the_depth(shop: Bench) -> None:
    shop.readings.add("opening:tern/door", "depth_mm", 40)


def loosen(shop: Bench) -> None:
    shop.readings.add("opening:tern/door", "depth_mm", 63, tol=5)


def raise_the_price(shop: Bench) -> None:
    shop.lay(SPEAKER | {"price": 200})


OPEN: dict[str, tuple[Callable[[Bench], None], list[tuple[str, str]], str]] = {
    "nothing": (lambda shop: None, [], ""),
    "a part was withdrawn": (lose_a_part, [("withdrawn", "speaker-1")], "part speaker-1 was withdrawn"),
    "a figure is not known": (lose_a_figure, [("figure", "part:speaker-1.depth_mm")], "depth_mm is not known: "),
    "a figure is loose": (
        loosen,
        [("figure", "part:speaker-1.depth_mm"), ("figure", "opening:tern/door.depth_mm")],
        "depth_mm is not known closely enough",
    ),
    "a rule says no now": (take_the_depth, [("breaks", "speaker.depth")], "door: "),
    "the budget is passed now": (raise_the_price, [("breaks", "limit.budget")], "budget"),
}


@pytest.mark.parametrize(("change", "points", "word"), OPEN.values(), ids=OPEN)
def test_open_points_before_an_order(
    chosen: Bench, change: Callable[[Bench], None], points: list[tuple[str, str]], word: str
) -> None:
    change(chosen)
    found = chosen.orders.open_points("j1")
    assert sorted((point.what, point.subject) for point in found) == sorted(points)
    assert word in " ".join(point.says for point in found)
    if not points:
        assert [sheet.name for sheet in chosen.orders.sheets("j1")] == ["order", "suppliers"]
        return
    with pytest.raises(StillOpen) as refused:
        chosen.orders.sheets("j1")
    assert all(point.says in str(refused.value) for point in found)
    assert "--anyway --note" in str(refused.value)


def test_every_point_is_listed_however_many_there_are(chosen: Bench) -> None:
    points = chosen.choices.open_to_sign("j1") * 30
    assert str(StillOpen("j1", "ordered", points)).count("\n  - ") == len(points) == 30


def test_going_on_needs_a_reason(chosen: Bench) -> None:
    lose_a_figure(chosen)
    for note in (None, "  "):
        with pytest.raises(InputError, match="no reason is given"):
            chosen.orders.sheets("j1", anyway=True, note=note)
    # The log goes by the clock, which may step: the order of its entries is not asked.
    assert {entry.what for entry in chosen.log("j1").entries} == {"vehicle load", "job load", "choose"}


def test_an_order_that_goes_on_is_logged_and_says_so(chosen: Bench, tmp_path: Path) -> None:
    lose_a_figure(chosen)
    sheets = chosen.orders.sheets("j1", anyway=True, note="the customer waits", by="Ida")
    assert sheets[-1].rows()[0]["ordered anyway because"] == "the customer waits"
    last = chosen.log("j1").entries[-1]
    assert (last.by, last.what, last.subject) == ("Ida", "order anyway", "job:j1")
    assert last.detail == "the customer waits (open: figure part:speaker-1.depth_mm)"
    (went_on,) = chosen.choices.went_on("j1")
    assert (went_on.what, went_on.note, went_on.points) == (
        "order",
        "the customer waits",
        chosen.orders.open_points("j1"),
    )


def test_nothing_chosen_can_neither_be_ordered_nor_signed(shop: Bench) -> None:
    with pytest.raises(InputError, match="nothing was chosen"):
        shop.orders.sheets("j1", anyway=True, note="in a hurry")
    with pytest.raises(StillOpen, match="1 point is open") as refused:
        shop.choices.sign("j1", by="Ida")
    assert [point.what for point in refused.value.points] == ["nothing chosen"]


def test_a_whole_set_up_lets_a_job_be_signed(chosen: Bench) -> None:
    (point,) = chosen.choices.open_to_sign("j1")
    assert point.what == "set-up" and "polarity at door" in point.says
    chosen.choices.set_up("j1", values=SET_UP)
    assert chosen.choices.open_to_sign("j1") == []
    chosen.choices.sign("j1", by="Ida")
    assert chosen.choices.went_on("j1") == []


@pytest.mark.parametrize(
    ("value", "subject"), [({"polarity.door": "wrong"}, "polarity"), ({"gain_v.door": "15.5"}, "gain_v.door")]
)
def test_a_set_up_that_is_off_keeps_a_job_open(chosen: Bench, value: dict[str, str], subject: str) -> None:
    chosen.choices.set_up("j1", values=SET_UP | value)
    assert [(point.what, point.subject) for point in chosen.choices.open_to_sign("j1")] == [("set-up", subject)]


def test_a_signature_that_goes_on_is_logged_with_what_is_open(chosen: Bench) -> None:
    chosen.choices.sign("j1", by="Ida", anyway=True, note="set up tomorrow")
    logged = [(one.what, one.by) for one in chosen.log("j1").entries]
    assert [one for one in logged if one[0] != "reading"][-2:] == [("sign anyway", "Ida"), ("sign", "Ida")]
    assert ("reading", "Ida") in logged, "what was fitted is evidence from now on"


def test_the_command_lists_what_is_open_and_ends_with_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    store = store_file(tmp_path / "shop.duckdb", HEAD, AMP, SPEAKER | {"depth_mm": None}, CAR)
    with Shop(store).store.changing() as con:
        save_job(con, json.dumps(JOB, default=plain), "test.json")
    Shop(store).choices.choose("j1", 1)
    asked, anyway = ("--store", str(store)), ("--anyway", "--note", "as agreed")
    assert run(monkeypatch, "order", "j1", *anyway, "--out", str(tmp_path / "order.txt"), *asked) == 2
    capsys.readouterr()
    for command in (("order", "j1"), ("sign", "j1", "--by", "Ida")):
        assert run(monkeypatch, *command, *asked) == 2
        told = capsys.readouterr()
        assert told.out == ""
        assert "  - part:speaker-1.depth_mm is not known: boltback reading add part:speaker-1 depth_mm" in told.err
        assert run(monkeypatch, *command, *anyway, *asked) == 0
        capsys.readouterr()
    logged = [one.what for one in Shop(store).log("j1").entries]
    assert logged[-5:] == ["order anyway", "sign anyway", "reading", "reading", "sign"]  # both parts are fitted
    assert logged.count("order anyway") == 1, "an order that could not be written is not in the log"


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    """A command as it is typed; its exit code."""
    monkeypatch.setattr(sys, "argv", ["boltback", *arguments])
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)
