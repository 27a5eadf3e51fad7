"""Fuses: standard ratings and colors, the largest one for a cable, its position, and its opening time."""

from __future__ import annotations

from dataclasses import dataclass

from catalog_schema.sources import from_memory, published
from matcher.formulas.known import not_negative, positive
from matcher.formulas.register import formula

# ISO 8820-3 blade fuses, then the large size of the same family. Lists disagree on 3, 5 and 35 A.
BLADE_COLOR: dict[float, str] = {
    1: "black", 2: "gray", 3: "violet", 4: "pink", 5: "tan", 7.5: "brown", 10: "red", 15: "blue",
    20: "yellow", 25: "clear", 30: "green", 35: "blue-green", 40: "orange",
}  # fmt: skip
LARGE_BLADE_COLOR: dict[float, str] = {50: "red", 60: "blue", 70: "light brown", 80: "clear", 100: "violet"}
# Bolt-in links of ISO 8820-5 run from 30 to 500 A; the steps between are from memory.
BOLT_IN_A = (125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 500.0)

MARINE_SHARE = 1.5
NEAR_MM = 7 * 25.4
SHEATHED_MM = 40 * 25.4
# Load in percent of the rating: shortest and longest time to open in s. None: may never open.
_TEST_POINTS: tuple[tuple[float, float, float | None], ...] = (
    (110, 100 * 3600, None), (135, 0.75, 600), (160, 0.25, 50), (200, 0.15, 5), (350, 0.04, 0.5),
    (600, 0, 0.1),
)  # fmt: skip
# Cold resistance in milliohm by rating, as a maker's blade-fuse data sheet was transcribed.
_COLD_MOHM: dict[float, float] = {1: 123.0, 2: 53.5, 4: 22.8, 10: 7.70}


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


@formula(
    source=published("33 CFR 183.455(c)(1) for 150 %; at most the ampacity: 46 CFR 183.380(d)"),
    valid="over 0 A",
)
def fuse_limit_a(ampacity_a: float | None, *, strict: bool = True) -> float | None:
    """The highest rating that still protects a conductor.

    Parameters
    ----------
    ampacity_a
        Continuous current of the conductor, A.
    strict
        At most the ampacity; otherwise at most 150 % of it, as boats under 50 V may have.

    Returns
    -------
    Rating in A.

    Examples
    --------
    >>> fuse_limit_a(15), fuse_limit_a(15, strict=False)
    (15.0, 22.5)
    """
    known = positive(ampacity_a)
    return None if known is None else known[0] * (1.0 if strict else MARINE_SHARE)


@formula(
    source=published("33 CFR 183.455(c)(1) for 150 %; at most the ampacity: 46 CFR 183.380(d)"),
    valid="conductors that carry 1 A and more",
)
def largest_fuse_a(ampacity_a: float | None, *, strict: bool = True) -> float | None:
    """The largest standard fuse that protects a conductor.

    Parameters
    ----------
    ampacity_a
        Continuous current of the conductor, A.
    strict
        As for the limit.

    Returns
    -------
    Rating in A.

    Examples
    --------
    >>> largest_fuse_a(15), largest_fuse_a(15, strict=False)
    (15.0, 20.0)
    """
    limit = fuse_limit_a(ampacity_a, strict=strict)
    ratings = [rating for rating in standard_fuses_a() if limit is not None and rating <= limit]
    return max(ratings, default=None)


@dataclass(frozen=True, slots=True)
class FuseChoice:
    """The smallest standard fuse that carries the demand; None if the conductor forbids it."""

    rating_a: float | None
    limit_a: float
    color: str | None


