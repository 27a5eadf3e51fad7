"""Wishes about parts: the parts that a job may use, as masks over families."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import Column, Columns, columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import MICRO
from matcher.kernel.verdicts import worst
from matcher.rules.rule import FITS, NO, rules_of
from matcher.rules.wanted import DELIVERY
from matcher.search.catalog.owned import with_owned
from matcher.search.catalog.parts import Parts
from matcher.settings import Settings
from matcher.store.catalog.owned import Owned, owned_of
from matcher.store.database.connection import Connection

if TYPE_CHECKING:
    from catalog_schema.jobs import Job

MOST_PIECES = {"speaker": 2, "subwoofer": 4, "adapter": 2}
"""Most pieces of one part per slot, 1 by default: this many packs in stock always suffice."""


@dataclass(frozen=True, slots=True)
class PartWishes:
    """The parts that a question may use."""

    without_parts: frozenset[str] = frozenset()
    without_makers: frozenset[str] = frozenset()
    """In lower case."""
    without_suppliers: frozenset[str] = frozenset()
    """In lower case."""
    within_days: int | None = None
    known_delivery: bool = False
    """Whether to exclude parts with an unknown delivery time as well."""
    owned: tuple[Owned, ...] = ()
    """The customer's own parts."""
    only: tuple[str, str] | None = None
    """A family, and the only part allowed of it."""

    def pinned(self, family: str, part_id: str) -> PartWishes:
        """Return the wishes with only one part allowed in its family."""
        return replace(self, only=(family, part_id))

    def at(self, opening_id: str) -> PartWishes:
        """Return the wishes at an opening, without the customer's parts that go elsewhere."""
        return replace(self, owned=tuple(one for one in self.owned if one.opening_id in (None, opening_id)))


ANY = PartWishes()
"""No wish about parts."""


def wishes_of(job: Job, *, known_delivery: bool = False) -> PartWishes:
    """Return a job's wishes about parts, except pinned ones."""
    without, days = job.limits.without, job.limits.deliver_within_days
    return PartWishes(
        frozenset(without.parts or ()),
        frozenset(name.casefold() for name in without.makers or ()),
        frozenset(name.casefold() for name in without.suppliers or ()),
        days,
        known_delivery and days is not None,
        owned_of(job),
    )


def wished_parts(con: Connection, parts: Parts, wishes: PartWishes, settings: Settings) -> Parts:
    """Return the parts of a family that some wishes allow; the same object if they allow all.

    No wish excludes a part that the customer owns.
    """
    parts = with_owned(con, parts, wishes.owned)
    family, kept = parts.family, np.ones(len(parts), np.bool_)
    if left_out := _left_out(con, family, wishes):
        kept[[row for name in left_out if (row := parts.row(name)) is not None]] = False
    kept &= in_time(parts, wishes, settings, MOST_PIECES.get(family, 1))
    kept |= np.isin(parts.part_ids, [one.part_id for one in wishes.owned])
    if wishes.only is not None and wishes.only[0] == family:
        kept &= parts.part_ids == wishes.only[1]
    return parts if kept.all() else parts.take(kept)


def _left_out(con: Connection, family: str, wishes: PartWishes) -> Sequence[str]:
    """Parts excluded by name, maker or supplier."""
    if not (wishes.without_parts or wishes.without_makers or wishes.without_suppliers):
        return []
    query = (
        f'select part_id from "{family}" where list_contains($1::varchar[], part_id) '
        "or list_contains($2::varchar[], lower(maker)) "
        f"union select part_id from {family}_rows where list_contains($3::varchar[], lower(supplier))"
    )
    names = (wishes.without_parts, wishes.without_makers, wishes.without_suppliers)
    return [name for (name,) in con.execute(query, [sorted(some) for some in names]).fetchall()]


def in_time(parts: Parts, wishes: PartWishes, settings: Settings, packs: int) -> NDArray[Any]:
    """Return whether this many packs of each part arrive in time."""
    if wishes.within_days is None:
        return np.ones(len(parts), np.bool_)
    codes = delivery_codes(parts, wishes.within_days, settings, packs)
    return np.asarray(codes == FITS if wishes.known_delivery else codes != NO)


def delivery_codes(parts: Parts, within_days: int, settings: Settings, packs: int) -> NDArray[Any]:
    """Return the verdict codes of delivery for this many packs of each part."""
    wanted = delivery_columns(parts, within_days, packs)
    return np.broadcast_to(worst(rules_of(DELIVERY), Evaluation(parts.columns | wanted, settings)), len(parts))


def delivery_columns(parts: Parts, within_days: int | None, packs: int) -> Columns:
    """Return the subject for the rules of delivery, for this many packs of some parts."""
    stock = parts.cells["stock"]
    in_stock = Column(np.asarray(stock.known) & (stock.values >= packs * MICRO))
    return columns_of("wanted", [{"deliver_within_days": within_days}]) | {"wanted.in_stock": in_stock}
