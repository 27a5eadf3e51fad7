"""The board that holds an amplifier at its spot: of the catalog, or made by the shop.

A board follows from the spot and the amplifier's sizes, so it is no choice of its own: it comes along as cable does.
It is the cheapest of the catalog that surely lies on the spot and surely holds the amplifier with its air; where
there is none the shop makes one. Two amplifiers on one spot stand on one board, and that the
shop makes: which board of the catalog would hold both depends on both, and no slot knows of another.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

from matcher.rules.mount import BOARD_ON_SPOT, ON_BOARD
from matcher.rules.rule import FITS
from matcher.search.feeds.parts import Candidate, Cost, cents
from matcher.search.fits.place import BOARD_STEP
from matcher.search.fits.relations import measured, part_sql, worst_code
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring

SLOT = "board"
Bought = tuple[str, int, int]
"""A board of the catalog: part, price and labor in cents."""


class Board(NamedTuple):
    """A board of the catalog: its money in cents, its least face and its greatest thickness."""

    cents: int
    part_id: str
    short_mm: Decimal
    long_mm: Decimal
    thick_mm: Decimal


def boarded(
    sweeps: Sweeps, question: JobQuestion, scoring: Scoring, amplifiers: Sequence[Candidate]
) -> list[Candidate]:
    """The amplifiers, each with the board that it stands on."""
    on_spot: dict[str, list[str]] = {}
    for one in amplifiers:
        on_spot.setdefault(str(one.opening_id), []).append(str(one.part_id))
    vehicle_id = question.job.vehicle_id
    boards = {spot: _boards(sweeps, vehicle_id, spot, names, scoring) for spot, names in on_spot.items()}
    return [
        replace(one, along=(*one.along, held.get(str(one.part_id)) or made))
        for one in amplifiers
        for held, made in [boards[str(one.opening_id)]]
    ]


def sharing(one: Candidate, made: Candidate | None) -> Candidate:
    """An amplifier on a board that the shop makes for it and another one; none: on that of the other."""
    others = tuple(each for each in one.along if each.slot != SLOT)
    return replace(one, along=others if made is None else (*others, made))


def made_board(spot: str, scoring: Scoring) -> Candidate:
    """A board that the shop makes, at its own price, the same for every spot."""
    settings = scoring.settings
    goods = cents(settings["made_board_price"])
    return _board(None, spot, goods, cents(settings["made_board_labour_h"] * settings["labour_rate"]), scoring)


def _boards(
    sweeps: Sweeps, vehicle_id: str, spot: str, names: Iterable[str], scoring: Scoring
) -> tuple[dict[str, Candidate], Candidate]:
    """By amplifier the board of the catalog that holds it at a spot; and what the shop makes where there is none."""
    asked = tuple(sorted(set(names)))
    held: dict[str, Bought] = sweeps.once(
        ("boards", vehicle_id, spot, asked), lambda: cheapest_boards(sweeps, vehicle_id, spot, asked)
    )
    bought = {one: _board(one[0], spot, one[1], one[2], scoring) for one in set(held.values())}
    return {name: bought[one] for name, one in held.items()}, made_board(spot, scoring)


def cheapest_boards(sweeps: Sweeps, vehicle_id: str, spot: str, names: Sequence[str]) -> dict[str, Bought]:
    """By amplifier the first board in the total order that surely does."""
    settings = sweeps.settings
    lying = _lying(sweeps, vehicle_id, spot)
    if not lying:
        return {}
    statement = (
        f"WITH part AS ({part_sql('amplifier', settings)}), board AS ({board_sql(sweeps)}), {SPOT}, "
        f"asked AS (SELECT part.part_id, board.part_id AS board_id, goods, work, {measured(ON_BOARD, settings)} "
        "FROM part, board, opening WHERE part.part_id IN (SELECT unnest($3::VARCHAR[])) "
        "AND board.part_id IN (SELECT unnest($4::VARCHAR[]))), "
        f"coded AS (SELECT *, {worst_code(ON_BOARD, lifted=False)} AS code FROM asked) "
        f"SELECT part_id, board_id, goods, work FROM coded WHERE code = {FITS} "
        "QUALIFY row_number() OVER (PARTITION BY part_id ORDER BY goods + work, board_id) = 1"
    )
    rows = sweeps.con.execute(statement, [vehicle_id, spot, list(names), lying]).fetchall()
    return {name: (board_id, int(goods), int(work)) for name, board_id, goods, work in rows}


SPOT = "opening AS (SELECT * FROM opening_amp_spot WHERE vehicle_id = $1 AND opening_id = $2)"


def board_sql(sweeps: Sweeps) -> str:
    """SQL of the boards of the catalog, each with its money in cents."""
    rate = sweeps.settings["labour_rate"]
    return (
        "SELECT *, round(price * 100)::BIGINT AS goods, "
        f"round(coalesce(labour_h, 0) * {rate} * 100)::BIGINT AS work "
        f"FROM ({part_sql('accessory', sweeps.settings)}) WHERE kind = '{SLOT}'"
    )


def _lying(sweeps: Sweeps, vehicle_id: str, spot: str) -> list[str]:
    """The boards that surely lie on a spot, but for those that another one no dearer always stands in for."""
    settings = sweeps.settings
    face = [f"board.{side} - coalesce(board.{side}_tol, board.basis_tol)" for side in ("w_mm", "h_mm")]
    statement = (
        f"WITH board AS ({board_sql(sweeps)}), {SPOT}, "
        f"asked AS (SELECT goods + work AS cents, board.part_id, least({', '.join(face)}) AS short_mm, "
        f"greatest({', '.join(face)}) AS long_mm, board.d_mm + coalesce(board.d_mm_tol, board.basis_tol) AS thick_mm, "
        f"{measured(BOARD_ON_SPOT, settings)} FROM board, opening WHERE board.d_mm IS NOT NULL), "
        f"coded AS (SELECT *, {worst_code(BOARD_ON_SPOT, lifted=False)} AS code FROM asked) "
        f"SELECT cents, part_id, short_mm, long_mm, thick_mm FROM coded WHERE code = {FITS} ORDER BY cents, part_id"
    )
    kept: list[Board] = []
    for one in map(Board._make, sweeps.con.execute(statement, [vehicle_id, spot]).fetchall()):
        if not any(_stands_in(other, one) for other in kept):
            kept.append(one)
    return [one.part_id for one in kept]


def _stands_in(other: Board, one: Board) -> bool:
    larger = other.short_mm >= one.short_mm and other.long_mm >= one.long_mm
    return larger and other.thick_mm <= one.thick_mm


def _board(part_id: str | None, spot: str, goods: int, work: int, scoring: Scoring) -> Candidate:
    cost = Cost(1, 1, 0, goods, work)
    return Candidate(
        slot=SLOT,
        opening_id=spot,
        part_id=part_id,
        step=BOARD_STEP,
        cost=cost,
        points=(("price", scoring.price(cost.cents)),),
    )
