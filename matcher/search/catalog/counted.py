"""Power ratings as counted for amplifiers and head units: the claim, or the limit set by the supply if lower."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

import numpy as np

from matcher.formulas.block import RATED_OHM
from matcher.formulas.claims import claims_at_odds, most_current_a, power_bound_w
from matcher.formulas.clipping import supply_limited_w
from matcher.kernel.columns import Column, column_of, word_code
from matcher.kernel.exact import MICRO, floating, from_micro, rounded
from matcher.settings import Settings

FULL = ("full_w_4ohm", "full_w_2ohm")
BRIDGED = "full_bridged_w_4ohm"
BASS = ("bass_w_4ohm", "bass_w_2ohm", "bass_w_1ohm")
CLAIMED = (*FULL, BRIDGED, *BASS)
"""The claimed powers of an amplifier, each of one channel or one bridged pair."""
Figures = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class PowerBound:
    """Power that all channels of an amplifier can give together; `at_odds` if its claims contradict each other."""

    power_w: float | None
    at_odds: bool = False


def bound_of(figures: Figures, settings: Settings) -> PowerBound:
    """Return the bound by the amplifier's own fuses or its stated current.

    A fuse can be read, so it bounds any claim. A stated current is a claim like the power: if the two are too far
    apart, neither counts.
    """
    most_a = most_current_a(_plain(figures["fuse_a"]), _plain(figures["current_a"]), float(settings["fuse_holds"]))
    ceiling = float(settings[f"amplifier_ceiling.{figures['class'] or 'd'}"])
    power_w = power_bound_w(most_a, ceiling, float(settings["rail_v"]))
    if figures["fuse_a"]:
        return PowerBound(power_w)
    return PowerBound(power_w, bool(claims_at_odds(_claimed_w(figures), power_w, float(settings["claim_at_odds"]))))


def counted_powers(figures: Figures, settings: Settings) -> dict[str, Decimal | None]:
    """The claimed powers of an amplifier as they count; none for a peak power and for claims at odds."""
    names = (*CLAIMED, "fuse_a", "current_a", "class", "power_basis", "full_channels", "bass_channels")
    counted = counted_columns({name: column_of([figures.get(name)]) for name in names}, settings)
    return {name: from_micro(column.values[0]) if np.all(column.known) else None for name, column in counted.items()}


def counted_head_w(amp_w: Decimal | None, settings: Settings) -> Decimal | None:
    """Return the claimed power of a head unit's channel as counted: at most a clean sine from the supply."""
    return None if amp_w is None else min(amp_w, rail_w(settings))


def rail_w(settings: Settings) -> Decimal:
    """Power of a clean sine that the supply itself drives into 4 ohm, in W."""
    most = supply_limited_w(float(settings["rail_v"]), float(RATED_OHM))
    return Decimal(0) if most is None else round(Decimal(repr(most)), 6)


def _claimed_w(figures: Figures) -> float | None:
    """Least power that all channels claim together, in W; None if only a peak power is known."""
    if figures["power_basis"] == "peak":
        return None
    least = [
        int(figures[channels] or 0)
        * min((float(figures[one]) for one in names if figures[one] is not None), default=0.0)
        for channels, names in (("full_channels", FULL), ("bass_channels", BASS))
    ]
    return sum(least) or None


def counted_columns(cells: Mapping[str, Column], settings: Settings) -> dict[str, Column]:
    """Return `counted_powers` of many amplifiers as columns: each of `CLAIMED` as counted."""
    bound_w, has_bound = _bounds(cells, settings)
    full, bass = (
        _together(cells, channels, names) for channels, names in (("full_channels", FULL), ("bass_channels", BASS))
    )
    fuse = cells["fuse_a"]
    unfused = ~(np.asarray(fuse.known) & (fuse.values > 0))
    most_w = bound_w * float(settings["claim_at_odds"])
    at_odds = unfused & has_bound & (floating(full + bass) > most_w)
    basis = cells["power_basis"]
    counts = ~at_odds & ~(np.asarray(basis.known) & (basis.values == word_code("peak")))
    return {name: _counted_column(cells, name, (full, bass), bound_w, has_bound, counts) for name in CLAIMED}


