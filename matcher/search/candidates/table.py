"""The candidates of one slot as arrays: a family's part in the ranking.

The ranking reads only arrays. A candidate with its price in packs and its points by criterion is created only for an
answer.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from matcher.rules.rule import FITS
from matcher.search.exact.choices import USES, Ints, Slot
from matcher.search.feeds.parts import BOUNDLESS, NO_USE, Candidate
from matcher.search.scoring import NOT_KNOWN

Name = tuple[str, str]
Flags = npt.NDArray[np.bool_]
Alternative = tuple[Candidate, ...]
"""One way to fill a slot with several parts together."""
EQUIPMENT = "equipment"
"""Accessories that provide what a head unit lacks."""
SET_TURN = 2


class MadeWhenAsked(Sequence[Candidate]):
    """Candidates that are created on demand and then cached."""

    def __init__(self, count: int, make: Callable[[int], Candidate]) -> None:
        self._count, self._make = count, make
        self._made: dict[int, Candidate] = {}

    def __len__(self) -> int:
        return self._count

    def __getitem__(self, row: Any) -> Any:
        if row not in self._made:
            if not 0 <= row < self._count:
                raise IndexError(row)
            self._made[row] = self._make(row)
        return self._made[row]


@dataclass
class CandidateTable:
    """The candidates of one slot, one row each.

    Parameters
    ----------
    points, cents
        Hundredths of a point and of the currency, including accompanying parts.
    uses
        Amounts of the limited sums, in the order of `USES`; None: nothing.
    code
        Verdict code of its own fit, whose loss a feed that is no riskier does not add to.
    open
        Whether anything about it is open.
    group
        Electrical class, as an index into `classes`.
    classes
        Properties that matter to feeds and lines.
    level
        Level at 1 W in hundredths of a decibel; `NOT_KNOWN` if unknown or not applicable.
    travel
        Level limit by the cone's travel, in hundredths of a decibel; `BOUNDLESS` if there is none.
    cause
        Equal for rows with the same open figures, if requested.
    ids
        Names of part and adapter, shape (rows, 2).
    goods
        Equal for rows of one part with any adapter.
    candidates
        The candidates themselves, created on demand.
    """

    points: Ints
    cents: Ints
    uses: Ints | None
    code: Ints
    open: Flags
    group: Ints
    classes: Sequence[Any]
    level: Ints
    goods: Ints
    candidates: Sequence[Candidate]
    travel: Ints = field(default_factory=lambda: np.zeros(0, np.int64))
    cause: Ints = field(default_factory=lambda: np.zeros(0, np.int64))
    ids: NDArray[np.object_] = field(default_factory=lambda: np.zeros((0, 2), object))

    def __post_init__(self) -> None:
        if not len(self.travel):
            self.travel = np.full(len(self.points), BOUNDLESS, np.int64)
        if not len(self.cause):
            self.cause = np.arange(len(self.points))
        if not len(self.ids):
            self.ids = np.full((len(self.points), 2), "", object)

    def __len__(self) -> int:
        return len(self.points)

    def name(self, row: int) -> Name:
        """Part and adapter, as the total order compares them."""
        return self.candidates[row].name

    def rows_in(self, group: int) -> Ints:
        """Return the rows of an electrical class."""
        return np.flatnonzero(self.group == group)

    def some(self, rows: Ints | Flags) -> CandidateTable:
        """Return the table restricted to some rows."""
        kept: Ints = np.flatnonzero(rows) if rows.dtype == np.bool_ else rows.astype(np.int64)
        return CandidateTable(
            self.points[kept],
            self.cents[kept],
            None if self.uses is None else self.uses[kept],
            self.code[kept],
            self.open[kept],
            self.group[kept],
            self.classes,
            self.level[kept],
            self.goods[kept],
            MadeWhenAsked(len(kept), lambda row: self.candidates[int(kept[row])]),
            self.travel[kept],
            self.cause[kept],
            self.ids[kept],
        )

    def joined(self, other: CandidateTable) -> CandidateTable:
        """Join two tables of a slot that uses none of the limited sums."""
        number = {one: at for at, one in enumerate(dict.fromkeys((*self.classes, *other.classes)))}
        groups = [np.array([number[one] for one in some.classes], np.int64)[some.group] for some in (self, other)]
        names = ("points", "cents", "code", "open", "level", "goods", "travel", "cause", "ids")
        count = len(self)
        made = MadeWhenAsked(
            count + len(other), lambda row: self.candidates[row] if row < count else other.candidates[row - count]
        )
        each = {name: np.concatenate([getattr(self, name), getattr(other, name)]) for name in names}
        return CandidateTable(**each, uses=None, group=np.concatenate(groups), classes=list(number), candidates=made)

    def holds(self, names: Collection[str]) -> Flags:
        """Return which rows have one of some parts or adapters."""
        return np.array([part in names or adapter in names for part, adapter in self.ids.tolist()], np.bool_)

    def slot(self, rows: Ints, tag: Any, turn: int, more: Ints | int = 0) -> Slot:
        """Return a slot of some rows with additional points."""
        uses = None if self.uses is None else self.uses[rows]
        return TableSlot(self.points[rows] + more, self.cents[rows], uses, (tag, self, rows), turn)


class Tabled(Sequence[Candidate]):
    """The candidates of a slot, created from their table, with results computed from it."""

    def __init__(self, table: CandidateTable) -> None:
        self.table = table
        self.made: dict[object, Any] = {}

    def __len__(self) -> int:
        return len(self.table)

    def __getitem__(self, row: Any) -> Any:
        return self.table.candidates[row]


class TableSlot(Slot):
    """A slot of a table's rows, tagged with its name, the table and the rows."""

    @cached_property
    def thinned(self) -> Slot:
        """The non-dominated entries of each good: fewer cents for as many points and uses."""
        tag, table, rows = self.tag
        goods = table.goods[rows]
        if self.uses is not None:
            goods = np.unique(np.column_stack([goods, self.uses]), axis=0, return_inverse=True)[1].ravel()
        order = np.lexsort((self.cents, -self.points, goods))
        falling = self.cents[order] - goods[order] * 2**40
        kept = np.sort(order[np.r_[True, falling[1:] < np.minimum.accumulate(falling)[:-1]]])
        uses = None if self.uses is None else self.uses[kept]
        return TableSlot(self.points[kept], self.cents[kept], uses, (tag, table, rows[kept]), self.turn)

    @property
    def fills(self) -> Any:
        """Name of the slot."""
        return self.tag[0]

    def row(self, position: int) -> int:
        """Return the table's row of an entry."""
        return int(self.tag[2][position])

    def candidate(self, position: int) -> Candidate:
        """Return the candidate of an entry."""
        found: Candidate = self.tag[1].candidates[self.row(position)]
        return found

    def name(self, position: int) -> Name:
        """Return the name of an entry."""
        found: Name = self.tag[1].name(self.row(position))
        return found

    def doubt(self, position: int) -> bool:
        """Return whether an entry's own fit is open."""
        return bool(self.tag[1].code[self.row(position)] != FITS)


