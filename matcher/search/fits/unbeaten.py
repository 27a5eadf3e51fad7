"""Leaving out, in SQL, what cannot stand in one of the k best packages: only the rest crosses into Python.

Within a group of parts that every feed sees as the same, a part is left out where k others are no dearer,
draw no more, give no less and stand before it in the total order; through several adapters one part counts once.
The rivals that a part is held against
are the best few of its group by each merit: so no part is left out that should stay, and few stay that
should not; what is left is held against all of its group once more.
"""

from __future__ import annotations

from matcher.search.fits.looks import Merits, best_sql

MOST_RIVALS = 100
"""Beyond so many packages nothing is left out here."""


PRICES = ("0", "0.1", "0.5", "2")
"""Hundredths of a point for each cent: what a budget may make of money."""


NAMES = ("points", "cents", "high", "low", "open", "name")


def unbeaten_sql(judged: str, merits: Merits, k: int) -> str:
    """SQL of the judged rows that may stay, with how many surely beat each; they have ``cents`` and ``name``."""
    if k > MOST_RIVALS:
        return f"SELECT *, 0 AS beaten FROM ({judged})"
    names = ", ".join(f"group_{at}" for at, _ in enumerate(merits.group))
    row = "{" + ", ".join(f"'{name}': {name}" for name in NAMES) + "}"
    rivals = f"list_distinct({best_sql(row, _orders(merits), k)})"
    met = " AND ".join(f"judged.group_{at} IS NOT DISTINCT FROM rivals.group_{at}" for at, _ in enumerate(merits.group))
    return (
        f"WITH judged AS MATERIALIZED ({judged}), "
        f"rivals AS (SELECT {names}, {rivals} AS rivals FROM judged GROUP BY {names}) "
        f"SELECT judged.*, {_parts(f'list_filter(rivals, lambda other: {_beats(merits)})')} AS beaten "
        f"FROM judged JOIN rivals ON {met} WHERE beaten < {k}"
    )


def _parts(rivals: str) -> str:
    """SQL of how many different parts some rivals are: packages are told apart by parts, not by adapters."""
    return f"len(list_distinct(list_transform({rivals}, lambda other: other.name[1])))"


def _orders(merits: Merits) -> list[str]:
    """What the best are picked by: each merit, and all of them together at several prices of money."""
    sum_of = "points" if merits.high == "0" else f"points + {merits.mix} * high"
    prices = [f"{sum_of} - {price} * cents" for price in PRICES]
    return [
        *prices,
        "-cents",
        *(["high", "points"] if merits.high != "0" else []),
        *(["-low"] if merits.low != "0" else []),
    ]


def _beats(merits: Merits) -> str:
    """SQL of whether a row ``other`` stands before this one whatever the feed."""
    lost = f"CASE WHEN judged.open AND NOT other.open THEN {merits.doubt} ELSE 0 END"
    return (
        "other.cents <= judged.cents AND other.high >= judged.high AND other.low <= judged.low "
        "AND (judged.open OR NOT other.open) "
        f"AND other.points + {lost} >= judged.points "
        "AND (other.cents < judged.cents OR other.name < judged.name)"
    )
