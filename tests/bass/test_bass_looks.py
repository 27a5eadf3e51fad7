"""Bass of many drivers and boxes: bits for pairs, bounds for levels, two looks for one. Nothing may differ for it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from random import Random

import duckdb
import pytest

from catalog_schema.jobs import Job
from matcher.rules.bass import BASS
from matcher.rules.rule import FITS, MEASURE, NO
from matcher.search.bass.figures import BassSystem, coil_nets_of
from matcher.search.bass.groups import BassGroup, merit_of, unbeaten
from matcher.search.bass.levels import (
    BEYOND_CDB,
    UNKNOWN_CDB,
    WIDE_CDB,
    Boxed,
    DriverTerms,
    Sounds,
    cone_db,
    levels_of,
    lift_cdb,
    power_bounds,
)
from matcher.search.bass.side import BassSide
from matcher.search.bass.systems import bass_side
from matcher.search.exact.entries import MULTIPLIERS, SCALE, WHATEVER, Values, brings, relaxed
from matcher.search.fits.looks import Look
from matcher.search.fits.relations import measured, part_sql, worst_code
from matcher.search.fits.sweep import Sweeps
from matcher.search.fits.unbeaten import MOST_RIVALS
from matcher.search.options import rank
from matcher.search.question import read_question
from matcher.search.scoring import Scoring
from matcher.shop.base import shop_settings
from tests.bass.cars import box, cargo_space, driver
from tests.bass.towns import ELECTRICAL, drawn_parts, lay_job
from tests.factories import Bench, Row, amp_spot, dash_opening, speaker_opening, vehicle
from tests.search.test_looks import told_of
from tests.soak import first

SEEDS = range(500, 540)


def mostly(draw: Random, good: list[object], edge: list[object]) -> object:
    """Most figures leave room, some lie on or about the limit, some are not known."""
    return draw.choice([*good * 7, *edge, None])


def drawn_drivers(draw: Random) -> Iterator[Row]:
    """Drivers with figures on few steps, so that pairs on an exact limit and ties are common; some figures unknown."""
    for number in range(draw.randint(6, 9)):
        own = {
            "part_id": f"driver-{number}",
            "size_in": draw.choice([10, 10, 12]),
            "basis": draw.choice(["maker", "measured"]),
            "cutout_mm": mostly(draw, [230, 232], [234, 235, 236]),
            "outer_mm": mostly(draw, [255, 260], [244, 246]),
            "depth_mm": mostly(draw, [120, 130], [179, 180, 181, 200, 201]),
            "vented_pole": draw.choice([True, False, False, None]),
            "mass_kg": mostly(draw, [4, 5], [7, 8]),
            "qts": mostly(draw, [0.5, 0.55], [0.35, 0.9]),
            "vas_l": draw.choice([20, 30, 40]),
            "xmax_mm": mostly(draw, [5, 10], []),
            "coils": draw.choice([1, 2]),
            "coil_ohm": draw.choice([2, 4]),
            "rms_w": draw.choice([150, 200]),
            "price": draw.choice([20, 30, 60]),
        }
        yield driver(**own)


def drawn_boxes(draw: Random) -> Iterator[Row]:
    """Boxes for them, some of which do not stand, or only perhaps."""
    for number in range(draw.randint(6, 10)):
        kind = draw.choice(["sealed", "sealed", "sealed", "vented", None])
        own = {
            "part_id": f"box-{number}",
            "drivers": draw.choice([1, 1, 2]),
            "driver_size_in": draw.choice([10, 10, 12]),
            "kind": kind,
            "tuned_hz": draw.choice([35, 40, None]) if kind == "vented" else None,
            "net_l": mostly(draw, [30, 40], [15]),
            "cutout_mm": mostly(draw, [236, 237], [235]),
            "driver_depth_mm": mostly(draw, [200, 220], [180, 201]),
            "mass_kg": mostly(draw, [8, 10], [12, 15]),
            "w_mm": mostly(draw, [400], [590, 700]),
            "price": draw.choice([20, 30, 60]),
        }
        yield box(**own)


def lay_shop(bench: Bench, seed: int) -> Job:
    """A random shop with many pairs of driver and box in place of what was there, and a job at its car."""
    draw = Random(seed)
    for (name,) in bench.con.execute("select table_name from duckdb_tables() where table_name != 'meta'").fetchall():
        if not name.startswith(("stands", "mate", "mouth", "swept")):
            bench.con.execute(f'delete from "{name}"')
    others = [row for row in drawn_parts(draw) if row["family"] not in ("subwoofer", "enclosure")]
    spaces = [cargo_space(mass_max_kg=draw.choice([15, 20, 25])), cargo_space(opening_id="shelf", w_mm=500)]
    openings = [dash_opening(), speaker_opening(), amp_spot(w_mm=500), *spaces[: draw.randint(1, 2)]]
    parts = [*others, *drawn_drivers(draw), *drawn_boxes(draw)]
    bench.lay(*parts, vehicle(*openings, electrical=ELECTRICAL))
    bench.set("labour_rate", 40)
    return lay_job(bench, seed)


def side_of(bench: Bench, job: Job, k: int, *, leading: bool = False) -> BassSide:
    """The bass side of a job."""
    sweeps = Sweeps(bench.con, shop_settings(bench.con))
    question = read_question(bench.con, job, sweeps.settings)
    return bass_side(sweeps, question, Scoring(job.wishes, sweeps.settings), Look(k, leading=leading))


@pytest.mark.parametrize("seed", first(4, SEEDS))
def test_two_looks_find_what_one_look_finds(bench: Bench, seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    job = lay_shop(bench, seed)
    for top, tiers in ((1, ()), (4, (Decimal(230), Decimal(280)))):
        asked, told = replace(job, tiers=tiers), []
        for few in (0, 10**9):
            monkeypatch.setattr("matcher.search.telling.FEW", few)
            told.append(told_of(rank(Sweeps(bench.con, shop_settings(bench.con)), asked, top)))
        assert told[0] == told[1], (seed, top)


def asked_plainly(bench: Bench) -> dict[tuple[str, str], int]:
    """What the rules say of each driver in each box of the catalog, asked of one pair after another."""
    settings = shop_settings(bench.con)
    rows = bench.con.execute(
        f"WITH driver AS ({part_sql('subwoofer', settings)}), box AS (SELECT *, false AS made, "
        "NULL::DECIMAL(15,6) AS front_w_mm, NULL::DECIMAL(15,6) AS front_w_mm_tol, NULL::DECIMAL(15,6) AS front_h_mm, "
        f"NULL::DECIMAL(15,6) AS front_h_mm_tol FROM ({part_sql('enclosure', settings)})), "
        "opening AS (SELECT * FROM opening_cargo WHERE opening_id = 'cargo'), "
        f"asked AS (SELECT part.part_id AS driver_id, box.part_id AS box_id, {measured(BASS, settings)} "
        f"FROM driver AS part, box, opening) SELECT driver_id, box_id, {worst_code(BASS, lifted=False)} FROM asked"
    ).fetchall()
    return {(driver_id, box_id): code for driver_id, box_id, code in rows}


@pytest.mark.parametrize("seed", first(6, SEEDS))
def test_bits_say_what_the_rules_say_of_each_pair(bench: Bench, seed: int) -> None:
    job = lay_shop(bench, seed)
    said = asked_plainly(bench)
    (stock, *_) = side_of(bench, job, 1).stocks or [None]
    if stock is None or not stock.members:
        pytest.skip("no box stands in this shop")
    standing = {one.part_id for member in stock.members for one in member.shelf.boxes}
    told = {
        (member.part_id, one.part_id): MEASURE if is_open else FITS
        for member in stock.members
        for one, is_open in member.boxes()
    }
    assert told == {pair: code for pair, code in said.items() if code != NO and pair[1] in standing}


def test_the_shops_hold_pairs_on_the_limit_and_unknown_ones(bench: Bench) -> None:
    """What the tests above are worth: that all three answers come up, and that no shop is empty."""
    seen: Counter[int] = Counter()
    for seed in SEEDS[:6]:
        lay_shop(bench, seed)
        seen.update(asked_plainly(bench).values())
    assert min(seen[FITS], seen[MEASURE], seen[NO]) > 20, seen


@pytest.mark.parametrize(
    ("own", "boxed", "code"),
    [
        ({"depth_mm": 199}, {}, FITS),  # exactly as deep as both tolerances of 0.5 mm leave
        ({"depth_mm": 199.5}, {}, MEASURE),
        ({"depth_mm": 201}, {}, MEASURE),  # exactly on the other end
        ({"depth_mm": 201.01}, {}, NO),
        ({"depth_mm": None}, {}, MEASURE),
        ({"cutout_mm": None}, {}, MEASURE),
        ({"outer_mm": None}, {}, MEASURE),
        ({"qts": None}, {}, MEASURE),
        ({"mass_kg": None}, {}, MEASURE),
        ({"mass_kg": 12}, {}, FITS),  # 12 and 8 on a floor for 20
        ({"mass_kg": 12.01}, {}, NO),
        ({}, {"net_l": None}, MEASURE),
        ({}, {"kind": None}, MEASURE),  # whether a tuning is wanted is not known
        ({"depth_mm": None, "mass_kg": 13}, {}, NO),  # what is not known excuses nothing that is
        ({"size_in": 12}, {}, NO),
    ],
)
def test_pairs_on_the_limit_and_with_figures_unknown(bench: Bench, own: Row, boxed: Row, code: int) -> None:
    job = lay_shop(bench, 1)
    bench.con.execute("delete from subwoofer_rows")
    bench.con.execute("delete from enclosure_rows")
    bench.lay(driver(**own), box(**boxed), vehicle(dash_opening(), speaker_opening(), amp_spot(), cargo_space()))
    (stock,) = side_of(bench, replace(job, choose=("door", "bass")), 1).stocks
    pairs = [MEASURE if is_open else FITS for member in stock.members for _, is_open in member.boxes()]
    made = sum(1 for one in stock.made)
    assert pairs == ([] if code == NO else [code])
    assert stock.boxes.parts == len(pairs)
    assert stock.boxes.sure == pairs.count(FITS)
    assert (stock.drivers.parts, sum(stock.ways.values())) == (int(bool(pairs or made)), len(pairs) + made)


@pytest.mark.parametrize("seed", first(4, SEEDS))
def test_what_is_counted_by_bits_is_what_is_there(bench: Bench, seed: int) -> None:
    side = side_of(bench, lay_shop(bench, seed), 1)
    every = list(side.systems)
    assert len(every) == sum(stock.ways.total() for stock in side.stocks)
    assert side.ways == sum(len(coil_nets_of(one.drivers, one.signature)) for one in every)
    for stock in side.stocks:
        here = [one for one in every if one.box.opening_id == stock.opening_id]
        for tally, at in zip(side.tallies(stock.opening_id), (0, 1), strict=True):
            assert tally.parts == len({one.name[at] for one in here} - {""})
            assert tally.sure == len({one.name[at] for one in here if not one.unsure} - {""})


def within(some: list[BassSystem], group: BassGroup, sure: bool) -> list[BassSystem]:
    """The systems of a group."""
    return [
        one
        for one in some
        if one.signature == group.signature
        and coil_nets_of(one.drivers, one.signature) == group.nets
        and not (sure and one.unsure)
    ]


@pytest.mark.parametrize("sure", [False, True])
@pytest.mark.parametrize("seed", first(4, SEEDS))
def test_a_group_bounds_its_systems_and_works_out_those_that_bring_enough(bench: Bench, seed: int, sure: bool) -> None:
    job, draw = lay_shop(bench, seed), Random(seed)
    for k in (1, 3):
        side = side_of(bench, job, k)
        every = list(side.systems)
        for group in side.groups:
            mine, top = within(every, group, sure), group.top(MULTIPLIERS, sure)
            assert (top is None) == (not mine)
            if top is None:
                continue
            best = unbeaten(mine, k, side.scoring.unknown(True))
            gain = draw.choice([None, 1800, 2300])
            for need in (drawn_need(draw, mine), drawn_need(draw, mine), WHATEVER):
                told = group.worth(need, gain, sure)
                assert {one.name for one in told} <= {one.name for one in mine}
                assert {one.name for one in best if is_worth(side, one, gain, need)} <= {one.name for one in told}
            assert [(one.name, merit_of(one)) for one in told] == [(one.name, merit_of(one)) for one in best]
            for one in mine:
                bounds_it = zip(relaxed(one.points, one.cents), top.values, strict=True)
                assert all(value <= most for value, most in bounds_it)
                assert one.cents >= top.cents
                _, power, travel, _ = merit_of(one)
                assert power < 0 or any(power <= each[0] and travel <= each[1] for each in top.fronts)


def drawn_need(draw: Random, some: list[BassSystem]) -> Values:
    """What about one of some systems brings."""
    one = draw.choice(some)
    return tuple(value + draw.choice([0, 0, 1000]) * SCALE for value in relaxed(one.points, one.cents))


def is_worth(side: BassSide, one: BassSystem, gain: int | None, need: Values) -> bool:
    """Whether a system brings so much with this gain."""
    _, power, travel, _ = merit_of(one)
    earned = 0 if gain is None or power < 0 else side.scoring.bass(min(power + gain, travel))
    return brings(one.points + earned, one.cents, need)


EVERY = MOST_RIVALS + 1
"""So many are asked for that none is left out for another one."""


@pytest.mark.parametrize("seed", first(4, SEEDS))
def test_the_leaders_are_of_the_group_and_bounded_like_all_of_it(bench: Bench, seed: int) -> None:
    job = lay_shop(bench, seed)
    whole, leading = side_of(bench, job, EVERY), side_of(bench, job, 2, leading=True)
    for group, leaders in zip(whole.groups, leading.groups, strict=True):
        for sure in (False, True):
            assert leaders.top(MULTIPLIERS, sure) == group.top(MULTIPLIERS, sure)
            told = leaders.worth(WHATEVER, 2000, sure)
            assert {one.name for one in told} <= {one.name for one in group.worth(WHATEVER, 2000, sure)}
            assert bool(told) == (group.top(MULTIPLIERS, sure) is not None)


def drawn_terms(draw: Random) -> DriverTerms:
    """A driver as the formulas take it, now and then with a figure that is unknown or beyond all range."""
    usual = [(18, 70), (0.2, 1.2), (5, 200), (78, 95), (100, 500), (3, 20)]
    odd: list[float | None] = [None, 0.0, 1e-9, 25.0, 1e9]
    terms = [draw.choice(odd) if draw.random() < 0.05 else round(draw.uniform(*ends), 2) for ends in usual]
    return tuple(terms)


def test_no_level_exceeds_its_bound() -> None:
    draw = Random(7)
    terms = {str(number): drawn_terms(draw) for number in range(150)}
    figures = (None, *(Decimal(one) / 2 for one in range(1, 300)))
    some = [
        Sounds(count, [Boxed(kind, draw.choice(figures), draw.choice(figures)) for kind in (None, *KINDS * 20)])
        for count in (1, 2, 4)
    ]
    with duckdb.connect() as con:
        bounds = power_bounds(con, terms, [(name, at) for name in terms for at in range(3)], some)
    seen: Counter[str] = Counter()
    for (name, at), powers in bounds.items():
        for boxed, most in zip(some[at].boxed, powers, strict=True):
            power, travel = levels_of(terms[name], some[at].drivers, boxed)
            cone, lift = cone_db(terms[name], some[at].drivers), lift_cdb(boxed)
            if travel is not None:
                assert cone is not None and lift is not None and travel <= math.ceil(100 * cone) + lift
            if most == UNKNOWN_CDB:
                assert power is None or travel is None
                seen["unknown"] += 1
            elif most != BEYOND_CDB:
                assert power is not None and most - WIDE_CDB <= power <= most
                seen["known"] += 1
            seen["beyond"] += most == BEYOND_CDB
    assert min(seen.values()) > 50, seen


KINDS = ("sealed", "vented")


def test_two_cargo_spaces_are_one_side(bench: Bench) -> None:
    job = replace(lay_shop(bench, 3), choose=("door", "bass"))
    spaces = [cargo_space(), cargo_space(opening_id="shelf")]
    bench.lay(vehicle(dash_opening(), speaker_opening(), amp_spot(w_mm=500), *spaces, electrical=ELECTRICAL))
    side = side_of(bench, job, 2)
    assert {one.box.opening_id for one in side.systems} == {"cargo", "shelf"}
    for group in side.groups:
        names = {one.name for one in within(list(side.systems), group, False)}
        assert {name[2].partition(" ")[2] for name in names} == {"cargo", "shelf"}
