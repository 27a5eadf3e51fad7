"""The sound that a car has now, by the figures of its factory radio and loudspeakers."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from matcher.formulas.loudness import sum_incoherent_db
from matcher.formulas.output import displacement_l, travel_level_db
from matcher.search.scoring import gain_cdb, level_at_1w_cdb

RATED_OHM = Decimal(4)
"""The load at which a radio's power is stated."""
Range = tuple[float | None, float | None, float | None]
"""Lowest and highest frequency in Hz and level at 1 m in dB of an opening's loudspeakers; None where unknown."""


def ranges_today(vehicle: Mapping[str, Any]) -> list[Range]:
    """Return the range and level of the factory loudspeakers at each opening."""
    openings = vehicle.get("openings", ())
    watts = next((one.get("original_amp_w") for one in openings if one["kind"] == "dash"), None)
    return [
        (_float(one.get("original_low_hz")), _float(one.get("original_high_hz")), _level_db(one, watts))
        for one in openings
        if one["kind"] == "speaker"
    ]


def sound_today(vehicle: Mapping[str, Any]) -> dict[str, float]:
    """Return ``bass`` and ``treble`` in Hz and ``loud`` in dB, each only if every figure that it takes is known."""
    lows, highs, levels = zip(*ranges_today(vehicle), strict=True) if ranges_today(vehicle) else ((None,),) * 3
    found = {
        "bass": None if None in lows else min(lows),
        "treble": None if None in highs else max(highs),
        "loud": None if None in levels else sum_incoherent_db(levels),
    }
    return {name: figure for name, figure in found.items() if figure is not None}


def _float(figure: Decimal | None) -> float | None:
    return None if figure is None else float(figure)


def _level_db(opening: Mapping[str, Any], watts: Decimal | None) -> float | None:
    """Level at 1 m of an opening's loudspeakers: the lower of what power and travel allow.

    The power is what the radio gives and they bear; the travel is reached at the lowest frequency that they play.
    """
    ohm, rated = opening.get("factory_ohm"), opening.get("original_rms_w")
    at_1w = level_at_1w_cdb(opening.get("original_sens_db"), opening.get("original_sens_basis"), ohm)
    area, travel, low = (_float(opening.get(f"original_{name}")) for name in ("sd_cm2", "xmax_mm", "low_hz"))
    by_travel = travel_level_db(displacement_l(area, travel), low)
    if at_1w is None or ohm is None or watts is None or by_travel is None:
        return None
    given = watts * RATED_OHM / ohm
    by_power = (at_1w + gain_cdb(given if rated is None else min(given, rated))) / 100
    return sum_incoherent_db([min(by_power, by_travel)] * (opening.get("count") or 2))
