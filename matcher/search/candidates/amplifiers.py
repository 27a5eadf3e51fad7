"""Amplifiers for every spot of a vehicle, priced and scored as far as they go by themselves.

Their boards and cables follow (`boards`, `supply`).
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
)
from matcher.search.candidates.draws import FIGURES
from matcher.search.catalog.counted import counted_sql
from matcher.search.feeds.parts import AmplifierSignature, Candidate
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import BOARD_STEP, DRILLED, Place
from matcher.search.fits.relations import measured, part_sql, worst_code
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion, allowed_step
from matcher.search.scoring import Scoring
from matcher.settings import Settings
from matcher.store.shelf import OWN

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


def amplifiers(sweeps: Sweeps, question: JobQuestion, scoring: Scoring) -> Filled:
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
            found.candidates.extend(_at(sweeps, question, place, relation, scoring))
    return found


def _at(sweeps: Sweeps, question: JobQuestion, place: Place, relation: str, scoring: Scoring) -> Iterator[Candidate]:
    supply, figures = sweeps.powered(place.vehicle_id), _figures(bool(question.bass_names), sweeps.settings)
    rows: list[tuple[Any, ...]] = sweeps.once(
        (relation, len(figures)),
        lambda: _read(sweeps, relation, figures),
    )
    return (_amplifier(row, tuple(figures), place.opening_id, supply, scoring) for row in rows)


def _figures(bass: bool, settings: Settings) -> dict[str, str]:
    """SQL of every figure of a signature; of powers what counts."""
    powers = POWERS | BASS_POWERS if bass else POWERS
    plain = PLAIN | FOR_BASS if bass else PLAIN
    return plain | {name: counted_sql(column, settings) for name, column in powers.items()}


def lay_amplifiers(sweeps: Sweeps, place: Place) -> tuple[str, Tally]:
    """Amplifiers that go onto a spot, as a relation, and how many there are.

    Its columns are taken, code, and `HELD`.
    """
    con, settings, name = sweeps.con, sweeps.settings, OWN.place("on_spot")
    codes = f"{worst_code(BOARD, lifted=False)} AS base, {worst_code(BOARD, lifted=True)} AS bolts"
    held = ", ".join(f'part."{column}"' for column in HELD)
    asked = f"SELECT {held}, {measured(BOARD, settings)} FROM part, opening"
    taken = f"CASE WHEN least(base, bolts) != {NO} THEN {BOARD_STEP} WHEN base != {NO} THEN {DRILLED} END"
    con.execute(
        f"{OWN.create} TABLE {name} AS WITH part AS ({part_sql('amplifier', settings)}), "
        "opening AS (SELECT * FROM opening_amp_spot WHERE vehicle_id = $1 AND opening_id = $2), "
        f"coded AS (SELECT *, {codes} FROM ({asked})), "
        f"stood AS (SELECT *, {taken} AS taken FROM coded WHERE {taken} <= {place.allowed}), "
        f"SELECT taken, CASE WHEN taken >= {DRILLED} THEN base ELSE least(base, bolts) END AS code, {held} "
        "FROM stood AS part",
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


def _read(sweeps: Sweeps, relation: str, figures: dict[str, str]) -> list[tuple[Any, ...]]:
    """The amplifiers: (step, code, part, price, pack_of, labour_h, standby_ma, *figures), by part."""
    columns = ["taken", "code", "part_id", *named(COMMON), "standby_ma", *figures.values()]
    return sweeps.con.execute(f"SELECT {', '.join(columns)} FROM {relation} ORDER BY part_id").fetchall()


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
