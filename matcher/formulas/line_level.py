"""Gain targets, the match of a source and an input, and the set-up log of a head unit's output."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.formulas.known import not_negative, positive, within
from matcher.formulas.register import formula

Place = Literal["within", "below", "above"]


@formula(
    source=published("Ohm's law"),
    valid="power and load over 0; tone at 0 dB down to -60 dB; overlap 0 to 20 dB",
)
def gain_target_v(
    power_w: float | None,
    load_ohm: float | None,
    tone_db: float | None = 0.0,
    overlap_db: float | None = 0.0,
) -> float | None:
    """Target voltage of a gain setting, read at the amplifier's terminals.

    Parameters
    ----------
    power_w, load_ohm
        Power wanted in W, load in ohm.
    tone_db
        Level of the recorded sine, dB relative to full scale.
    overlap_db
        Allowed overdrive of the amplifier by a full-scale recording, dB.

    Returns
    -------
    Voltage in V RMS: the square root of power times load where the tone lies as far under full scale as
    the overlap agreed (0, -5 or -10 dB).

    Examples
    --------
    >>> gain_target_v(75, 4), gain_target_v(75, 4, tone_db=-5, overlap_db=5)
    (17.32, 17.32)
    >>> gain_target_v(75, 4, tone_db=-10)
    5.477
    """
    known = positive(power_w, load_ohm)
    tone, overlap = within(tone_db, -60, 0), within(overlap_db, 0, 20)
    if known is None or tone is None or overlap is None:
        return None
    return math.sqrt(known[0] * known[1]) * 10 ** ((tone + overlap) / 20)


@dataclass(frozen=True, slots=True)
class InputMatch:
    """Position of a source's clean output in an amplifier's input range.

    `reach` is the share of full power that can be reached, `over_db` how far the input is overloaded.
    """

    place: Place
    reach: float
    over_db: float


@formula(source=COMMON_PRACTICE, valid="volts over 0, least no more than most")
def input_match(clean_v: float | None, input_min_v: float | None, input_max_v: float | None) -> InputMatch | None:
    """Whether a source's clean output is within an amplifier's input range.

    Parameters
    ----------
    clean_v
        Highest output without clipping, V RMS.
    input_min_v, input_max_v
        Input for full power with the gain up, and with the gain down, V RMS.

    Returns
    -------
    Below the range full power is out of reach; above it the input overloads.

    Examples
    --------
    >>> input_match(1.0, 2.0, 8.0)
    InputMatch(place='below', reach=0.25, over_db=0.0)
    """
    known = positive(clean_v, input_min_v, input_max_v)
    if known is None or known[1] > known[2]:
        return None
    clean, least, most = known
    place: Place = "below" if clean < least else "above" if clean > most else "within"
    return InputMatch(place, min(1.0, (clean / least) ** 2), max(0.0, 20 * math.log10(clean / most)))


@dataclass(frozen=True, slots=True)
class SetupStep:
    """One line of a set-up log: volume step, volts read, and whether the wave was clean."""

    step: float
    volts: float | None
    clean: bool | None


@dataclass(frozen=True, slots=True)
class CleanLimit:
    """The last step that is clean. `first_clipped` is None if the log never reached clipping.

    `doubtful` lists clean steps over the first clipped one: one of the two readings is wrong.
    """

    step: float | None
    volts: float | None
    first_clipped: float | None
    doubtful: tuple[float, ...] = ()


@formula(source=COMMON_PRACTICE, valid="logs with at least one step that was judged; volts 0 and over or unknown")
def last_clean_step(log: Iterable[SetupStep]) -> CleanLimit | None:
    """The highest volume step, and its volts, before the output begins to clip.

    Parameters
    ----------
    log
        Steps in any order; an unrated step counts as neither clean nor clipped.

    Returns
    -------
    The limit; its step is None if even the lowest step judged was clipped.

    Examples
    --------
    >>> last_clean_step([SetupStep(28, 1.8, True), SetupStep(30, 2.2, True), SetupStep(31, 2.4, False)])
    CleanLimit(step=30, volts=2.2, first_clipped=31, doubtful=())
    """
    judged = [line for line in log if line.clean is not None and within(line.step, -1e6, 1e6) is not None]
    if not judged:
        return None
    first_clipped = min((line.step for line in judged if not line.clean), default=None)
    clean = sorted((line for line in judged if line.clean), key=lambda line: line.step)
    below = [line for line in clean if first_clipped is None or line.step < first_clipped]
    doubtful = tuple(line.step for line in clean if line not in below)
    last = below[-1] if below else SetupStep(0, None, None)
    volts = last.volts if not_negative(last.volts) is not None else None
    return CleanLimit(last.step if below else None, volts, first_clipped, doubtful)
