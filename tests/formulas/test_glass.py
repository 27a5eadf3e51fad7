"""Film on glass against the limits that regulations print."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.glass import film_needed_pct, film_verdict, glass_needed_pct, net_vlt_pct

percents = st.floats(1, 100)


def test_film_of_90_on_glass_of_78() -> None:
    assert net_vlt_pct(78, 90) == pytest.approx(70.2)


@pytest.mark.parametrize(
    ("glass", "film", "limit", "verdict"),
    [
        (78, 90, 70, "fits"),  # FMVSS 205: 70 %
        (78, 90, 75, "no"),  # UK Construction and Use Regulation 32: windscreen 75 %
        (78, 90, 70.2, "fits"),  # exactly the limit
        *[(78, 90, 70.3, "no"), (70, 100, 70, "fits"), (78, 90, None, "unknown"), (None, 90, 70, "unknown")],
        *[(78, None, 70, "unknown")],
    ],
)
def test_verdict_against_the_users_own_limit(
    glass: float | None, film: float | None, limit: float | None, verdict: str
) -> None:
    found = film_verdict(glass, film, limit)
    assert found.verdict == verdict
    assert (found.margin_pct is None) == (verdict == "unknown")


def test_an_unknown_limit_still_tells_the_net() -> None:
    assert film_verdict(78, 90, None).net_pct == pytest.approx(70.2)


def test_glass_for_film_of_78_at_a_limit_of_70() -> None:
    assert glass_needed_pct(78, 70) == pytest.approx(89.74, abs=5e-3)
    assert film_needed_pct(89.74359, 70) == pytest.approx(78, abs=1e-4)


@given(percents, percents)
def test_the_glass_needed_keeps_the_limit(film: float, limit: float) -> None:
    glass = glass_needed_pct(film, limit)
    if glass is None:
        assert film_verdict(100, film, limit).verdict == "no"
    else:
        assert film_verdict(glass, film, limit).margin_pct == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    "answer",
    [
        *[net_vlt_pct(None, 50), net_vlt_pct(101, 50), net_vlt_pct(50, -1), glass_needed_pct(60, 70)],
        *[glass_needed_pct(0, 0), glass_needed_pct(60, None), film_needed_pct(60, 70)],
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