@formula(
    source=published("33 CFR 183.455(c)(1) for 150 %; at most the ampacity: 46 CFR 183.380(d)"),
    valid="demand and ampacity over 0",
)
def fuse_for(demand_a: float | None, ampacity_a: float | None, *, strict: bool = True) -> FuseChoice | None:
    """The fuse of at least the demand and at most the conductor's ampacity.

    Parameters
    ----------
    demand_a, ampacity_a
        Maximum current, and continuous current of the conductor, A.
    strict
        As for the limit.

    Returns
    -------
    The choice; its rating is None if no standard fuse lies between the two.

    Examples
    --------
    >>> fuse_for(48, 80)
    FuseChoice(rating_a=50.0, limit_a=80.0, color='red')
    >>> fuse_for(48, 45).rating_a is None
    True
    """
    known, limit = positive(demand_a, ampacity_a), fuse_limit_a(ampacity_a, strict=strict)
    if known is None or limit is None:
        return None
    rating = next((size for size in standard_fuses_a() if known[0] <= size <= limit), None)
    return FuseChoice(rating, limit, blade_color(rating))


@formula(source=published("33 CFR 183.455(b)"), valid="measured along the conductor from the source")
def farthest_fuse_mm(*, sheathed: bool = False) -> float:
    """Largest distance of a fuse from the source of power along the conductor.

    Parameters
    ----------
    sheathed
        The conductor runs in a sheath all the way to the fuse.

    Returns
    -------
    Distance in mm.

    Examples
    --------
    >>> farthest_fuse_mm(), farthest_fuse_mm(sheathed=True)
    (177.8, 1016.0)
    """
    return SHEATHED_MM if sheathed else NEAR_MM


@dataclass(frozen=True, slots=True)
class OpeningTime:
    """Range of a fuse's opening time; no longest time if it may never open."""

    shortest_s: float
    longest_s: float | None


@formula(
    source=from_memory("ISO 8820-3 type C; its test points at 110 % and 135 % were seen"),
    valid="0 % of the rating and over",
)
def opening_time(load_pct: float | None) -> OpeningTime | None:
    """Time in which a blade fuse opens at this share of its rating.

    Parameters
    ----------
    load_pct
        Current in percent of the rating.

    Returns
    -------
    Range of times by the standard's test points: between two points, the shortest time is that of the higher load and
    the longest that of the lower one.

    Examples
    --------
    >>> opening_time(135)
    OpeningTime(shortest_s=0.75, longest_s=600)
    >>> opening_time(110)
    OpeningTime(shortest_s=360000, longest_s=None)
    """
    known = not_negative(load_pct)
    if known is None:
        return None
    shortest = next((soonest for load, soonest, _ in _TEST_POINTS if load >= known[0]), 0)
    longest = next((latest for load, _, latest in reversed(_TEST_POINTS) if load <= known[0]), None)
    return OpeningTime(shortest, longest)


@formula(
    source=published("Ohm's law; cold resistances of a maker's blade-fuse data sheet, transcribed"),
    valid="blade fuses of 1, 2, 4 and 10 A, nearly cold: currents well under the rating",
)
def drain_by_fuse_ma(drop_mv: float | None, rating_a: float | None) -> float | None:
    """Current through an installed fuse, by the voltage across it.

    Parameters
    ----------
    drop_mv
        Voltage from blade to blade, mV.
    rating_a
        Rating of the fuse, A.

    Returns
    -------
    Current in mA.

    Examples
    --------
    >>> drain_by_fuse_ma(2.4, 10)
    312.
    """
    drop, rating = not_negative(drop_mv), positive(rating_a)
    cold_mohm = None if rating is None else _COLD_MOHM.get(rating[0])
    return None if drop is None or cold_mohm is None else drop[0] / cold_mohm * 1000


@formula(source=published("IEC 60364-4-43 clause 433.1"), valid="currents over 0")
def overload_margin_a(opens_for_sure_a: float | None, ampacity_a: float | None) -> float | None:
    """Margin of a fuse's certain opening current below 1.45 times the conductor's rating.

    Parameters
    ----------
    opens_for_sure_a
        Current at which the fuse opens within its conventional time, A.
    ampacity_a
        Continuous current of the conductor, A.

    Returns
    -------
    Margin in A; negative if the fuse is too slow for the conductor.

    Examples
    --------
    >>> overload_margin_a(1.35 * 20, 20)
    2.0
    """
    known = positive(opens_for_sure_a, ampacity_a)
    return None if known is None else 1.45 * known[1] - known[0]