def _bounds(cells: Mapping[str, Column], settings: Settings) -> tuple[Any, Any]:
    """Power that each amplifier's supply allows, in W, and whether it is known."""
    times, by = settings["fuse_holds"].as_integer_ratio()
    held, stated = (np.where(cells[name].known, cells[name].values, 0) for name in ("fuse_a", "current_a"))
    most_a = np.maximum(held * times / (MICRO * by), floating(stated))
    ceilings = [float(settings[f"amplifier_ceiling.{word}"]) for word in ("ab", "d")]
    kind = cells["class"]
    is_ab = np.asarray(kind.known) & (kind.values == word_code("ab"))
    return most_a * np.where(is_ab, *ceilings) * float(settings["rail_v"]), most_a > 0


def _together(cells: Mapping[str, Column], channels: str, names: Sequence[str]) -> Any:
    """Least power that some channels of each amplifier claim together, in micro-units; 0 if unknown."""
    none = np.iinfo(np.int64).max
    least = np.minimum.reduce([np.where(cells[name].known, cells[name].values, none) for name in names])
    count = np.where(cells[channels].known, cells[channels].values // MICRO, 0)
    return np.where(least == none, 0, least) * count


def _counted_column(
    cells: Mapping[str, Column], name: str, claimed: tuple[Any, Any], bound_w: Any, has_bound: Any, counts: Any
) -> Column:
    own, channels = cells[name], cells["bass_channels" if name in BASS else "full_channels"]
    count = np.where(channels.known, channels.values // MICRO, 0) // (2 if name == BRIDGED else 1)
    together = floating(count * own.values + claimed[0 if name in BASS else 1])
    known = counts & np.asarray(own.known)
    bounded = has_bound & (together > 0) & known
    power = floating(own.values)
    share = power * bound_w / np.where(bounded, together, 1)
    values, _ = rounded(np.where(bounded, np.minimum(power, share), power))
    return Column(np.where(known, values, 0), known, own.tol)


def _plain(number: Decimal | None) -> float | None:
    return None if number is None else float(number)


@dataclass(frozen=True, slots=True)
class DoubtfulClaim:
    """A claimed figure that is not counted at face value."""

    figure: str
    claimed: Decimal
    counted: Decimal | None
    """None if it is unknown until the amplifier's own fuse is read."""
    unit: str
    why: Literal["supply", "rail", "current", "at odds"]


def amplifier_doubts(figures: Figures, settings: Settings) -> list[DoubtfulClaim]:
    """Claims of an amplifier against physics: powers above its supply, a current too small for its power."""
    counted, at_odds = counted_powers(figures, settings), bound_of(figures, settings).at_odds
    powers = [] if figures["power_basis"] == "peak" else [name for name in CLAIMED if figures.get(name) is not None]
    return [
        *(
            DoubtfulClaim(name, figures[name], counted[name], "W", "at odds" if at_odds else "supply")
            for name in powers
            if counted[name] != figures[name]
        ),
        *_current_doubts(figures, at_odds, settings),
    ]


def _current_doubts(figures: Figures, at_odds: bool, settings: Settings) -> list[DoubtfulClaim]:
    """Check a stated current that is too small for the counted power."""
    stated = figures["current_a"]
    if not stated:
        return []
    if at_odds:
        return [DoubtfulClaim("current_a", stated, None, "A", "at odds")]
    least_a = _least_current_a(figures, settings)
    if least_a is None or float(stated) >= least_a * (1 - 1e-9):
        return []
    return [DoubtfulClaim("current_a", stated, round(Decimal(repr(least_a)), 1), "A", "current")]


def _least_current_a(figures: Figures, settings: Settings) -> float | None:
    """Least current for the counted power of all channels, in A."""
    power_w = _claimed_w({**figures, **counted_powers(figures, settings)})
    ceiling = power_bound_w(
        1.0, float(settings[f"amplifier_ceiling.{figures['class'] or 'd'}"]), float(settings["rail_v"])
    )
    return None if power_w is None or ceiling is None else power_w / ceiling


def head_doubts(amp_w: Decimal | None, settings: Settings) -> list[DoubtfulClaim]:
    """Claims of a head unit against its supply."""
    counted = counted_head_w(amp_w, settings)
    return (
        []
        if amp_w is None or counted is None or counted == amp_w
        else [DoubtfulClaim("amp_w", amp_w, counted, "W", "rail")]
    )
