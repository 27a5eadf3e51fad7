"""What a package says of its bass: drivers, net, box, channels, checks, and how it goes back."""

from __future__ import annotations

import json

import pytest

from catalog_schema.answers import BassLevel, Options
from matcher.search.bass.made import MADE_PRICES
from matcher.store.documents.saving import save_job
from tests.bass.cars import bass_amplifier, box, cargo_space, driver
from tests.bass.towns import ELECTRICAL
from tests.factories import Bench, Row, amp_spot, amplifier, dash_opening, head_unit, speaker, speaker_opening, vehicle

HEAD = head_unit(preouts=4, preout_v=2, standby_ma=1, amp_channels=4, amp_w=40, amp_min_ohm=4)
DOOR = speaker(sens_db=90, sens_basis="1w")
MONO = bass_amplifier(class_=None, current_a=20, fuse_a=30)
MONO = {name: cell for name, cell in MONO.items() if name != "class_"} | {"class": "d"}
FOUR = amplifier(
    part_id="four",
    full_bridged_w_4ohm=200,
    full_bridged_min_ohm=4,
    input_min_v=0.2,
    input_max_v=5,
    standby_ma=2,
    current_a=20,
    fuse_a=30,
    **{"class": "d"},
)


def options(
    bench: Bench, *parts: Row, openings: list[Row] | None = None, top: int = 3, priced: bool = True, **changes: object
) -> Options:
    """A job for a head unit, door loudspeakers and bass, in a car with one spot for an amplifier.

    The shop gives the prices of a box that it makes, all of them 0, or none at all.
    """
    for (name,) in bench.con.execute("select table_name from duckdb_tables() where table_name != 'meta'").fetchall():
        bench.con.execute(f'delete from "{name}"')
    places = openings if openings is not None else [cargo_space()]
    car = vehicle(dash_opening(), speaker_opening(), amp_spot(), *places, electrical=ELECTRICAL)
    bench.lay(HEAD, DOOR, *parts, car)
    for name in MADE_PRICES if priced else ():
        bench.set(name, 0)
    job: Row = {"job_id": "j1", "vehicle_id": "tern", "choose": ["head_unit", "door", "bass"]}
    save_job(bench.con, json.dumps(job | changes), "test")
    return bench.options("j1", top=top)


def test_a_box_of_the_catalog(bench: Bench) -> None:
    told = options(bench, MONO, driver(), box(), box(part_id="vast", w_mm=900))
    best = told.packages[0]
    bought = next(package for package in told.packages if "box" in [line.part_id for line in package.lines])
    assert best.verdict == bought.verdict == "fits"
    (fed,) = [link for link in bought.links if link.to == ["cargo"]]
    assert (fed.from_, fed.channels, fed.load_ohm, fed.power_w) == ("mono", "1 channel for bass; one coil", 4, 200)
    assert bought.bass is not None
    assert (bought.bass.drivers, bought.bass.net, bought.bass.box_net_l) == (1, "1", 30)
    assert (bought.bass.qtc, bought.bass.fc_hz, bought.bass.f3_hz) == (0.707, 42.4, 42.4)
    # At 40 Hz: a monopole of 0.33 l in half space. At 80 Hz: 83.73 dB, 23.01 dB for 200 W, less 0.33 dB by the box.
    assert bought.bass.levels[1] == BassLevel(hz=40, level_db=102.97, ruled_by="travel")
    assert bought.bass.levels[-1] == BassLevel(hz=80, level_db=106.41, ruled_by="power")
    levels = [each.level_db for each in bought.bass.levels]
    assert bought.bass.mean_db == pytest.approx(sum(levels) / 5, abs=0.01)
    assert bought.bass.spread_db == pytest.approx(max(levels) - min(levels))
    assert (bought.bass.outer, bought.bass.panels) == (None, [])
    lines = {line.slot: line for line in bought.lines}
    assert (lines["bass"].part_id, lines["bass"].opening_id, lines["bass"].pieces) == ("driver", "cargo", 1)
    assert (lines["enclosure"].part_id, lines["enclosure"].alteration) == ("box", "bolt_on")
    assert "vast" not in {line.part_id for package in told.packages for line in package.lines}
    asked = {check.rule for check in bought.checks}
    assert {"cargo.gate_long", "bass.depth", "bass.qtc_most", "bass.mass", "amplifier.bass_channels"} <= asked


def test_a_box_made_to_measure(bench: Bench) -> None:
    told = options(bench, MONO, driver(), top=1)
    (best,) = told.packages
    assert best.bass is not None and best.bass.outer is not None and best.bass.qtc is not None
    assert best.bass.qtc == pytest.approx(0.707, abs=0.002)
    assert [panel.panel for panel in best.bass.panels] == ["end", "front", "back", "bottom", "top"]
    assert best.bass.outer.w_mm < 590 and best.bass.outer.h_mm == 395
    (line,) = [line for line in best.lines if line.slot == "enclosure"]
    assert (line.part_id, line.label, line.pieces, line.price) == (None, "made to measure", 1, 0)
    assert any("bass box made to measure" in step.step for step in best.undo)
    assert {check.rule for check in best.checks if check.about == "cargo"} >= {"cargo.width", "bass.front_width"}


