"""Points: integers in hundredths, each belonging to one slot or one link.

A wish weighs its criterion from 0 to 5. Unknown figures earn nothing. The darkness of a film is the customer's own
figure: each percent off costs points, regardless of the wishes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from catalog_schema.jobs import Wishes
from matcher.rules.rule import MEASURE, SKIP
from matcher.settings import Settings

NOT_KNOWN = -(10**6)
"""An unknown level or gain in hundredths of a decibel: below every known one."""
CRITERIA = ("loudness", "bass", "screen", "original_look", "price", "known")
"""The criteria of a package; the last has no wish: open figures."""

Amount = TypeVar("Amount", int, NDArray[np.int64])
"""One amount of money in cents, or many."""


@dataclass(frozen=True)
class Scoring:
    """The points of a job, by its wishes and the shop's settings."""

    wishes: Wishes
    settings: Settings
    hopeful: bool = False
    """Whether open figures lose nothing and an unknown power is taken as the loudspeaker's full rating."""
    place_weight: Decimal = Decimal(1)
    """Weight of a place: those behind the listeners count less."""
    over_bass: bool = False
    """Whether a bass system plays what is below the loudspeakers."""

    @property
    def key(self) -> tuple[object, ...]:
        """Distinguishes these points from those of another job under the same settings."""
        return self.wishes, self.hopeful

    def at_place(self, *, is_rear: bool, over_bass: bool) -> Scoring:
        """Return the points of the loudspeakers of a place."""
        weight = self.settings["place_weight.rear" if is_rear else "place_weight.front"]
        return replace(self, place_weight=weight, over_bass=over_bass)

    def high_pass_hz(self, low_hz: Decimal | None) -> Decimal:
        """Lower end of a loudspeaker's range, or the upper end of the bass system's if higher."""
        plays = self.settings["low_floor_hz"] if low_hz is None else low_hz
        return max(plays, self.settings["high_pass_hz"]) if self.over_bass else plays

    def level(self, level_cdb: int | None) -> int:
        """Points for the level reached at an opening, given in hundredths of a decibel."""
        return 0 if level_cdb is None else int(self.level_points(np.array(level_cdb)))

    def level_points(self, level_cdb: NDArray[np.int64]) -> NDArray[np.int64]:
        """As `level`, of known levels."""
        points = self.settings["points_level"] * self.place_weight
        return self._over(level_cdb, self.settings["level_floor_db"], "loudness", points)

    def bass_points(self, level_cdb: NDArray[np.int64]) -> NDArray[np.int64]:
        """Points for known levels that a bass system reaches, given in hundredths of a decibel."""
        return self._over(level_cdb, self.settings["bass_floor_db"], "bass", self.settings["points_bass_level"])

    def _over(self, level_cdb: NDArray[np.int64], floor_db: Decimal, wish: str, points: Decimal) -> NDArray[np.int64]:
        """Points for what levels have over a floor, in whole micro-units and rounded half up: exact."""
        over = np.maximum(level_cdb * 10_000 - int(floor_db * 10**6), 0)
        found: NDArray[np.int64] = (over * int(points * getattr(self.wishes, wish) * 10**6) + 5 * 10**9) // 10**10
        return found

    def low(self, low_hz: Decimal | None) -> int:
        """Return points for a loudspeaker's low end, down to the upper end of the bass system."""
        floor = self.settings["low_floor_hz"]
        if low_hz is None or low_hz >= floor or not low_hz:
            return 0
        octaves = _octaves(floor, min(self.high_pass_hz(low_hz), floor))
        return self._weighted("bass", octaves * self.settings["points_low"], at_place=True)

    def treble(self, high_hz: Decimal | None) -> int:
        """Return points for a loudspeaker's high end, up to the limit of hearing."""
        floor, top = self.settings["treble_floor_hz"], self.settings["treble_top_hz"]
        if high_hz is None or high_hz <= floor or top <= floor:
            return 0
        octaves = _octaves(min(high_hz, top), floor)
        return self._weighted("loudness", octaves * self.settings["points_treble"], at_place=True)

    @cached_property
    def shared(self) -> int:
        """Return points lost if front and rear places share channels: the fader is lost."""
        return -self._weighted("loudness", self.settings["points_shared"])

    def screen(self, screen_in: Decimal | None) -> int:
        """Points for the size of a screen."""
        return self._weighted("screen", (screen_in or Decimal(0)) * self.settings["points_screen"])

    def look(self, step: int) -> int:
        """Return points lost for an alteration."""
        return -self._weighted("original_look", step * self.settings["points_look"])

    def effort(self, effort: str | None) -> int:
        """Return points lost for the daily effort of a security layer."""
        if effort not in ("habit", "chore"):
            return 0
        return -self._weighted("original_look", self.settings[f"points_effort.{effort}"])

    def film(self, vlt_pct: Decimal | None, wanted_pct: Decimal | None) -> int:
        """Return points lost for a film lighter or darker than wanted; the maximum if unknown."""
        if wanted_pct is None:
            return 0
        off_pct = max(wanted_pct, 100 - wanted_pct) if vlt_pct is None else abs(vlt_pct - wanted_pct)
        return -_hundredths(self.settings["points_film"] * off_pct)

    def price(self, cents: Amount) -> Amount:
        """Points lost for money, of one amount or of many."""
        times, by = (self.settings["points_price"] * self.wishes.price).as_integer_ratio()
        return -((cents * times + by // 2) // by)

    def screens(self, screen_in: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return `screen` of an array, in millionths of an inch."""
        times, by = (self.settings["points_screen"] * self.wishes.screen * 100).as_integer_ratio()
        earned: NDArray[np.int64] = (screen_in * times + by * 500_000) // (by * 1_000_000)
        return earned

    @cached_property
    def losses(self) -> NDArray[np.int64]:
        """Points lost for open verdicts, by verdict code; none if they are assumed to turn out well."""
        lost = np.zeros(SKIP + 1, np.int64)
        for risk, code in () if self.hopeful else MEASURE.items():
            lost[code] = -_hundredths(self.settings[f"points_unknown.{risk}"])
        return lost

    def unknown(self, code: int) -> int:
        """Return points lost for an open verdict, by its code."""
        return int(self.losses[code])

    @cached_property
    def port(self) -> int:
        """Points lost for a vented box with no stated port."""
        return -_hundredths(self.settings["points_port"])

    def unknown_beside(self, code: int, own: int) -> int:
        """Return points lost in addition to those of an own code: of two open verdicts the riskier counts."""
        return min(self.unknown(code) - self.unknown(own), 0)

    def _weighted(self, wish: str, points: Decimal, *, at_place: bool = False) -> int:
        return _hundredths(points * getattr(self.wishes, wish) * (self.place_weight if at_place else 1))


def _octaves(upper: Decimal, lower: Decimal) -> Decimal:
    return Decimal(round(math.log2(upper / lower), 4)).quantize(Decimal("0.0001"))


def _hundredths(points: Decimal) -> int:
    return int((points * 100).quantize(Decimal(1), ROUND_HALF_UP))


def level_at_1w_cdb(sens_db: Decimal | None, sens_basis: str | None, impedance_ohm: Decimal | None) -> int | None:
    """Sensitivity at 1 W and 1 m in hundredths of a decibel; where its basis is not stated, by the lower reading.

    >>> level_at_1w_cdb(Decimal(90), "2v83", Decimal(4)), level_at_1w_cdb(Decimal(90), "1w", Decimal(4))
    (8699, 9000)
    >>> level_at_1w_cdb(Decimal(90), None, Decimal(4)), level_at_1w_cdb(Decimal(90), None, Decimal(16))
    (8699, 9000)
    """
    if sens_db is None or impedance_ohm is None:
        return None
    at_1w = int(sens_db * 100)
    if sens_basis == "1w":
        return at_1w
    watts = Decimal(8) / impedance_ohm  # 2.83 V stands for the voltage that gives 1 W into 8 ohm
    by_volts = at_1w - gain_cdb(watts)
    return by_volts if sens_basis == "2v83" else min(by_volts, at_1w)


def gain_cdb(watts: Decimal) -> int:
    """Decibels over 1 W, in hundredths.

    >>> gain_cdb(Decimal(2)), gain_cdb(Decimal(100))
    (301, 2000)
    """
    return round(1000 * math.log10(watts))
