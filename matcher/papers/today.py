"""The sound that a car has now, by the figures of its factory radio and loudspeakers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from matcher.formulas.loudness import sum_incoherent_db
from matcher.search.scoring import gain_cdb, level_at_1w_cdb

RATED_OHM = Decimal(4)
"""The load at which a radio's power is stated."""


def sound_today(vehicle: Mapping[str, Any]) -> dict[str, float]:
    """Return ``loud`` in dB, ``treble`` and ``bass`` in Hz, each only if every figure that it takes is known."""
    openings = vehicle.get("openings", ())
    speakers = [one for one in openings if one["kind"] == "speaker"]
    watts = next((one.get("original_amp_w") for one in openings if one["kind"] == "dash"), None)
    found: dict[str, list[Any]] = {
        "treble": [one.get("original_high_hz") for one in speakers],
        "bass": [one.get("original_low_hz") for one in speakers],
        "loud": [_level_db(one, watts) for one in speakers],
    }
    joined: dict[str, Callable[[list[Any]], Any]] = {"treble": max, "bass": min, "loud": sum_incoherent_db}
    return {name: float(joined[name](each)) for name, each in found.items() if each and None not in each}


def _level_db(opening: Mapping[str, Any], watts: Decimal | None) -> float | None:
    """Level at 1 m of an opening's loudspeakers, at the power that the radio gives them and that they bear."""
    ohm, rated = opening.get("factory_ohm"), opening.get("original_rms_w")
    at_1w = level_at_1w_cdb(opening.get("original_sens_db"), opening.get("original_sens_basis"), ohm)
    if at_1w is None or ohm is None or watts is None:
        return None
    given = watts * RATED_OHM / ohm
    level = (at_1w + gain_cdb(given if rated is None else min(given, rated))) / 100
    return sum_incoherent_db([level] * (opening.get("count") or 2))