def table_of(candidates: Sequence[Candidate], classes: Sequence[Any] | None = None) -> CandidateTable:
    """Return the table of some candidates, with the order of their electrical classes."""
    if isinstance(candidates, Tabled):
        return candidates.table
    numbered: dict[Any, int] = {one: at for at, one in enumerate(classes or ())}
    group = [numbered.setdefault(one.signature, len(numbered)) for one in candidates]
    goods: dict[object, int] = {}
    levels = [NOT_KNOWN if one.level_cdb is None else one.level_cdb for one in candidates]
    uses = np.array([one.uses for one in candidates], dtype=np.int64).reshape(-1, USES)
    return CandidateTable(
        points=_whole(one.total_points for one in candidates),
        cents=_whole(one.cents for one in candidates),
        uses=uses if uses.any() else None,
        code=_whole(one.code for one in candidates),
        open=_flags(one.is_open for one in candidates),
        group=_whole(group),
        classes=list(numbered),
        level=_whole(levels),
        goods=_whole(goods.setdefault(one.part_id, len(goods)) for one in candidates),
        candidates=candidates,
        travel=_whole(one.travel_cdb for one in candidates),
        ids=np.array([(one.part_id or "", one.adapter_id or "") for one in candidates], object).reshape(-1, 2),
    )


def _whole(numbers: Any) -> Ints:
    return np.array(list(numbers), dtype=np.int64)


def _flags(flags: Any) -> npt.NDArray[np.bool_]:
    return np.array(list(flags), dtype=np.bool_)


class SetSlot(Slot):
    """A choice among sets of parts that go together.

    Parameters
    ----------
    order
        Position among the independent slots; None: its parts accompany another one.
    """

    def __init__(self, order: int | None, fills: str, alternatives: Sequence[Sequence[Candidate]]) -> None:
        points = [sum(one.total_points for one in some) for some in alternatives]
        cents = [sum(one.cents for one in some) for some in alternatives]
        uses = [tuple(map(sum, zip(NO_USE, *(one.uses for one in some), strict=True))) for some in alternatives]
        taken = np.array(uses, dtype=np.int64).reshape(-1, USES)
        whole = [np.array(one, dtype=np.int64) for one in (points, cents)]
        super().__init__(whole[0], whole[1], taken if taken.any() else None, fills, SET_TURN)
        self.order, self.fills, self._alternatives = order, fills, alternatives

    def candidates(self, position: int) -> Sequence[Candidate]:
        """Return the parts of an entry."""
        return self._alternatives[position]

    def names(self, position: int) -> list[str]:
        """Return their names, as the total order compares them."""
        return [str(one.part_id) for one in self._alternatives[position]]

    def doubt(self, position: int) -> bool:
        """Return whether the fit of any of them is open."""
        return any(one.unsure for one in self._alternatives[position])


@dataclass(frozen=True, slots=True)
class Beside:
    """A slot that no link involves."""

    slot: str
    alternatives: list[Alternative]
    """Sets that can be in one of the best packages."""
    ways: int
    """All sets that the slot's rules allow, including dominated ones."""
    known: frozenset[str] = frozenset()
    """Parts with nothing open except figures of the car."""

    def with_part(self, part_id: str) -> Beside:
        """Return the slot restricted to sets with a part."""
        some = [held for held in self.alternatives if any(one.part_id == part_id for one in held)]
        return replace(self, alternatives=some, ways=len(some))
