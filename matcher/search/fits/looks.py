"""Which of the parts that go in are read: those that k others of their class do not always beat."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True)
class Look:
    """Which parts of each slot are read."""

    k: int
    """What k others always beat is left out."""


class Merits(NamedTuple):
    """SQL of what a row is held against others by."""

    group: tuple[str, ...]
    """Who is alike to whatever is asked."""
    points: str
    open: str
    """Whether something about it is still to be measured."""
    high: str = "0"
    """A merit beside the points: the more the better, whatever the feed."""
    low: str = "0"
    """What it takes of a limited thing."""
    doubt: int = 0
    """What a feed that is not sure takes off from a row that is sure by itself."""
    mix: str = "1"
    """Points for each unit of the merit beside them."""


def judged_sql(relation: str, merits: Merits) -> str:
    """SQL of a relation with its merits, and the columns ``group_0``… that tell who is alike."""
    group = "".join(f", {each} AS group_{at}" for at, each in enumerate(merits.group))
    return (
        f"SELECT *{group}, {merits.points} AS points, {merits.high} AS high, {merits.low} AS low, "
        f"{merits.open} AS open FROM {relation}"
    )


def best_sql(what: str, orders: Iterable[str], count: int) -> str:
    """SQL of so many of a group by each order, of all and of what is sure."""
    lists = (
        f"coalesce(arg_max({what}, {order}, {count}) {among}, [])"
        for order in orders
        for among in ("", "FILTER (NOT open)")
    )
    return f"flatten([{', '.join(lists)}])"
