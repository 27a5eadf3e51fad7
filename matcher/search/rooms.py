"""Two amplifiers on one spot, beside each other: what each takes of it, so that the ranking can hold both to it.

They stand along its width or along its depth, each as it comes or turned. Beside each other their lengths add up,
and each has to go across by itself: so along either side an amplifier takes the least that it can, whatever
stands beside it, and `amplifier.pair_along` is a limit on a sum. What is sure adds the tolerances, what may be
takes them off; a figure that is not known takes nothing, and leaves the pair to be measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from matcher.rules.rule import FITS, MEASURE
from matcher.search.candidates.boards import made_board
from matcher.search.feeds.parts import ROOM, Candidate
from matcher.search.fits.relations import part_sql, refuses, tol_of, with_basis_tol
from matcher.search.fits.sweep import Sweeps
from matcher.search.scoring import Scoring

Side = tuple[Decimal | None, Decimal]
"""A length in mm and its tolerance."""
Sides = tuple[Side, Side]
"""Width and depth."""
MILLION = 10**6


@dataclass(frozen=True)
class Way:
    """One way to stand two amplifiers on a spot: along one of its sides, for sure or as far as is known."""

    spot: str
    along: int
    code: int
    first: dict[str, int]
    """By part, in millionths of a millimeter: what the one takes."""
    second: dict[str, int]
    """And what the other takes, with what the spot lacks of the limit that all have."""


class Rooms:
    """The spots of a vehicle, and the amplifiers that may share one."""

    def __init__(self, sweeps: Sweeps, scoring: Scoring, vehicle_id: str, amplifiers: Sequence[Candidate]) -> None:
        self._sweeps, self._scoring, self._vehicle_id = sweeps, scoring, vehicle_id
        self._names = sorted({str(one.part_id) for one in amplifiers})
        self._ways: dict[str, list[Way]] = {}

    def ways(self, spot: str, *, sure: bool) -> list[Way]:
        """Every way to stand two amplifiers on a spot; where nothing may be left to measure, what is sure alone."""
        if spot not in self._ways:
            self._ways[spot] = list(self._every_way(spot))
        return [way for way in self._ways[spot] if way.code == FITS or not sure]

    def board(self, spot: str) -> Candidate:
        """The board that two amplifiers share there: the shop makes it."""
        return made_board(spot, self._scoring)

    def _every_way(self, spot: str) -> Iterator[Way]:
        if not refuses():
            anything = dict.fromkeys(self._names, 0)
            yield Way(spot, 0, MEASURE, anything, anything)
            return
        sides = self._sweeps.once(("spot", self._vehicle_id, spot), lambda: self._sides(spot))
        parts = self._sweeps.once(("footprints", tuple(self._names)), self._footprints)
        air = self._sweeps.settings["air_side_mm"]
        for along, (beside, across) in enumerate((sides, sides[::-1])):
            for code in (FITS, MEASURE):
                limit = _limit(beside, 3 * air, code)
                taken = {name: room for name, lies in parts if (room := _taken(lies, across, air, code)) is not None}
                if limit is not None and taken and 2 * min(taken.values()) <= limit:
                    second = {name: room + ROOM - limit for name, room in taken.items()}
                    yield Way(spot, along, code, taken, second)

    def _sides(self, spot: str) -> Sides:
        opening = f"({with_basis_tol('opening_amp_spot', 'measured', self._sweeps.settings)}) o"
        statement = f"SELECT o.opening_id, {_columns('o')} FROM {opening} WHERE o.vehicle_id = ? AND o.opening_id = ?"
        ((_, sides),) = _sides(self._sweeps.con.execute(statement, [self._vehicle_id, spot]).fetchall())
        return sides

    def _footprints(self) -> list[tuple[str, Sides]]:
        part = f"({part_sql('amplifier', self._sweeps.settings)}) AS part"
        statement = f"SELECT part_id, {_columns('part')} FROM {part} WHERE part_id IN (SELECT unnest(?::VARCHAR[]))"
        return list(_sides(self._sweeps.con.execute(statement, [self._names]).fetchall()))


def _columns(alias: str) -> str:
    return ", ".join(f"{alias}.{name}, {tol_of(alias, name)}" for name in ("w_mm", "d_mm"))


def _sides(rows: Iterable[tuple[Any, ...]]) -> Iterator[tuple[str, Sides]]:
    return ((name, ((w, w_tol), (d, d_tol))) for name, w, w_tol, d, d_tol in rows)


def _limit(side: Side, air: Decimal, code: int) -> int | None:
    """What two amplifiers may take together of a side, less the air."""
    length, tol = side
    if length is None:
        return None if code == FITS else ROOM
    return int((length - air + (-tol if code == FITS else tol)) * MILLION)


def _taken(lies: Sides, across: Side, air: Decimal, code: int) -> int | None:
    """The least that an amplifier takes along a side, of the ways in which it goes across; none where it does not."""
    ways = [_length(along, code) for along, other in (lies, lies[::-1]) if _goes(other, across, 2 * air, code)]
    return min((length for length in ways if length is not None), default=None)


def _length(along: Side, code: int) -> int | None:
    length, tol = along
    if length is None:
        return None if code == FITS else -ROOM
    return int((length + (tol if code == FITS else -tol)) * MILLION)


def _goes(side: Side, across: Side, air: Decimal, code: int) -> bool:
    """Whether it goes across: for sure, or as far as is known."""
    (length, tol), (room, room_tol) = side, across
    if length is None or room is None:
        return code != FITS
    margin, slack = room - length - air, tol + room_tol
    return margin >= (slack if code == FITS else -slack)
