"""Exposure against the tables that NIOSH, OSHA, a Canadian directive and WHO-ITU print."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.exposure import FEDERAL_87, NIOSH, OSHA, ExposureRule, Listening, allowed_h, dose_pct, week_h


@pytest.mark.parametrize(("level", "hours"), [(85, 8), (88, 4), (91, 2), (94, 1), (97, 0.5), (100, 0.25)])
def test_niosh_98_126(level: float, hours: float) -> None:
    assert allowed_h(level, NIOSH) == pytest.approx(hours)


@pytest.mark.parametrize(
    ("level", "hours"), [(90, 8), (92, 6), (95, 4), (97, 3), (100, 2), (102, 1.5), (105, 1), (110, 0.5), (115, 0.25)]
)
def test_table_of_41_cfr_50_204_10(level: float, hours: float) -> None:
    # The table rounds: 92 dBA is 6.06 h, 97 is 3.03 h, 102 is 1.52 h by the formula.
    assert allowed_h(level, OSHA) == pytest.approx(hours, rel=0.016)


@pytest.mark.parametrize(("level", "hours"), [(115, 0.25), (115.1, 0), (116, 0), (130, 0), (131, 0), (140, 0)])
def test_osha_allows_nothing_over_115_dba(level: float, hours: float) -> None:
    # 29 CFR 1910.95 table G-16 ends at 115 dBA: a quarter of an hour, and nothing beyond.
    assert allowed_h(level, OSHA) == hours


def test_dose_beyond_the_allowance_follows_appendix_a() -> None:
    # 29 CFR 1910.95 appendix A, table G-16a: 0.125 h at 120 dBA, 0.031 h at 130 dBA.
    assert dose_pct([Listening(120, 0.125)], OSHA) == pytest.approx(100)
    assert dose_pct([Listening(130, 0.031)], OSHA) == pytest.approx(100, rel=0.01)


@given(st.floats(80, 115))
def test_osha_as_a_logarithm(level: float) -> None:
    # A state code writes log10 T = 6.322 - 0.0602 L.
    assert math.log10(allowed_h(level, OSHA) or 1) == pytest.approx(6.322 - 0.0602 * level, abs=2e-3)


@pytest.mark.parametrize(
    ("level", "hours"), [(83, 20), (84, 16), (85, 13), (87, 8), (88, 6.4), (90, 4), (93, 2), (96, 1), (100, 0.40)]
)
def test_canadian_directive(level: float, hours: float) -> None:
    assert allowed_h(level, FEDERAL_87) == pytest.approx(hours, rel=0.03)


def test_eight_hours_at_92_dba() -> None:
    # 29 CFR 1910.95 appendix A: about 131 %.
    assert dose_pct([Listening(92, 8)], OSHA) == pytest.approx(131, rel=0.01)


@pytest.mark.parametrize(
    ("day", "dose"),
    [
        ([], 0),
        ([Listening(85, 8)], 100),
        ([Listening(85, 4), Listening(88, 2)], 100),
        ([Listening(70, 8), Listening(94, 1)], 100),  # under 80 dBA nothing is added
        ([Listening(94, 0)], 0),
        ([Listening(94, None)], None),
        ([Listening(None, 1)], None),
        ([Listening(141, 1)], None),
    ],
)
def test_dose_of_a_day(day: list[Listening], dose: float | None) -> None:
    found = dose_pct(day)
    assert found == (None if dose is None else pytest.approx(dose))


@pytest.mark.parametrize(
    ("level", "sensitive", "hours"), [(80, False, 40), (75, True, 40), (89, False, 5.0), (83, False, 20)]
)
def test_h_870(level: float, sensitive: bool, hours: float) -> None:
    assert week_h(level, sensitive=sensitive) == pytest.approx(hours, rel=0.012)


@given(st.floats(80, 110), st.sampled_from([NIOSH, OSHA, FEDERAL_87]))
def test_one_step_louder_halves_the_time(level: float, rule: ExposureRule) -> None:
    longer, shorter = allowed_h(level, rule), allowed_h(level + rule.halves_db, rule)
    if shorter is not None:
        assert shorter == pytest.approx((longer or 0) / 2)


@pytest.mark.parametrize(
    "answer",
    [
        *[allowed_h(None), allowed_h(79.9), allowed_h(140.1), allowed_h(141, OSHA), week_h(None), week_h(49)],
        *[week_h(141)],
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
