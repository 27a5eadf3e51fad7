"""Bounds on claimed powers, against data sheets and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from matcher.formulas.claims import claims_at_odds, most_current_a, power_bound_w, rail_claim


@pytest.mark.parametrize(
    ("fuses_a", "stated_a", "most_a"),
    [(60, None, 66), (60, 3, 66), (60, 70, 70), (None, 3, 3), (None, None, None), (0, 3, 3), (-1, None, None)],
)
def test_the_larger_of_fuses_and_stated_current_bounds_the_draw(
    fuses_a: float | None, stated_a: float | None, most_a: float | None
) -> None:
    assert most_current_a(fuses_a, stated_a) == (None if most_a is None else pytest.approx(most_a))


# Two fuses of 30 A at 14.4 V, by hand: 60 x 14.4 x 0.80 and 0.90, then with the 110 % that a blade fuse holds.
@pytest.mark.parametrize(("amperes", "ceiling", "watts"), [(60, 0.80, 691), (60, 0.90, 778), (66, 0.90, 855)])
def test_the_power_that_fuses_allow(amperes: float, ceiling: float, watts: float) -> None:
    assert power_bound_w(amperes, ceiling, 14.4) == pytest.approx(watts, abs=0.6)


def test_300_w_on_3_a_are_at_odds_and_on_21_a_are_not() -> None:
    assert claims_at_odds(300, power_bound_w(3, 0.95)) is True
    assert claims_at_odds(300, power_bound_w(21, 0.95)) is False
    assert claims_at_odds(300, 75) is False  # exactly four times
    assert claims_at_odds(None, 75) is None


# Chip data sheets at 14.4 V into 4 ohm: class AB 30 W at 10 % distortion and "50 W" as a saturated square wave;
# class D 25 W at 10 % (SLOS708). 25.92, 33.38 and 51.84 W by Ohm's law and the Fourier series.
@pytest.mark.parametrize(
    ("claimed", "counted", "kind"),
    [
        *[(22, 22, "sine"), (25, 25, "sine"), (25.92, 25.92, "sine"), (30, 25.92, "clipped")],
        *[(33.3, 25.92, "clipped"), (33.5, 25.92, "square wave"), (50, 25.92, "square wave")],
        *[(51.84, 25.92, "square wave"), (52, 25.92, "impossible"), (100, 25.92, "impossible")],
    ],
)
def test_a_head_units_claim_against_its_rail(claimed: float, counted: float, kind: str) -> None:
    found = rail_claim(claimed)
    assert found is not None
    assert (round(found.counted_w, 2), found.claim) == (counted, kind)


def test_the_clipped_bound_is_that_of_a_sampled_sine() -> None:
    """Clip a sine until its harmonics are 10 % of the fundamental, by a Fourier transform."""
    phase = np.arange(4096) / 4096 * 2 * math.pi
    low, high = 1.0, 3.0
    for _ in range(50):
        drive = (low + high) / 2
        spectrum = np.abs(np.fft.rfft(np.clip(drive * np.sin(phase), -1, 1)))
        distortion = math.sqrt(float((spectrum[2:] ** 2).sum())) / float(spectrum[1])
        low, high = (drive, high) if distortion < 0.10 else (low, drive)
    power_w = float((np.clip(low * np.sin(phase), -1, 1) ** 2).mean()) * 14.4**2 / 4
    assert power_w == pytest.approx(33.38, abs=0.05)
    for watts, kind in ((power_w - 0.1, "clipped"), (power_w + 0.1, "square wave")):
        found = rail_claim(watts)
        assert found is not None and found.claim == kind


@pytest.mark.parametrize(
    "answer", [rail_claim(None), rail_claim(50, None), rail_claim(50, 14.4, 0), power_bound_w(3, 1.1)]
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
