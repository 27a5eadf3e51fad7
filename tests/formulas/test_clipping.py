"""The clipped sine against an FFT, and powers from a supply by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.clipping import Wave, clipped_sine, crest_factor_db, overdrive_for_thd_db, supply_limited_w


@pytest.mark.parametrize(
    ("overdrive", "thd", "power"),
    # Harmonics of a sampled clipped sine to its fundamental, by FFT beforehand.
    [(0.251, 1.00, 1.048), (1.0, 4.63, 1.157), (2.173, 10.0, 1.288), (3.0, 13.38, 1.363), (20, 43.04, 1.915)],
)
def test_clipped_sine(overdrive: float, thd: float, power: float) -> None:
    clipped = clipped_sine(overdrive)
    assert clipped is not None
    assert clipped.thd_pct == pytest.approx(thd, abs=6e-3)
    assert clipped.power_ratio == pytest.approx(power, abs=6e-4)


@pytest.mark.parametrize("overdrive", [0.0, 0.1, 0.7, 3.3, 12.0, 40.0])
def test_clipped_sine_agrees_with_an_fft(overdrive: float) -> None:
    count = 1 << 14
    sine = np.sin(2 * np.pi * (np.arange(count) + 0.5) / count)
    wave = np.clip(10 ** (overdrive / 20) * sine, -1, 1)
    harmonics = np.abs(np.fft.rfft(wave)[1:])
    clipped = clipped_sine(overdrive)
    assert clipped is not None
    thd = 100 * np.sqrt((harmonics[1:] ** 2).sum()) / harmonics[0]
    assert clipped.thd_pct == pytest.approx(thd, abs=2e-3)
    assert clipped.power_ratio == pytest.approx(2 * (wave**2).mean(), rel=1e-4)


@pytest.mark.parametrize(("wave", "crest"), [("sine", 3.01), ("triangle", 4.77), ("square", 0.0)])
def test_crest_factors(wave: Wave, crest: float) -> None:
    assert crest_factor_db(wave) == pytest.approx(crest, abs=5e-3)


@given(st.floats(0.01, 48))
def test_overdrive_has_the_distortion_asked_for(thd: float) -> None:
    clipped = clipped_sine(overdrive_for_thd_db(thd))
    assert clipped is not None
    assert clipped.thd_pct == pytest.approx(thd, abs=1e-4)


@pytest.mark.parametrize(
    ("bridged", "wave", "watts"), [(True, "sine", 25.92), (True, "square", 51.84), (False, "sine", 6.48)]
)
def test_most_from_14_4_v_into_4_ohm(bridged: bool, wave: Wave, watts: float) -> None:
    # By hand: 14.4^2 / (2 x 4), twice that, and a quarter.
    assert supply_limited_w(14.4, 4, bridged=bridged, wave=wave) == pytest.approx(watts)


@pytest.mark.parametrize(
    "answer",
    [
        *[clipped_sine(None), clipped_sine(-0.1), clipped_sine(121), overdrive_for_thd_db(None)],
        *[overdrive_for_thd_db(48.3), overdrive_for_thd_db(-1)],
        crest_factor_db("saw"),  # type: ignore[arg-type]
        supply_limited_w(14.4, 0),
        supply_limited_w(None, 4),
        supply_limited_w(14.4, 4, wave="saw"),  # type: ignore[arg-type]
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
