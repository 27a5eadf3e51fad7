"""Jobs in which the ranking once went wrong or easily could, each with its answer worked by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest

from catalog_schema.answers import Options, Package
from tests.factories import Row, amp_spot, amplifier, dash_opening, head_unit, job, speaker, speaker_opening
from tests.search.shops import Store

RADIO = head_unit(
    amp_channels=4, amp_w=40, amp_min_ohm=4, preouts=4, preout_v=2, standby_ma=1, screen="none", features=["radio"]
)
DEAF = RADIO | {"amp_channels": 0}
AMP = amplifier(input_min_v=1, input_max_v=4, high_level_in=False, standby_ma=1, current_a=20)
"""50 W on each of four channels into 4 ohm."""
DASH, DOOR, SEAT = dash_opening(), speaker_opening(), amp_spot()


def ask(store: Store, parts: list[Row], openings: list[Row], top: int = 5, **asked: object) -> Options:
    """The options of a job in a town of its own."""
    store.lay_town(parts, openings).job(job(**asked))
    return store.options("j1", top=top)


def parts_of(package: Package) -> list[str | None]:
    return [line.part_id for line in package.lines]


def test_one_amplifier_at_two_spots_is_one_package_and_crowds_nobody_out(store: Store) -> None:
    other = AMP | {"part_id": "other", "price": 200}
    told = ask(store, [DEAF, speaker(), AMP, other], [DASH, DOOR, SEAT, amp_spot(opening_id="boot")], top=2)
    assert [parts_of(package)[-1] for package in told.packages] == ["amplifier-1", "other"]
    assert [package.lines[-1].opening_id for package in told.packages] == ["boot", "boot"]


def test_what_is_unsure_anyway_loses_nothing_more_on_an_unsure_feed(store: Store) -> None:
    """The sure one leads, but an unsure feed takes from it alone, and the other reaches an octave lower."""
    sure = speaker(part_id="sure", low_hz=200)
    unsure = speaker(part_id="unsure", low_hz=100, depth_mm=66)
    wishes = {"bass": 3}
    told = ask(store, [RADIO | {"amp_min_ohm": None}, sure, unsure], [DASH, DOOR], top=1, wishes=wishes)
    assert [parts_of(package)[1] for package in told.packages] == ["unsure"]
    told = ask(store, [RADIO, sure, unsure], [DASH, DOOR], top=1, wishes=wishes)
    assert [parts_of(package)[1] for package in told.packages] == ["sure"]


@pytest.mark.parametrize(
    ("head", "limits", "measure"),
    [
        ({"features": None}, {"must": ["radio"]}, ["part:head_unit-1.features"]),
        ({"screen": "flush", "screen_in": None}, {"screen_min_in": 6}, ["part:head_unit-1.screen_in"]),
        ({"features": None}, {}, []),
    ],
)
def test_what_the_job_asks_of_a_head_unit_is_to_be_measured_where_nobody_knows(
    store: Store, head: Row, limits: Row, measure: list[str]
) -> None:
    (package,) = ask(store, [RADIO | head, speaker()], [DASH, DOOR], limits=limits).packages
    assert (package.measure, package.verdict) == (measure, "measure" if measure else "fits")


@pytest.mark.parametrize(
    ("limits", "spots"),
    [
        ({"alteration": "bolt_on"}, ["boot"]),
        ({"alteration": "bolt_on", "per_opening": {"boot": "bolt_in"}}, ["seat"]),
        ({"alteration": "bolt_on", "per_opening": {"boot": "bolt_in", "seat": "bolt_in"}}, []),
        ({"alteration": "bolt_in"}, []),
        ({"alteration": "bolt_in", "per_opening": {"seat": "bolt_on"}}, ["seat"]),
    ],
)
def test_a_board_keeps_to_the_step_of_its_own_spot(store: Store, limits: Row, spots: list[str]) -> None:
    told = ask(store, [DEAF, speaker(), AMP], [DASH, DOOR, SEAT, amp_spot(opening_id="boot")], limits=limits)
    assert [package.lines[-1].opening_id for package in told.packages] == spots


def test_the_sure_wiring_is_told_though_its_parts_are_told_already(store: Store) -> None:
    """Bridged it would be louder, but the least load of a bridged pair is not known."""
    amp = AMP | {"full_w_4ohm": 40, "full_bridged_w_4ohm": 50, "full_bridged_min_ohm": None}
    settled = store.lay_town([DEAF, speaker(sens_db=90, sens_basis="1w", rms_w=50), amp], [DASH, DOOR, SEAT])
    store.set("points_unknown.delays", 10)
    settled.job(job())
    told = store.options("j1", top=1)
    assert [(package.verdict, package.links[0].channels) for package in told.packages] == [
        ("measure", "4 channels, bridged; one coil"),
        ("fits", "2 channels, a pair; one coil"),
    ]
    assert told.packages[0].measure == ["part:amplifier-1.full_bridged_min_ohm"]
    assert parts_of(told.packages[0]) == parts_of(told.packages[1])


def test_an_original_center_stays_with_its_original_head_unit(store: Store) -> None:
    center = speaker_opening(opening_id="center", count=1, factory_ohm=8)
    (package,) = ask(store, [RADIO], [DASH, center], keep=["dash", "center"]).packages
    assert (parts_of(package), package.verdict) == ([None, None], "measure")
    assert package.links[0].load_ohm == 8
    # A new head unit has two channels, and they are never tied together.
    assert ask(store, [RADIO], [DASH, center], keep=["center"]).packages == []


def test_figures_that_nobody_has_taken_are_named_where_they_are_kept(store: Store) -> None:
    original = speaker_opening(opening_id="rear")
    stereo = RADIO | {"amp_channels": 2, "amp_min_ohm": 2}
    (package,) = ask(store, [stereo, speaker(impedance_ohm=8)], [DASH, DOOR, original], keep=["rear"]).packages
    assert package.measure == ["opening:tern/rear.factory_ohm"]
    (package,) = ask(store, [speaker()], [DASH, DOOR], keep=["dash"]).packages
    assert set(package.measure) == {
        f"opening:tern/dash.original_{field}" for field in ("amp_w", "amp_min_ohm", "amp_channels")
    }


def test_a_kept_dash_leaves_the_other_one_to_be_filled(store: Store) -> None:
    openings = [DASH, dash_opening(opening_id="roof")]
    told = ask(store, [RADIO], openings, keep=["dash"])
    assert [package.lines[0].opening_id for package in told.packages] == ["roof"]
    told = ask(store, [RADIO], openings, choose=["roof"])
    assert [package.lines[0].opening_id for package in told.packages] == ["roof"]
    told = ask(store, [RADIO], openings, choose=["roof"], limits={"budget": 1})
    assert [conflict.limits for conflict in told.conflicts] == [["head unit wanted", "budget of 1"]]


# parts, openings, job; the parts of every package
PLAIN: list[tuple[str, list[Row], list[Row], Row, list[list[str | None]]]] = [
    ("an empty catalog", [], [DASH, DOOR], {}, []),
    ("an empty catalog and nothing to fill", [], [SEAT], {}, [[None]]),
    ("no dash", [speaker(), RADIO], [DOOR], {}, [[None, "speaker-1"]]),
    ("no places", [speaker(), RADIO], [DASH], {}, [["head_unit-1"]]),
    ("no spot", [speaker(), DEAF, AMP], [DASH, DOOR], {}, []),
    ("nothing that is chosen here", [RADIO], [DASH, DOOR, SEAT], {"choose": ["seat"]}, [[None]]),
    ("all stays", [RADIO, speaker()], [DASH], {"keep": ["dash"], "limits": {"budget": 0}}, [[None]]),
    ("no money", [RADIO], [DASH], {"limits": {"budget": 0}}, []),
    ("all the money", [RADIO], [DASH], {"limits": {"budget": 100}}, [["head_unit-1"]]),
    ("a cent too little", [RADIO], [DASH], {"limits": {"budget": 99.99}}, []),
    ("the head unit alone", [RADIO, speaker()], [DASH, DOOR], {"choose": ["head_unit"]}, [["head_unit-1"]]),
    ("the dash by its name", [RADIO, speaker()], [DASH, DOOR], {"choose": ["dash"]}, [["head_unit-1"]]),
    ("the doors alone", [RADIO, speaker()], [DASH, DOOR], {"choose": ["door"]}, [[None, "speaker-1"]]),
]


@pytest.mark.parametrize(("case", "parts", "openings", "asked", "packages"), PLAIN)
def test_plain_jobs(
    store: Store, case: str, parts: list[Row], openings: list[Row], asked: Row, packages: list[list[str | None]]
) -> None:
    told = ask(store, parts, openings, **asked)
    assert [parts_of(package) for package in told.packages] == packages, case
    assert bool(told.conflicts) == (not packages)


def test_tiers_tell_the_best_at_each_budget(store: Store) -> None:
    better = speaker(part_id="better", sens_db=95, sens_basis="1w", price=150, sd_cm2=800, xmax_mm=12)
    told = ask(store, [RADIO, speaker(), better], [DASH, DOOR], tiers=[299, 300, 400, 1000])
    assert [tier.budget for tier in told.tiers] == [299, 300, 400, 1000]
    speakers = [tier.package and parts_of(tier.package)[1] for tier in told.tiers]
    assert speakers == [None, "speaker-1", "better", "better"]
    assert [tier.rank for tier in told.tiers] == [None, 2, 1, 1]


@pytest.mark.parametrize(("rate", "pack_of", "parts", "labour"), [(0, 1, 300, 0), (40, 1, 300, 120), (40, 2, 200, 120)])
def test_prices_are_whole_packs_and_hours_at_the_shops_rate(
    store: Store, rate: int, pack_of: int, parts: int, labour: int
) -> None:
    """An hour for the head unit, an hour for each of two loudspeakers."""
    pair = speaker(labour_h=1, pack_of=pack_of)
    store.lay_town([RADIO | {"labour_h": 1}, pair], [DASH, DOOR], labour_rate=rate).job(job())
    (package,) = store.options("j1").packages
    price = package.price
    assert (price.parts, price.labour, price.kit, price.total) == (parts, labour, 0, parts + labour)
    assert (price.from_, price.labour_open) == (True, [])  # the kit is in no list, and the shop has no estimate of it
    assert [line.qty for line in package.lines] == [1, 2 // pack_of]
    assert sum(line.price for line in package.lines) == Decimal(parts + labour)
