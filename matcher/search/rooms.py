"""Two amplifiers side by side on one spot: the room each one takes, as a limit on a sum.

They stand along its width or its depth, each as is or turned. Side by side their lengths add up, and each has to go
across by itself: so an amplifier takes the least length it can along either side, regardless of its neighbor.
`amplifier.pair_along` is a limit on a sum: the rule's need with one amplifier minus its need with none is that
amplifier's share. The worst case adds the tolerances, the best case subtracts them; an unknown figure takes no room and
leaves the pair open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.columns import Column, Columns
from matcher.kernel.distinct import Numbers
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import codes
from matcher.kernel.worked import Worth
from matcher.rules.amp_pair import ALONG, FIRST_ACROSS, SECOND_ACROSS
from matcher.rules.rule import FITS, STOPS, Rule
from matcher.rules.subjects import part
from matcher.search.candidates.boards import made_board
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.kit import pair_needs
from matcher.search.feeds.parts import ROOM, Candidate
from matcher.search.fits.refusing import refuses
from matcher.search.scoring import Scoring
from matcher.settings import Settings

IMPOSSIBLE = -4 * ROOM
NO_ROOM = 4 * ROOM
"""Room taken by an amplifier that does not go across."""
SIDES = ("w_mm", "d_mm")
NOTHING = Column(np.zeros(1, np.int64))
ACROSS = {"first": FIRST_ACROSS, "second": SECOND_ACROSS}


@dataclass(frozen=True)
class PairArrangement:
    """One way to stand two amplifiers on a spot: along one of its sides, in the worst or the best case.

    Parameters
    ----------
    first, second
        Room by amplifier as the first or the second, in millionths of a millimeter; the second includes the spot's
        shortfall from the common limit. `NO_ROOM` or more if it does not go there.
    """

    code: int
    first: Numbers
    second: Numbers


class Rooms:
    """The spots of a vehicle, and the amplifiers that can share one."""

    def __init__(self, catalog: Catalog, scoring: Scoring, vehicle_id: str) -> None:
        self._catalog, self._scoring, self._vehicle_id = catalog, scoring, vehicle_id

    def ways(self, spot: str, names: Any, *, sure: bool) -> Iterator[PairArrangement]:
        """Return every way to stand two of some amplifiers on a spot; only those that fit if nothing may be open."""
        if not refuses():
            anything = np.zeros(len(names), np.int64)
            yield PairArrangement(STOPS, anything, anything)
            return
        rows = self._catalog.parts("amplifier").rows(names)
        for along, code in product((0, 1), (FITS,) if sure else (FITS, STOPS)):
            taken: _Taken = self._catalog.once(
                ("rooms", self._vehicle_id, spot, along, code),
                partial(_taken, self._catalog, self._vehicle_id, spot, along, code),
            )
            first, second = taken.first[rows], taken.second[rows]
            if len(rows) and first.min() + second.min() <= taken.limit:
                yield PairArrangement(code, first, second + ROOM - taken.limit)

    def board(self, spot: str) -> Candidate:
        """The board that two amplifiers share: made by the shop, with the block that splits their supply."""
        return made_board(self._catalog, spot, self._scoring, *pair_needs(self._catalog.settings))


class _Taken(NamedTuple):
    """Room for two amplifiers along a side of a spot, and the room each amplifier takes as either."""

    limit: int
    first: Numbers
    second: Numbers


def _taken(catalog: Catalog, vehicle_id: str, spot: str, along: int, code: int) -> _Taken:
    """Room along a side, with every tolerance against the fit if the code is FITS, or else in its favor."""
    opening = catalog.vehicle(vehicle_id).opening("amp_spot", spot)
    beside, across = (opening[f"opening.{side}"] for side in SIDES[:: -1 if along else 1])
    there = Columns({"pair.along_mm": beside, "pair.across_mm": across})
    parts = catalog.parts("amplifier")
    sets = parts.sets([part.w_mm, part.d_mm])
    sides = [parts.columns.take(sets.first)[f"part.{side}"] for side in SIDES]
    nobody = there | {f"pair.{which}_{lie}_mm": NOTHING for which in ACROSS for lie in ("along", "across")}
    have, none = _BoardSide(nobody, catalog.settings, code).along
    limit = int(np.ravel(have.values - none.values)[0])
    if not np.all(have.known):
        limit = IMPOSSIBLE if code == FITS else ROOM

    def least(which: str) -> Numbers:
        """Room taken as is or turned, whichever is smaller."""
        return np.minimum(*(takes(which, lies) for lies in (sides, sides[::-1])))[sets.number]

    def takes(which: str, lies: Sequence[Column]) -> Numbers:
        mine = {f"pair.{which}_{lie}_mm": side for lie, side in zip(("along", "across"), lies, strict=True)}
        side = _BoardSide(nobody | mine, catalog.settings, code)
        need = side.along[1]
        unknown = NO_ROOM if code == FITS else -ROOM
        room = np.where(need.known, need.values - none.values, unknown)
        return np.where(side.goes(ACROSS[which]), room, NO_ROOM)

    return _Taken(limit, least("first"), least("second"))


class _BoardSide:
    """The rules of two amplifiers along one side of a spot, in the worst or the best case."""

    def __init__(self, columns: Columns, settings: Settings, code: int) -> None:
        self._at, self._code = Evaluation(columns, settings), code

    @property
    def along(self) -> tuple[Worth, Worth]:
        """Room available and needed by two side by side, with tolerances."""
        sign = 1 if self._code == FITS else -1
        have, need = (self._at.value(term) for term in (ALONG.have, ALONG.need))
        less, more = (sign * self._at.tol(term) for term in (ALONG.have, ALONG.need))
        return Worth(have.values - less, have.known), Worth(need.values + more, need.known)

    def goes(self, rule: Rule) -> Any:
        """Whether an amplifier goes across."""
        return codes(rule, self._at) >= self._code
