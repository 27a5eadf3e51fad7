"""Trade-offs: the stock size against a larger one that wants metal cut, every figure worked by hand."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from catalog_schema.answers import TradeOff
from tests.factories import Row, amp_spot, amplifier, dash_opening, head_unit, job, speaker, speaker_opening
from tests.search.shops import METAL, Store

D = Decimal

RADIO = head_unit(amp_channels=4, amp_w=25, amp_min_ohm=4, standby_ma=1)
FREE = {"sd_cm2": 800, "xmax_mm": 12}
"""A cone whose travel sets no limit."""
STOCK = speaker(
    **FREE, part_id="stock", front_mm=0, sens_db=90, sens_basis="1w", low_hz=80, price=50, pack_of=2, rms_w=25
)
LARGE = speaker(
    **FREE,
    part_id="large",
    front_mm=0,
    cutout_w_mm=165,
    flange_w_mm=180,
    bolt_circle_mm=156,
    sens_db=93,
    sens_basis="1w",
    low_hz=50,
    price=120,
    pack_of=2,
    rms_w=25,
)
"""Through a hole of 145 mm in steel that could be cut to 172 mm."""

LOW, LOUD = {"loudness": 0}, {"bass": 0}
"""Wishes by which reach alone counts, or loudness alone."""


def given_up(store: Store, *parts: Row, opening: Row | None = None, **asked: Any) -> list[TradeOff]:
    """The trade-offs of the best package."""
    whole = opening or speaker_opening(cut=METAL)
    store.lay_town([RADIO, *parts], [dash_opening(), whole]).job(job(**asked))
    return store.options("j1", top=1).packages[0].tradeoffs


def test_the_larger_one_is_louder_and_lower_and_costs_metal(store: Store) -> None:
    (told,) = given_up(store, STOCK, LARGE)
    assert (told.opening_id, told.chosen, told.instead) == ("door", "stock", "large")
    assert told.needs.alteration == "metal_cut"
    assert told.needs.cut is not None
    assert (told.needs.cut.w_mm, told.needs.cut.h_mm, told.needs.cut.material) == (D(165), D(165), "steel")
    # Both get the 25 W that they are rated for: 93 less 90 dB, 80 less 50 Hz, a pack of 120 for one of 50.
    assert (told.gains_db, told.gains_hz, told.price) == (D(3), D(30), D(70))


# what is another at the larger one: decibels, hertz and price that it then gains
@pytest.mark.parametrize(
    ("changes", "db", "hz", "price"),
    [
        ({"rms_w": 20}, "2.03", "30", "70"),  # it takes 20 W: 9300 + 1301 less 9000 + 1398
        ({"sens_basis": "2v83"}, "-0.01", "30", "70"),  # 2.83 V is 2 W into 4 ohm: 301
        ({"pack_of": 1}, "3", "30", "190"),  # two packs of 120
        ({"low_hz": None, "sens_db": 102}, "12", "-70", "70"),  # the usual lower end of 150 Hz
        ({"sd_cm2": 130, "xmax_mm": 8}, "-7.16", "30", "70"),  # 9682 by travel at 50 Hz less 10398 by power
        ({"price": 20}, "3", "30", "-30"),
    ],
)
def test_figures_of_the_gain(store: Store, changes: Row, db: str, hz: str, price: str) -> None:
    (told,) = given_up(store, STOCK, LARGE | changes)
    assert (told.gains_db, told.gains_hz, told.price) == (D(db), D(hz), D(price))


@pytest.mark.parametrize(
    ("case", "parts", "opening", "asked"),
    [
        ("it is no better", (STOCK, LARGE | {"sens_db": 88, "low_hz": 90}), None, {}),
        ("the feed is too weak for it", (STOCK, LARGE | {"rms_w": 34}), None, {}),
        ("the feed is too strong for it", (STOCK, LARGE | {"rms_w": 16}), None, {}),
        ("its load is too low", (STOCK, LARGE | {"impedance_ohm": 3}), None, {}),
        ("nothing could be cut", (STOCK, LARGE), speaker_opening(), {}),
        ("the original stays", (STOCK, LARGE), None, {"keep": ["door"]}),
    ],
)
def test_nothing_is_given_up_where(
    store: Store, case: str, parts: tuple[Row, ...], opening: Row | None, asked: Row
) -> None:
    assert given_up(store, *parts, opening=opening, **asked) == [], case


def test_what_is_allowed_is_chosen_and_not_given_up(store: Store) -> None:
    assert given_up(store, STOCK, LARGE, limits={"alteration": "metal_cut"}, wishes={"original_look": 0}) == []


def test_of_several_the_best_of_level_and_reach_is_told(store: Store) -> None:
    louder = LARGE | {"part_id": "louder", "sens_db": 95}
    dearer = LARGE | {"part_id": "dearer", "sens_db": 95, "price": 121}
    (told,) = given_up(store, STOCK, LARGE, dearer, louder)
    assert told.instead == "louder"


# rivals that earn as much: which one is told
@pytest.mark.parametrize(
    ("case", "rivals", "wishes", "told"),
    [
        ("the first by name", [("b", {}), ("a", {})], {}, "a"),
        ("the cheaper, whatever its name", [("a", {"price": 121}), ("b", {})], {}, "b"),
        ("loudness counts for nothing: the cheaper", [("a", {}), ("b", {"sens_db": 80, "price": 100})], LOW, "b"),
        ("a level not known counts for nothing", [("a", {}), ("b", {"sens_db": None, "price": 99})], LOW, "b"),
        ("reach counts for nothing: the cheaper", [("a", {}), ("b", {"low_hz": 70, "price": 100})], LOUD, "b"),
        ("all count: the louder, though dearer", [("a", {}), ("b", {"sens_db": 94, "price": 300})], {}, "b"),
        ("another load is on another feed", [("a", {}), ("b", {"impedance_ohm": 8, "rms_w": 20})], {}, "a"),
    ],
)
def test_of_rivals_that_earn_as_much_the_cheapest_is_told_then_the_first(
    store: Store, case: str, rivals: list[tuple[str, Row]], wishes: Row, told: str
) -> None:
    parts = [LARGE | {"part_id": name} | changes for name, changes in rivals]
    (found,) = given_up(store, STOCK, *parts, wishes=wishes)
    assert found.instead == told, case


def test_nothing_is_given_up_that_would_overload_what_shares_the_feed(store: Store) -> None:
    """Two of 8 ohm get 25 W each. With 4 ohm at the door it gets 33.3 W, the rear 16.7 W: too little for its 24 W."""
    amp = amplifier(full_channels=2, full_w_4ohm=50, full_w_2ohm=50, input_min_v=1, input_max_v=4, standby_ma=1)
    deaf = RADIO | {"amp_channels": 0, "preouts": 4, "preout_v": 2}
    small = {"impedance_ohm": 8, "rms_w": 25}
    rear = speaker_opening(opening_id="rear", hole_w_mm=125, bolt_circle_mm=110, flat_w_mm=140, flat_h_mm=140)
    tiny = speaker(part_id="tiny", cutout_w_mm=120, flange_w_mm=138, bolt_circle_mm=110, **small | {"rms_w": 24})
    openings = [dash_opening(), speaker_opening(cut=METAL), rear, amp_spot()]
    for ohm, told in ((8, ["large"]), (4, [])):
        parts = [deaf, amp, STOCK | small, tiny, LARGE | {"impedance_ohm": ohm, "rms_w": 25 if ohm == 8 else 40}]
        store.lay_town(parts, openings).job(job())
        (best,) = store.options("j1", top=1).packages
        assert [one.instead for one in best.tradeoffs if one.opening_id == "door"] == told
