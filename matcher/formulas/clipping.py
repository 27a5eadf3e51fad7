"""Clipping of a sine, and the maximum power of an amplifier at a supply voltage."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.known import positive, within
from matcher.formulas.register import formula

Wave = Literal["sine", "triangle", "square"]

_FOURIER = published("Fourier series of the clipped sine; limit: Blagouchine and Moreau 2011")


@formula(source=published("definition: peak over RMS"), valid="sine, triangle and square")
def crest_factor_db(wave: Wave) -> float | None:
    """Peak of a wave over its RMS value.

    Examples
    --------
    >>> crest_factor_db("sine"), crest_factor_db("square")
    (3.01, 0.0)
    """
    squared = {"sine": 2.0, "triangle": 3.0, "square": 1.0}.get(wave)
    return None if squared is None else 10 * math.log10(squared)


@dataclass(frozen=True, slots=True)
class ClippedSine:
    """Spectrum of a clipped sine, against the clean sine that just touches the clip level."""

    overdrive_db: float
    thd_pct: float
    power_ratio: float


@formula(source=_FOURIER, valid="0 to 120 dB of overdrive, hard and even clipping")
def clipped_sine(overdrive_db: float | None) -> ClippedSine | None:
    """Distortion and power of a sine that is driven over the clip level.

    Parameters
    ----------
    overdrive_db
        Peak that the sine would have over the clip level, dB.

    Returns
    -------
    Distortion in percent of the fundamental, and power as a multiple of that of the clean sine.

    Examples
    --------
    >>> clipped_sine(3.0)
    ClippedSine(overdrive_db=3.0, thd_pct=13.38, power_ratio=1.363)
    """
    known = within(overdrive_db, 0, 120)
    if known is None:
        return None
    drive = 10 ** (known / 20)
    angle = math.asin(1 / drive)
    free = angle - math.sin(angle) * math.cos(angle)
    power = 2 / math.pi * (drive**2 * free + (math.pi - 2 * angle))
    fundamental = 2 / math.pi * (drive * free + 2 * math.cos(angle))
    return ClippedSine(known, 100 * math.sqrt(max(0.0, power / fundamental**2 - 1)), power)


@formula(source=_FOURIER, valid="0 to 48 % of the fundamental, hard and even clipping")
def overdrive_for_thd_db(thd_pct: float | None) -> float | None:
    """Overdrive of a sine over the clip level at this distortion.

    Examples
    --------
    >>> overdrive_for_thd_db(10)
    2.173
    """
    known = within(thd_pct, 0, 48)
    if known is None:
        return None
    low, high = 0.0, 120.0
    for _ in range(60):
        middle = (low + high) / 2
        clipped = clipped_sine(middle)
        low, high = (middle, high) if clipped is not None and clipped.thd_pct < known else (low, middle)
    return high


@formula(source=published("Ohm's law"), valid="an ideal output stage without a converter; voltage and load over 0")
def supply_limited_w(
    supply_v: float | None, load_ohm: float | None, *, bridged: bool = True, wave: Wave = "sine"
) -> float | None:
    """Maximum power of an amplifier without a converter at this supply voltage.

    Parameters
    ----------
    supply_v, load_ohm
        Supply in V, load in ohm.
    bridged
        Both ends of the load are driven; otherwise one end swings around half the supply.
    wave
        ``sine`` for an honest rating, ``square`` for full clipping.

    Returns
    -------
    Power in W.

    Examples
    --------
    >>> supply_limited_w(14.4, 4), supply_limited_w(14.4, 4, wave="square")
    (25.92, 51.84)
    """
    known, crest_db = positive(supply_v, load_ohm), crest_factor_db(wave)
    if known is None or crest_db is None:
        return None
    peak_v = known[0] if bridged else known[0] / 2
    return peak_v**2 / known[1] / 10 ** (crest_db / 10)