def test_a_made_box_without_prices_is_neither_free_nor_first(bench: Bench) -> None:
    told = options(bench, MONO, driver(), box(price=400), priced=False, top=5)
    bought, made = told.packages
    assert [line.part_id for line in bought.lines if line.slot == "enclosure"] == ["box"]
    assert (bought.verdict, made.verdict) == ("fits", "measure")
    assert [check.missing for check in made.checks if check.rule == "bass.made_priced"] == [made.measure]
    assert made.measure == ["the shop's settings.made_box_extras_price"]
    assert any("box made to measure costs is not known" in caution for caution in told.cautions)


def test_a_made_box_has_room_for_a_flange_that_is_not_known(bench: Bench) -> None:
    """By its hole of 232 mm: 3 mm of flange all round, and as much beside it, between two boards of 18 mm."""
    told = options(bench, MONO, driver(outer_mm=None, vas_l=2), top=1)
    assert told.packages[0].bass is not None and told.packages[0].bass.outer is not None
    assert told.packages[0].bass.outer.w_mm == 232 + 2 * 3 + 2 * 3 + 2 * 18


def test_a_made_box_costs_what_the_shop_says(bench: Bench) -> None:
    options(bench, MONO, driver(), top=1)
    mine = {"board_price_m2": 10, "made_box_labour_h": 2, "labour_rate": 30, "made_box_extras_price": 7}
    for name, value in (mine | {"made_board_price": 5}).items():
        bench.set(name, value)
    told = bench.options("j1", top=1)
    (line,) = [line for line in told.packages[0].lines if line.slot == "enclosure"]
    panels = told.packages[0].bass.panels if told.packages[0].bass else []
    area = sum(each.count * each.length_mm * max(each.width_mm, each.width_top_mm or 0) for each in panels) / 1e6
    assert float(line.price) == pytest.approx(60 + 7 + 10 * area, abs=0.01)
    assert not any("costs is not known" in caution for caution in told.cautions)


def test_a_box_no_wider_than_the_space(bench: Bench) -> None:
    """A driver that wants more than there is gets the largest box, and its Q tells."""
    told = options(bench, MONO, driver(vas_l=60), openings=[cargo_space(w_mm=400)], top=1)
    (best,) = told.packages
    assert best.bass is not None and best.bass.outer is not None and best.bass.qtc is not None
    assert (best.bass.outer.w_mm, best.verdict) == (390, "fits")
    assert 0.707 < best.bass.qtc < 0.9


def test_a_bridged_pair_beside_the_loudspeakers(bench: Bench) -> None:
    told = options(bench, FOUR, driver(), box(), top=1, wishes={"loudness": 5})
    (best,) = told.packages
    feeds = {link.to[0]: link for link in best.links}
    assert feeds["cargo"].channels == "2 channels, bridged; one coil"
    assert (feeds["door"].from_, feeds["cargo"].from_) == ("four", "four")
    (channels,) = [check for check in best.checks if check.rule == "amplifier.channels"]
    assert (channels.have, channels.need) == (4, 4)


def test_an_amplifier_of_its_own_on_another_spot(bench: Bench) -> None:
    spots = [cargo_space(), amp_spot(opening_id="boot")]
    weak = {**FOUR, "full_bridged_w_4ohm": 30}
    door = DOOR | {"rms_w": 45}  # more than the head unit's own supply gives
    told = options(bench, weak, MONO, driver(), box(), door, openings=spots, top=1, wishes={"loudness": 5, "price": 0})
    (best,) = told.packages
    spot = {line.slot: line.opening_id for line in best.lines}
    assert {spot["amplifier"], spot["bass_amplifier"]} == {"seat", "boot"}
    assert {link.to[0]: link.from_ for link in best.links} == {"door": "four", "cargo": "mono"}
    assert [check.verdict for check in best.checks if check.about == "bass amplifier"] == ["fits"] * 3
    assert any("amplifier for bass mono" in step.step for step in best.undo)


def test_two_amplifiers_never_share_a_spot(bench: Bench) -> None:
    weak = {**FOUR, "full_bridged_w_4ohm": 30}
    told = options(bench, weak, MONO, driver(), box(), top=10)
    assert told.packages
    assert all(line.slot != "bass_amplifier" for package in told.packages for line in package.lines)


