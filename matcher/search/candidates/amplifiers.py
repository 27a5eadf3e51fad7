"""Amplifiers for every spot of a vehicle, priced and scored as far as they go by themselves.

Their boards and cables follow (`boards`, `supply`). What an amplifier brings is reckoned with the cheapest cable
for amplifiers of its figures, and without a board: that costs money and earns nothing, so it brings no more with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

from matcher.rules.amp_board import BOARD
from matcher.rules.rule import FITS, NO
from matcher.search.candidates.common import (
    COMMON,
    NO_ADAPTER,
    Filled,
    cost_of,
    microamps,
    named,
    points_of,
    points_sql,
)
from matcher.search.candidates.draws import FIGURES
from matcher.search.candidates.supply import least_supply
from matcher.search.feeds.parts import AMPLIFIER_POWER, AmplifierSignature, Candidate
from matcher.search.fits.counted import counted_sql
from matcher.search.fits.looks import Look, Merits, judged_sql, leaders_sql, needed_sql, needs_params
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import BOARD_STEP, DRILLED, Place
from matcher.search.fits.relations import measured, part_sql, same_sql, worst_code
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion, allowed_step
from matcher.search.scoring import Scoring, money_sql
from matcher.settings import Settings

SLOT = "amplifier"
PLAIN = {
    "channels": "full_channels",
    "min_ohm": "full_min_ohm",
    "bridged_min_ohm": "full_bridged_min_ohm",
    "input_min_v": "input_min_v",
    "input_max_v": "input_max_v",
    "high_level_in": "high_level_in",
    "input_min_v_tol": "input_min_v_tol",
    "input_max_v_tol": "input_max_v_tol",
}
POWERS = {
    "w_4ohm": "full_w_4ohm",
    "w_2ohm": "full_w_2ohm",
    "bridged_w_4ohm": "full_bridged_w_4ohm",
}
FOR_BASS = {"bass_channels": "bass_channels", "bass_min_ohm": "bass_min_ohm"}
BASS_POWERS = {name: name for name in ("bass_w_4ohm", "bass_w_2ohm", "bass_w_1ohm")}
"""What else counts of an amplifier where bass is asked for."""


def amplifiers(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, look: Look) -> Filled:
    """Amplifiers for every spot of the vehicle, within the step that a board takes, and how many stand on each."""
    supply = sweeps.powered(question.job.vehicle_id)
    vehicle_id = question.job.vehicle_id
    spots = [
        Place("amp_spot", "amplifier", vehicle_id, spot, allowed_step(question.job, spot))
        for spot in question.amp_spots
    ]
    found = Filled([], {})
    for place in spots:
        if supply != NO and place.allowed >= BOARD_STEP and sweeps.may_hold(place):
            relation, tally = sweeps.once((place, SLOT), partial(lay_amplifiers, sweeps, place))
            found.tallies[place.opening_id] = tally
            found.candidates.extend(_at(sweeps, question, place, relation, scoring, look))
    return found


def _at(
    sweeps: Sweeps, question: JobQuestion, place: Place, relation: str, scoring: Scoring, look: Look
) -> Iterator[Candidate]:
    supply, figures = sweeps.powered(place.vehicle_id), _figures(bool(question.bass_names), sweeps.settings)
    rows: list[tuple[Any, ...]] = sweeps.once(
        (relation, len(figures), look.key, scoring.wishes),
        lambda: _read(sweeps, question, relation, figures, scoring, look),
    )
    return (_amplifier(row, tuple(figures), place.opening_id, supply, scoring) for row in rows)


def _figures(bass: bool, settings: Settings) -> dict[str, str]:
    """SQL of every figure of a signature; of powers what counts."""
    powers = POWERS | BASS_POWERS if bass else POWERS
    plain = PLAIN | FOR_BASS if bass else PLAIN
    return plain | {name: counted_sql(column, settings) for name, column in powers.items()}


def lay_amplifiers(sweeps: Sweeps, place: Place) -> tuple[str, Tally]:
    """Amplifiers that go onto a spot, as a relation, and how many there are.

    Its columns are taken, code, cents, the kind of its figures for supply, and `HELD`.
    """
    con, settings, name = sweeps.con, sweeps.settings, sweeps.shelf.place("on_spot")
    codes = f"{worst_code(BOARD, lifted=False)} AS base, {worst_code(BOARD, lifted=True)} AS bolts"
    goods, work = money_sql("part", 1, settings)
    held = ", ".join(f'part."{column}"' for column in HELD)
    asked = f"SELECT {held}, {goods} + {work} AS cents, {measured(BOARD, settings)} FROM part, opening"
    taken = f"CASE WHEN least(base, bolts) != {NO} THEN {BOARD_STEP} WHEN base != {NO} THEN {DRILLED} END"
    con.execute(
        f"{sweeps.shelf.create} TABLE {name} AS WITH part AS ({part_sql('amplifier', settings)}), "
        "opening AS (SELECT * FROM opening_amp_spot WHERE vehicle_id = $1 AND opening_id = $2), "
        f"coded AS (SELECT *, {codes} FROM ({asked})), "
        f"stood AS (SELECT *, {taken} AS taken FROM coded WHERE {taken} <= {place.allowed}), "
        f"kinds AS (SELECT *, row_number() OVER () AS kind FROM (SELECT DISTINCT {_FIGURES} FROM stood)) "
        f"SELECT taken, CASE WHEN taken >= {DRILLED} THEN base ELSE least(base, bolts) END AS code, cents, kind, "
        f"{held} FROM stood AS part JOIN kinds ON {same_sql('kinds', 'part', FIGURES)}",
        place.key,
    )
    row = con.execute(f"SELECT count(*), count(*) FILTER (code = {FITS}) FROM {name}").fetchone()
    count, sure = row or (0, 0)
    return name, Tally(count, count, sure)


HELD = tuple(
    dict.fromkeys(
        (
            "part_id",
            *named(COMMON),
            "standby_ma",
            *FIGURES,
            *(column for figures in (PLAIN, POWERS, FOR_BASS, BASS_POWERS) for column in figures.values()),
        )
    )
)
"""What is read of an amplifier by itself."""
_FIGURES = ", ".join(f'"{column}"' for column in FIGURES)


def _read(
    sweeps: Sweeps, question: JobQuestion, relation: str, figures: dict[str, str], scoring: Scoring, look: Look
) -> list[tuple[Any, ...]]:
    """What a look asks for: (step, code, part, price, pack_of, labour_h, standby_ma, *figures), by part."""
    needs = None if look.needs is None else look.needs.of(SLOT)
    if needs == []:
        return []
    columns = ["taken", "code", "part_id", *named(COMMON), "standby_ma", *figures.values()]
    if needs is None and not look.leading:
        return sweeps.con.execute(f"SELECT {', '.join(columns)} FROM {relation} ORDER BY part_id").fetchall()
    params = _supply_params(sweeps, question, relation, scoring)
    alike = tuple(figures.get(name, "0" if name == "bass_channels" else "NULL") for name in AMPLIFIER_POWER)
    merits = Merits((*alike, "open_ways"), alike, "earned", "is_open", low="coalesce(standby_ma, 0)")
    some = judged_sql(f"({_with_cable(relation, sweeps.powered(question.job.vehicle_id), scoring)})", merits)
    some = leaders_sql(some, merits) if needs is None else needed_sql(some, merits)
    if needs is not None:
        params |= needs_params(merits, needs)
    return sweeps.con.execute(f"SELECT {', '.join(columns)} FROM ({some}) ORDER BY part_id", params).fetchall()


def _with_cable(relation: str, supply: int, scoring: Scoring) -> str:
    """SQL of amplifiers with what they earn and cost beside the cheapest cable, and whether anything stays open."""
    names = ("kind", "cable_cents", "cable_points", "open_ways")
    cables = ", ".join(f"unnest(${name}::BIGINT[]) AS {name}" for name in names)
    unsure = f"code != {FITS} OR {supply != FITS} OR standby_ma IS NULL"
    return (
        f"SELECT * REPLACE (cents + cable_cents AS cents), {points_sql(scoring, unsure)} + cable_points AS earned, "
        f"open_ways = $every_way OR {unsure} AS is_open FROM {relation} JOIN (SELECT {cables}) USING (kind)"
    )


def _supply_params(sweeps: Sweeps, question: JobQuestion, relation: str, scoring: Scoring) -> dict[str, Any]:
    """What the cheapest cable comes to for each kind of figures that the supply hangs on."""

    def make() -> dict[str, Any]:
        rows = sweeps.con.execute(f"SELECT DISTINCT kind, {_FIGURES} FROM {relation} ORDER BY kind").fetchall()
        told = least_supply(sweeps, question, scoring, [row[1:] for row in rows])
        return {
            "kind": [row[0] for row in rows],
            "cable_cents": [one.cents for one in told],
            "cable_points": [one.points for one in told],
            "open_ways": [one.open_ways for one in told],
            "every_way": 3 if question.bass_names else 1,
        }

    key = (relation, "supply", bool(question.bass_names), question.headroom.over_a is None, scoring.wishes)
    return dict(sweeps.once(key, make))


def _amplifier(row: tuple[Any, ...], figures: Sequence[str], spot: str, supply: int, scoring: Scoring) -> Candidate:
    step, code, part_id, price, pack_of, labour_h, standby_ma, *signature = row
    cost = cost_of(1, (price, pack_of, labour_h), NO_ADAPTER, scoring)
    unsure = min(code, supply) != FITS
    return Candidate(
        slot=SLOT,
        opening_id=spot,
        part_id=part_id,
        step=step,
        unsure=unsure,
        cost=cost,
        drain_ua=microamps(standby_ma),
        unsure_drain=standby_ma is None,
        points=points_of(scoring, step, cost, unsure=unsure or standby_ma is None),
        signature=AmplifierSignature(**dict(zip(figures, signature, strict=True))),
    )
