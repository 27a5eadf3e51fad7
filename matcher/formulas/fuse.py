"""Fuses: standard ratings and colors, the largest one for a cable, and its position."""

from __future__ import annotations

from catalog_schema.sources import from_memory, published
from matcher.formulas.known import positive
from matcher.formulas.register import formula

# ISO 8820-3 blade fuses, then the large size of the same family. Lists disagree on 3, 5 and 35 A.
BLADE_COLOR: dict[float, str] = {
    1: "black", 2: "gray", 3: "violet", 4: "pink", 5: "tan", 7.5: "brown", 10: "red", 15: "blue",
    20: "yellow", 25: "clear", 30: "green", 35: "blue-green", 40: "orange",
}  # fmt: skip
LARGE_BLADE_COLOR: dict[float, str] = {50: "red", 60: "blue", 70: "light brown", 80: "clear", 100: "violet"}
# Bolt-in links of ISO 8820-5 run from 30 to 500 A; the steps between are from memory.
BOLT_IN_A = (125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 500.0)

NEAR_MM = 7 * 25.4


@formula(
    source=from_memory("steps over 100 A; ISO 8820-3 blade and ISO 8820-5 bolt-in ratings up to there published"),
    valid="1 to 500 A",
)
def standard_fuses_a() -> tuple[float, ...]:
    """The ratings that fuses are sold in, smallest first.

    Examples
    --------
    >>> standard_fuses_a()[:6]
    (1.0, 2.0, 3.0, 4.0, 5.0, 7.5)
    """
    return (*(float(rating) for rating in (*BLADE_COLOR, *LARGE_BLADE_COLOR)), *BOLT_IN_A)


@formula(
    source=published("ISO 8820-3, DIN 72581-3, SAE J1284; over 40 A the large size of the same family, SAE J1888"),
    valid="the standard blade ratings from 1 to 100 A",
)
def blade_color(rating_a: float | None) -> str | None:
    """The color of the blade fuse of this rating.

    Examples
    --------
    >>> blade_color(20), blade_color(7.5), blade_color(60)
    ('yellow', 'brown', 'blue')
    """
    known = positive(rating_a)
    return None if known is None else {**BLADE_COLOR, **LARGE_BLADE_COLOR}.get(known[0])


@formula(source=published("at most the ampacity: 46 CFR 183.380(d)"), valid="conductors that carry 1 A and more")
def largest_fuse_a(ampacity_a: float | None) -> float | None:
    """The largest standard fuse that protects a conductor.

    Parameters
    ----------
    ampacity_a
        Continuous current of the conductor, A.

    Returns
    -------
    Rating in A.

    Examples
    --------
    >>> largest_fuse_a(15)
    15.0
    """
    known = positive(ampacity_a)
    ratings = [rating for rating in standard_fuses_a() if known is not None and rating <= known[0]]
    return max(ratings, default=None)


@formula(source=published("33 CFR 183.455(b)"), valid="measured along a bare conductor from the source")
def farthest_fuse_mm() -> float:
    """Largest distance of a fuse from the source of power along the conductor, mm.

    Examples
    --------
    >>> farthest_fuse_mm()
    177.8
    """
    return NEAR_MM
