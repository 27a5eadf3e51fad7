"""Points worked by hand: hundredths, by wish, nothing for what is not known."""

from __future__ import annotations

from decimal import Decimal
from types import MappingProxyType

import pytest

from catalog_schema.jobs import Wishes
from matcher.rules.rule import DELAYS, FITS, MENDED, STOPS
from matcher.search.feeds.parts import cents, packs_for
from matcher.search.scoring import Scoring, gain_cdb, level_at_1w_cdb
from matcher.settings import Settings

D = Decimal
CHOSEN: dict[str, int | Decimal] = {
    "points_level": 10,
    "level_floor_db": 80,
    "points_low": 40,
    "low_floor_hz": 200,
    "points_treble": 100,
    "treble_floor_hz": 7500,
    "treble_top_hz": 15_000,
    "high_pass_hz": 80,
    "place_weight.rear": D("0.33"),
    "points_screen": 15,
    "points_look": 30,
    "points_price": D("0.5"),
    "points_unknown.stops": 60,
    "points_unknown.delays": 20,
    "points_unknown.mended": 5,
}
"""A shop's choice of its own, so that the defaults may change freely."""


def scoring(wish: int) -> Scoring:
    wishes = Wishes(loudness=wish, bass=wish, screen=wish, original_look=wish, price=wish)
    return Scoring(wishes, Settings(MappingProxyType({name: D(value) for name, value in CHOSEN.items()})))


NONE, ONE, FIVE = scoring(0), scoring(1), scoring(5)

# what, its argument, hundredths of a point at a wish of 1
TABLE: list[tuple[str, object, int]] = [
    ("level", 10_000, 20_000),  # 20 dB over the floor of 80, 10 points each
    ("level", 8_000, 0),
    ("level", 7_999, 0),  # below the floor nothing is lost
    ("level", 8_001, 10),
    ("level", None, 0),
    ("low", D(100), 4_000),  # one octave below 200 Hz
    ("low", D(50), 8_000),
    ("low", D(200), 0),
    ("low", D(250), 0),
    ("low", None, 0),
    ("low", D(141), 2_017),  # log2(200 / 141) = 0.5043
    ("treble", D(15_000), 10_000),  # one octave above 7500 Hz
    ("treble", D(12_000), 6_781),  # log2(12000 / 7500) = 0.6781
    ("treble", D(20_000), 10_000),  # nobody hears more
    ("treble", D(7_500), 0),
    ("treble", None, 0),
    ("screen", D(7), 10_500),
    ("screen", None, 0),
    ("look", 0, 0),
    ("look", 5, -15_000),
    ("price", 10_000, -5_000),  # 100 of money, half a point each
    ("price", 1, -1),  # half a hundredth goes upward
    ("price", 0, 0),
]


@pytest.mark.parametrize(("what", "figure", "points"), TABLE)
def test_points(what: str, figure: object, points: int) -> None:
    assert getattr(ONE, what)(figure) == points
    assert getattr(NONE, what)(figure) == 0
    if points % 100 == 0:
        assert getattr(FIVE, what)(figure) == 5 * points


# what, its argument, hundredths of a point in front, behind, and in front over a bass system
@pytest.mark.parametrize(
    ("what", "figure", "front", "rear", "over_bass"),
    [
        ("level", 10_000, 20_000, 6_600, 20_000),
        ("low", D(100), 4_000, 1_320, 4_000),
        ("low", D(80), 5_288, 1_745, 5_288),  # log2(200 / 80) = 1.3219
        ("low", D(50), 8_000, 2_640, 5_288),  # the bass system plays what is below 80 Hz
        ("treble", D(15_000), 10_000, 3_300, 10_000),
        ("screen", D(7), 10_500, 10_500, 10_500),
        ("look", 5, -15_000, -15_000, -15_000),
    ],
)
def test_sound_behind_the_listeners_counts_less(
    what: str, figure: object, front: int, rear: int, over_bass: int
) -> None:
    places = [(False, False), (True, False), (False, True)]
    made = [ONE.at_place(is_rear=is_rear, over_bass=bass) for is_rear, bass in places]
    assert [getattr(one, what)(figure) for one in made] == [front, rear, over_bass]


def test_what_is_not_known_costs_the_same_whatever_is_wished() -> None:
    assert [made.unknown(STOPS) for made in (NONE, ONE, FIVE)] == [-6_000] * 3


@pytest.mark.parametrize(
    ("code", "own", "lost", "more"),
    [
        (FITS, FITS, 0, 0),
        (MENDED, FITS, -500, -500),
        (DELAYS, FITS, -2_000, -2_000),
        (STOPS, MENDED, -6_000, -5_500),  # of two that are open together the riskier counts
        (DELAYS, STOPS, -2_000, 0),
    ],
)
def test_an_unknown_costs_by_its_risk(code: int, own: int, lost: int, more: int) -> None:
    assert (ONE.unknown(code), ONE.unknown_beside(code, own)) == (lost, more)


# sensitivity, its basis, impedance: the level at 1 W in hundredths of a decibel
@pytest.mark.parametrize(
    ("sens", "basis", "ohm", "level"),
    [
        ("90", "1w", "4", 9_000),
        ("90", "2v83", "8", 9_000),
        ("90", "2v83", "4", 8_699),  # 2.83 V is 2 W there: 3 dB
        ("90", "2v83", "2", 8_398),  # 4 W: 6 dB
        ("90", "2v83", "16", 9_301),
        ("90", None, "4", 8_699),  # where the basis is not stated, the lower reading counts
        ("90", None, "16", 9_000),
        (None, "1w", "4", None),
        ("90", "1w", None, None),
    ],
)
def test_sensitivities_are_compared_at_one_watt(
    sens: str | None, basis: str | None, ohm: str | None, level: int
) -> None:
    assert level_at_1w_cdb(sens and D(sens), basis, ohm and D(ohm)) == level  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("watts", "gain"), [("1", 0), ("2", 301), ("4", 602), ("10", 1000), ("50", 1699), ("0.5", -301)]
)
def test_gain(watts: str, gain: int) -> None:
    assert gain_cdb(D(watts)) == gain


@pytest.mark.parametrize(("pieces", "pack_of", "packs"), [(2, 1, 2), (2, 2, 1), (1, 2, 1), (3, 2, 2), (4, 4, 1)])
def test_whole_packs(pieces: int, pack_of: int, packs: int) -> None:
    assert packs_for(pieces, pack_of) == packs


@pytest.mark.parametrize(("amount", "whole"), [("1", 100), ("0.005", 1), ("0.004", 0), ("45.55", 4555)])
def test_money_in_whole_cents(amount: str, whole: int) -> None:
    assert cents(D(amount)) == whole
