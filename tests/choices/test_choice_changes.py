"""A package that was fixed to a job, and what is told of it when something has changed since."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

import pytest

from catalog_schema.choices import Choice, ChoiceChanges
from catalog_schema.plain import from_plain
from matcher.errors import InputError
from tests.choices.conftest import AMP, CAR, DEARER, HEAD, JOB, SPEAKER, THINGS, make_shop, take_job
from tests.factories import Bench, Row, dash_opening, speaker_opening, withdraw

Told = set[tuple[str, str, str]]


def test_a_choice_is_the_whole_package_with_what_it_relied_on(shop: Bench) -> None:
    package = shop.options("j1").packages[0]
    choice = shop.choices.choose("j1", 1, note="agreed on Monday", by="Ada")
    assert choice.package == package
    assert (choice.number, choice.rank, choice.by, choice.note) == (1, 1, "Ada", "agreed on Monday")
    assert {part.part_id: (part.qty, part.price) for part in choice.parts} == {
        "head_unit-1": (1, 100),
        "speaker-1": (2, 100),
        "amplifier-1": (1, 100),
    }
    relied = {(one.subject, one.field): (one.value, one.basis, one.measured) for one in choice.figures}
    assert relied["part:speaker-1", "depth_mm"] == ("60", "maker", False)
    assert relied["opening:tern/door", "depth_mm"] == ("70", "measured", False)
    assert relied["vehicle:tern", "charge_a"][0] == "90"
    assert ("part:speaker-1", "price") not in relied


def test_a_choice_is_read_back_as_it_was_made(shop: Bench) -> None:
    choice = shop.choices.choose("j1", 1)
    assert shop.choices.latest("j1") == choice
    assert from_plain(Choice, choice.to_dict()) == choice


def test_choosing_again_takes_its_place_and_loses_nothing(shop: Bench) -> None:
    shop.choices.choose("j1", 2, by="Ada")
    shop.choices.choose("j1", 1, by="Bo")
    assert [(one.number, one.rank, one.by) for one in shop.choices.all("j1")] == [(1, 2, "Ada"), (2, 1, "Bo")]
    assert shop.choices.chosen("j1").rank == 1


@pytest.mark.parametrize(("rank", "job", "word"), [(3, "j1", "no package 3; it has 2"), (1, "j2", "no job 'j2'")])
def test_a_package_that_is_not_there_cannot_be_chosen(shop: Bench, rank: int, job: str, word: str) -> None:
    with pytest.raises(InputError, match=word):
        shop.choices.choose(job, rank)
    assert shop.choices.all("j1") == []


def test_a_job_for_which_nothing_was_chosen_says_so(shop: Bench) -> None:
    assert shop.choices.latest("j1") is None
    with pytest.raises(InputError, match="nothing was chosen for the job j1 yet"):
        shop.choices.changes("j1")


def lay(*things: Row) -> Callable[[Bench], None]:
    return lambda shop: shop.lay(*things)


def measure(subject: str, field: str, value: object) -> Callable[[Bench], object]:
    return lambda shop: shop.readings.add(subject, field, value)


def part_withdrawn(shop: Bench) -> None:
    withdraw(shop.con, "speaker", "speaker-1")


def fewer_channels(shop: Bench) -> None:
    shop.lay(AMP | {"full_channels": 1})


CHANGES: dict[str, tuple[Callable[[Bench], object], Told, bool, str]] = {
    "nothing": (lambda shop: None, set(), True, "fits"),
    "a price that fell": (lay(SPEAKER | {"price": 98}), {("price", "part:speaker-1", "price")}, True, "fits"),
    "a price exactly at the budget": (
        lay(HEAD | {"price": 110}),
        {("price", "part:head_unit-1", "price")},
        True,
        "fits",
    ),
    "a price over the budget": (
        lay(HEAD | {"price": 110.01}),
        {("price", "part:head_unit-1", "price"), ("breaks", "whole", "limit.budget")},
        False,
        "no",
    ),
    "an hour of fitting that became dearer": (
        lambda shop: shop.set("labour_rate", 1) or shop.lay(HEAD | {"labour_h": 2}),
        {("figure", "part:head_unit-1", "labour_h"), ("price", "job:j1", "labour")},
        True,
        "fits",
    ),
    "a part that was withdrawn": (
        part_withdrawn,
        {("withdrawn", "part:speaker-1", "part_id"), ("better", "job:j1", "package")},
        False,
        "fits",
    ),
    "a claim that still fits": (
        lay(SPEAKER | {"depth_mm": 61}),
        {("figure", "part:speaker-1", "depth_mm")},
        True,
        "fits",
    ),
    "a claim that does not fit": (
        lay(SPEAKER | {"depth_mm": 80}),
        {
            ("figure", "part:speaker-1", "depth_mm"),
            ("breaks", "door", "speaker.depth"),
            ("better", "job:j1", "package"),
        },
        False,
        "no",
    ),
    "a claim that was taken back": (
        lay(SPEAKER | {"depth_mm": None}),
        {("figure", "part:speaker-1", "depth_mm"), ("opens", "door", "speaker.depth"), ("better", "job:j1", "package")},
        False,
        "measure",
    ),
    "a reading that breaks a check": (
        measure("opening:tern/door", "depth_mm", 50),
        {("reading", "opening:tern/door", "depth_mm"), ("breaks", "door", "speaker.depth")},
        False,
        "no",
    ),
    "a reading that breaks the line level": (
        measure("part:head_unit-1", "preout_v", "0.5"),
        {("reading", "part:head_unit-1", "preout_v"), ("breaks", "amplifier", "line_level.least")},
        False,
        "no",
    ),
    "a load under what the amplifier bears": (
        lay(SPEAKER | {"impedance_ohm": 1}),
        {
            ("figure", "part:speaker-1", "impedance_ohm"),
            ("breaks", "door", "amplifier.load"),
            ("opens", "door", "amplifier.power_least"),
            ("opens", "door", "amplifier.power_most"),
            ("better", "job:j1", "package"),
        },
        False,
        "no",
    ),
    "channels that are gone": (
        fewer_channels,
        {("figure", "part:amplifier-1", "full_channels"), ("lost", "job:j1", "package")},
        False,
        "no",
    ),
    "drain over the limit": (
        measure("part:amplifier-1", "standby_ma", 30),
        {("reading", "part:amplifier-1", "standby_ma"), ("breaks", "whole", "supply.at_rest")},
        False,
        "no",
    ),
    "a job with a smaller budget": (
        lambda shop: take_job(shop, JOB | {"limits": {"budget": 399, "at_rest_ma": 20}}),
        {("breaks", "whole", "limit.budget")},
        False,
        "no",
    ),
    "a better part in the catalog": (
        lay(SPEAKER | {"part_id": "louder", "sens_db": 96}),
        {("better", "job:j1", "package")},
        True,
        "fits",
    ),
    "a worse part in the catalog": (
        lay(SPEAKER | {"part_id": "quieter", "sens_db": 80, "xmax_mm": 2}),
        set(),
        True,
        "fits",
    ),
}


def told(changes: ChoiceChanges) -> Told:
    return {(one.what, one.subject, one.name) for one in changes.changes}


@pytest.fixture(scope="module")
def chosen_once() -> Iterator[Bench]:
    """A shop in which package 1 was chosen."""
    made = make_shop()
    made.choices.choose("j1", 1)
    yield made
    made.con.close()


@pytest.fixture
def chosen(chosen_once: Bench) -> Bench:
    """The same, with everything as it was then."""
    chosen_once.con.execute(
        "delete from reading; delete from head_unit_patched; delete from amplifier_patched; "
        "delete from setting; delete from speaker_rows where part_id in ('louder', 'quieter')"
    )
    chosen_once.lay(*THINGS)
    take_job(chosen_once, JOB)
    return chosen_once


@pytest.mark.parametrize(("change", "expected", "stands", "verdict"), CHANGES.values(), ids=CHANGES)
def test_changes_since_a_choice(
    chosen: Bench, change: Callable[[Bench], object], expected: Told, stands: bool, verdict: str
) -> None:
    change(chosen)
    found = chosen.choices.changes("j1")
    assert (told(found), found.stands, found.verdict_now) == (expected, stands, verdict)
    assert all(one.says for one in found.changes)


def test_asking_leaves_nothing_behind(chosen: Bench) -> None:
    chosen.lay(SPEAKER | {"depth_mm": 80})
    assert chosen.choices.changes("j1") == chosen.choices.changes("j1")


def test_a_price_that_moved_is_told_with_both_totals(shop: Bench) -> None:
    shop.choices.choose("j1", 1)
    shop.lay(HEAD | {"price": Decimal("89.50")})
    found = shop.choices.changes("j1")
    assert (found.total_then, found.total_now) == (400, Decimal("389.5"))
    assert [(one.before, one.after) for one in found.changes] == [("100.00", "89.50")]


def test_a_check_that_is_cleared_by_a_reading(shop: Bench) -> None:
    shop.lay(CAR | {"openings": [dash_opening(), speaker_opening(depth_mm=None), CAR["openings"][2]]})
    shop.choices.choose("j1", 1)
    shop.readings.add("opening:tern/door", "depth_mm", 70)
    found = shop.choices.changes("j1")
    assert told(found) == {("reading", "opening:tern/door", "depth_mm"), ("clears", "door", "speaker.depth")}
    assert (found.verdict_then, found.verdict_now, found.stands) == ("measure", "fits", True)


def test_a_package_better_at_the_time_of_the_choice_is_no_news(shop: Bench) -> None:
    """Package 2 was chosen with package 1 in sight."""
    take_job(shop, JOB | {"limits": {"budget": 500, "at_rest_ma": 20}})
    shop.choices.choose("j1", 2)
    assert shop.choices.latest("j1").package.lines[1].part_id == DEARER["part_id"]  # type: ignore[union-attr]
    assert told(shop.choices.changes("j1")) == set()
    shop.lay(SPEAKER | {"part_id": "louder", "sens_db": 96})
    assert told(shop.choices.changes("j1")) == {("better", "job:j1", "package")}
