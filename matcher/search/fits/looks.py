"""Which of the parts that go in are read: all that may matter, the leaders of each class, or what still may.

The bounds of a ranking hang on classes alone: on parts that every feed sees as the same. So a catalog is
looked at twice. A first look reads the *leaders*, the best few of each class by every multiplier: what bounds
them bounds the class. The packages that they make say how good a package has to be, and the bounds then say
what a part of each class has to bring at least. A second look reads the parts that bring as much.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from matcher.search.exact.entries import MULTIPLIERS, SCALE

SLACK = 2
"""Points in hundredths by which a level's points, rounded, may differ from what is reckoned of another level's."""


class Need(NamedTuple):
    """What a part of a class has to bring at least, by multiplier, in relaxed value."""

    alike: tuple[Any, ...]
    """Its class, as the figures that `Merits.alike` names."""
    sure: bool
    """Whether nothing about it may be open."""
    level_cdb: int | None
    """The level that the value is told at: a part that is less loud brings less; none: whatever its level."""
    at_least: tuple[int, ...]


class Needs:
    """What the parts of each class have to bring, by slot: the least of all that was taken in."""

    def __init__(self) -> None:
        self._least: dict[tuple[str, tuple[Any, ...], bool, int | None], tuple[int, ...]] = {}
        self.sure = False
        """Whether what is taken in is of packages in which nothing is open."""

    def take(self, slot: str, alike: tuple[Any, ...], least: Sequence[int], level_cdb: int | None = None) -> None:
        """Take in what a package asks of one class."""
        key = (slot, alike, self.sure, level_cdb)
        self._least[key] = tuple(map(min, least, self._least.get(key, least)))

    def of(self, slot: str) -> list[Need]:
        """What is asked in one slot."""
        return [Need(*key[1:], least) for key, least in self._least.items() if key[0] == slot]


@dataclass(frozen=True, eq=False)
class Look:
    """Which parts of each slot are read."""

    k: int
    """What k others always beat is left out."""
    leading: bool = False
    """Whether of each class the leaders alone."""
    needs: Needs | None = None
    """What a part has to bring; none: whatever it brings."""
    key: object = field(init=False)
    """What tells a look from others: two that read the same are one."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", (self.k, self.leading) if self.needs is None else self)


class Merits(NamedTuple):
    """SQL of what a row is held against others by."""

    group: tuple[str, ...]
    """Who is alike to whatever is asked."""
    alike: tuple[str, ...]
    """Who is alike to every bound, in figures: so many of the former."""
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


LEAD = 2
"""So many leaders of each class by each multiplier."""


def leaders_sql(judged: str, merits: Merits) -> str:
    """SQL of the leaders of each class: the best by every multiplier, the loudest, the cheapest, what draws least."""
    values = [_value("points", times) for times in MULTIPLIERS]
    orders = [*values, "-cents", *(["-low"] if merits.low != "0" else [])]
    if merits.high != "0":
        orders += ["high", *(_value(f"(points + {merits.mix} * high)", times) for times in MULTIPLIERS)]
    names = ", ".join(f"group_{at}" for at, _ in enumerate(merits.group)) or "true"
    return (
        f"WITH judged AS MATERIALIZED (SELECT *, row_number() OVER () AS place FROM ({judged})), "
        f"best AS (SELECT DISTINCT unnest({best_sql('place', orders, LEAD)}) AS place FROM judged GROUP BY {names}) "
        "SELECT *, 0 AS beaten FROM judged SEMI JOIN best USING (place)"
    )


def best_sql(what: str, orders: Iterable[str], count: int) -> str:
    """SQL of so many of a group by each order, of all and of what is sure."""
    lists = (
        f"coalesce(arg_max({what}, {order}, {count}) {among}, [])"
        for order in orders
        for among in ("", "FILTER (NOT open)")
    )
    return f"flatten([{', '.join(lists)}])"


def needed_sql(judged: str, merits: Merits) -> str:
    """SQL of the rows that bring what is asked of their class, from the parameters of `needs_params`."""
    figures = [f"unnest($need_{at}::DECIMAL(15,6)[]) AS alike_{at}" for at, _ in enumerate(merits.alike)]
    least = [f"unnest($least_{at}::BIGINT[]) AS least_{at}" for at, _ in enumerate(MULTIPLIERS)]
    asked = ", ".join([*figures, *least, "unnest($sure::BOOLEAN[]) AS sure", "unnest($level::BIGINT[]) AS level_cdb"])
    met = [f"row.group_{at} IS NOT DISTINCT FROM need.alike_{at}" for at, _ in enumerate(merits.alike)]
    met += ["(NOT need.sure OR NOT row.open)"]
    less = f"coalesce(ceil({merits.mix} * (row.high - need.level_cdb)) + {SLACK}, 0)"
    met += [f"{_value(f'(row.points + {less})', times)} >= need.least_{at}" for at, times in enumerate(MULTIPLIERS)]
    return f"SELECT * FROM ({judged}) AS row SEMI JOIN (SELECT {asked}) AS need ON {' AND '.join(met)}"


def needs_params(merits: Merits, asked: Sequence[Need]) -> Mapping[str, list[Any]]:
    """The parameters of `needed_sql`."""
    return {
        **{f"need_{at}": [one.alike[at] for one in asked] for at, _ in enumerate(merits.alike)},
        **{f"least_{at}": [one.at_least[at] for one in asked] for at, _ in enumerate(MULTIPLIERS)},
        "sure": [one.sure for one in asked],
        "level": [one.level_cdb for one in asked],
    }


def _value(points: str, times: int) -> str:
    """SQL of a relaxed value."""
    return f"{SCALE} * {points} - {times} * cents"
