"""Physically possible power of amplifiers and head units, against their makers' claims."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.formulas.clipping import clipped_sine, overdrive_for_thd_db, supply_limited_w
from matcher.formulas.known import positive, within
from matcher.formulas.register import formula

FUSE_HOLDS = 1.10
CLIPPED_THD_PCT = 10.0
_ENERGY = published("conservation of energy")

RailVerdict = Literal["sine", "clipped", "square wave", "impossible"]


@formula(source=published("ISO 8820-3 test points: 110 % for 100 h"), valid="currents over 0; one of the two known")
def most_current_a(fuses_a: float | None, stated_a: float | None, holds: float | None = FUSE_HOLDS) -> float | None:
    """Maximum current of an amplifier: that of its fuses or the maker's figure, whichever is higher.

    Parameters
    ----------
    fuses_a
        Sum of the amplifier's own fuses, A.
    stated_a
        Maximum current by its maker, A.
    holds
        Ratio of a fuse's sustained current to its rating.

    Returns
    -------
    Current in A; None if neither is known.

    Examples
    --------
    >>> most_current_a(60, 3), most_current_a(None, 3), most_current_a(None, None)
    (66.0, 3.0, None)
    """
    held, stated = positive(fuses_a, holds), positive(stated_a)
    known = [*([held[0] * held[1]] if held else []), *(stated or ())]
    return max(known, default=None)


@formula(source=_ENERGY, valid="current and volts over 0; efficiency over 0 up to 1")
def power_bound_w(current_a: float | None, ceiling: float | None, supply_v: float | None = 14.4) -> float | None:
    """Maximum continuous power of an amplifier at this current.

    Parameters
    ----------
    current_a
        Largest current that it can draw, A.
    ceiling
        Best efficiency of its class, not the typical one: 0.785 (AB), 0.95 (D).
    supply_v
        Supply voltage, V.

    Returns
    -------
    Power of all channels together, W.

    Examples
    --------
    >>> power_bound_w(66, 0.90), power_bound_w(3, 0.95)
    (855., 41.0)
    """
    known, share = positive(current_a, supply_v), within(ceiling, 0.01, 1.0)
    return None if known is None or share is None else known[0] * known[1] * share


@formula(source=COMMON_PRACTICE, valid="claimed power and bound over 0, no fuse known")
def claims_at_odds(claimed_w: float | None, bound_w: float | None, at_odds: float | None = 4.0) -> bool | None:
    """Whether claimed power and stated current contradict each other so much that neither is credible.

    Parameters
    ----------
    claimed_w
        Claimed power of all channels together, W.
    bound_w
        Maximum power at the stated current, W.
    at_odds
        Ratio of claim to bound from which the current is as doubtful as the power.

    Returns
    -------
    True if neither is used and the amplifier's own fuse has to be read.

    Examples
    --------
    >>> claims_at_odds(300, 41), claims_at_odds(300, 150)
    (True, False)
    """
    known = positive(claimed_w, bound_w, at_odds)
    return None if known is None else known[0] > known[1] * known[2]


@dataclass(frozen=True, slots=True)
class RailClaim:
    """Credible power of a channel without a converter, and the kind of figure that it claims."""

    counted_w: float
    claim: RailVerdict


@formula(
    source=published("Ohm's law; Fourier series of the clipped sine for 10 % distortion"),
    valid="a bridged channel without a converter; power, voltage and load over 0",
)
def rail_claim(
    claimed_w: float | None, supply_v: float | None = 14.4, load_ohm: float | None = 4.0
) -> RailClaim | None:
    """Check a head unit's claimed power per channel against its supply.

    Parameters
    ----------
    claimed_w
        Claimed power of one channel, W.
    supply_v, load_ohm
        Supply in V, load in ohm.

    Returns
    -------
    The maximum clean sine, and the claim as ``sine``, ``clipped`` (at up to 10 % distortion), ``square wave`` or
    ``impossible``.

    Examples
    --------
    >>> rail_claim(50)
    RailClaim(counted_w=25.92, claim='square wave')
    >>> rail_claim(30), rail_claim(55).claim
    (RailClaim(counted_w=25.92, claim='clipped'), 'impossible')
    """
    known, sine = positive(claimed_w), supply_limited_w(supply_v, load_ohm)
    square, at_10_pct = supply_limited_w(supply_v, load_ohm, wave="square"), _clipped_over_sine()
    if known is None or sine is None or square is None:
        return None
    kinds: list[tuple[float, RailVerdict]] = [(sine, "sine"), (sine * at_10_pct, "clipped"), (square, "square wave")]
    kind: RailVerdict = next((name for bound, name in kinds if known[0] <= bound * (1 + 1e-9)), "impossible")
    return RailClaim(min(known[0], sine), kind)


def _clipped_over_sine() -> float:
    """Power of a sine clipped to 10 % distortion over that of the clean one."""
    clipped = clipped_sine(overdrive_for_thd_db(CLIPPED_THD_PCT))
    assert clipped is not None
    return clipped.power_ratio