def test_an_unknown_figure_is_named_with_its_subject(bench: Bench) -> None:
    told = options(bench, MONO, driver(vas_l=None), box(d_top_mm=None), top=10)
    bought = next(package for package in told.packages if "box" in [line.part_id for line in package.lines])
    assert bought.verdict == "measure"
    assert {"part:driver.vas_l", "part:box.d_top_mm"} <= set(bought.measure)
    assert bought.bass is not None
    assert bought.bass.estimated == ["vas_l"]
    assert bought.bass.qtc == 0.677  # 0.5 x sqrt(1 + 25/30), by the Vas that is usual for its size
    assert bought.bass.notes == ["The bass level is an estimate: the driver's list does not state its Vas."]


def test_a_peak_power_is_no_power_for_bass(bench: Bench) -> None:
    told = options(bench, {**MONO, "power_basis": "peak"}, driver(), box())
    assert {package.verdict for package in told.packages} == {"measure"}
    assert "part:mono.bass_w_4ohm" in told.packages[0].measure


def test_two_coils_to_a_load_that_the_channel_carries(bench: Bench) -> None:
    strict = {**MONO, "bass_min_ohm": 2, "bass_w_2ohm": 200}
    told = options(bench, strict, driver(coils=2, coil_ohm=4, rms_w=200), box(), top=1)
    assert told.packages[0].bass is not None
    assert (told.packages[0].bass.net, told.packages[0].bass.load_ohm) == ("1.1 | 1.2", 2)


def test_bass_without_a_cargo_space_is_a_conflict(bench: Bench) -> None:
    told = options(bench, MONO, driver(), box(), openings=[])
    assert told.packages == []
    assert ["bass wanted"] in [conflict.limits for conflict in told.conflicts]
    assert [slot.reasons for slot in told.slots if slot.slot == "bass"] == [
        ["the vehicle has no cargo space that may take a box"]
    ]


def test_a_cargo_space_that_stays_conflicts_with_bass(bench: Bench) -> None:
    told = options(bench, MONO, driver(), box(), keep=["cargo"])
    assert [conflict.limits for conflict in told.conflicts] == [["bass wanted", "original stays at cargo"]]


def test_a_box_that_only_screws_would_hold(bench: Bench) -> None:
    bare = [cargo_space(fasten="no")]
    told = options(bench, MONO, driver(), box(), openings=bare)
    assert [conflict.limits for conflict in told.conflicts] == [["bass wanted", "alteration at most bolt_on"]]
    drilled = options(bench, MONO, driver(), box(), openings=bare, limits={"alteration": "drilled"}, top=1)
    assert [(package.alteration, package.reversible) for package in drilled.packages] == [("drilled", False)]
    assert any("cannot be undone" in step.undo for step in drilled.packages[0].undo)


def test_a_box_takes_a_step_of_the_ladder(bench: Bench) -> None:
    told = options(bench, MONO, driver(), box(), limits={"alteration": "bolt_in"})
    assert ["bass wanted", "alteration at most bolt_in"] in [conflict.limits for conflict in told.conflicts]
    (drivers,) = [slot for slot in told.slots if slot.slot == "bass"]
    assert (drivers.fits, drivers.no) == (0, 1)
    assert "bolt_on" in drivers.reasons[0]


def test_slots_count_boxes_and_drivers(bench: Bench) -> None:
    told = options(bench, MONO, driver(), driver(part_id="deep", depth_mm=500), box(), box(part_id="vast", w_mm=900))
    counts = {slot.slot: (slot.fits, slot.measure, slot.no) for slot in told.slots}
    assert (counts["enclosure"], counts["bass"]) == ((1, 0, 1), (1, 0, 1))
    assert next(slot.by_rule for slot in told.slots if slot.slot == "enclosure") == {"cargo.width": 1}


def test_a_cargo_space_may_be_named_instead(bench: Bench) -> None:
    two = [cargo_space(), cargo_space(opening_id="shelf", label="Shelf")]
    told = options(bench, MONO, driver(), box(), openings=two, choose=["head_unit", "door", "shelf"])
    assert {line.opening_id for package in told.packages for line in package.lines if line.slot == "enclosure"} == {
        "shelf"
    }


def test_a_job_without_bass_has_none(bench: Bench) -> None:
    told = options(bench, MONO, driver(), box(), choose=["head_unit", "door"])
    assert told.packages and all(package.bass is None for package in told.packages)
    assert {line.slot for package in told.packages for line in package.lines} == {"head_unit", "speaker"}
    assert not [slot for slot in told.slots if slot.slot in ("bass", "enclosure")]


def test_a_step_up_in_budget_is_told_in_decibels(bench: Bench) -> None:
    strong = driver(part_id="strong", rms_w=260, xmax_mm=20, price=180, qes=0.52)
    told = options(bench, {**MONO, "bass_w_4ohm": 260}, driver(rms_w=200), strong, box(), tiers=[520, 600])
    gains = [gain for tier in told.tiers for gain in tier.gains if gain.criterion == "bass_mean_db"]
    assert [gain.where for gain in gains] == ["bass"]
    assert "louder in the bass" in gains[0].says
