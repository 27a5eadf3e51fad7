"""Line levels, gain targets, input match and the set-up log."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.line_level import CleanLimit, InputMatch, SetupStep, gain_target_v, input_match, last_clean_step


@pytest.mark.parametrize(
    ("watts", "ohm", "tone", "overlap", "volts"),
    [
        (100, 4, 0, 0, 20.0),  # by hand: the square root of 100 x 4
        (100, 4, -5, 5, 20.0),  # the tone lies as far under full scale as the overlap agreed
        (100, 4, -10, 10, 20.0),
        (100, 4, 0, 5, 35.566),  # with a full-scale tone the reading would be 5 dB over: it clips
        (100, 4, -5, 0, 11.247),
        (100, 4, -10, 0, 6.325),
        (500, 2, -5, 5, 31.623),
    ],
)
def test_gain_target(watts: float, ohm: float, tone: float, overlap: float, volts: float) -> None:
    assert gain_target_v(watts, ohm, tone, overlap) == pytest.approx(volts, abs=1e-3)


@pytest.mark.parametrize(
    ("volts", "match"),
    [
        (2.0, InputMatch("within", 1.0, 0.0)),  # exactly the least
        (8.0, InputMatch("within", 1.0, 0.0)),  # exactly the most
        (1.0, InputMatch("below", 0.25, 0.0)),  # half the voltage is a quarter of the power
        (16.0, InputMatch("above", 1.0, 6.0206)),
    ],
)
def test_match_of_a_source_and_an_input(volts: float, match: InputMatch) -> None:
    found = input_match(volts, 2.0, 8.0)
    assert found is not None
    assert found.place == match.place
    assert (found.reach, found.over_db) == pytest.approx((match.reach, match.over_db))


CLEAN, CLIPPED, UNSEEN = True, False, None


@pytest.mark.parametrize(
    ("log", "limit"),
    [
        ([(28, 1.8, CLEAN), (30, 2.2, CLEAN), (31, 2.4, CLIPPED)], CleanLimit(30, 2.2, 31)),
        ([(31, 2.4, CLIPPED), (28, 1.8, CLEAN), (30, 2.2, CLEAN)], CleanLimit(30, 2.2, 31)),  # any order
        ([(28, 1.8, CLEAN), (29, 2.0, UNSEEN), (30, 2.2, CLIPPED)], CleanLimit(28, 1.8, 30)),
        ([(28, 1.8, CLEAN), (30, 2.2, CLEAN)], CleanLimit(30, 2.2, None)),  # never reached clipping
        ([(10, 0.5, CLIPPED), (12, 0.7, CLIPPED)], CleanLimit(None, None, 10)),  # clips from the start
        ([(28, None, CLEAN), (29, 2.0, CLIPPED)], CleanLimit(28, None, 29)),  # volts not written down
        ([(28, 1.8, CLEAN), (29, 2.0, CLIPPED), (30, 2.2, CLEAN)], CleanLimit(28, 1.8, 29, (30,))),
        ([(28, 1.8, CLEAN), (28, 1.8, CLIPPED)], CleanLimit(None, None, 28, (28,))),  # both: not clean
        ([], None),
        ([(28, 1.8, UNSEEN)], None),
    ],
)
def test_last_clean_step(log: list[tuple[float, float | None, bool | None]], limit: CleanLimit | None) -> None:
    assert last_clean_step(SetupStep(*line) for line in log) == limit


steps = st.builds(SetupStep, st.integers(0, 40), st.floats(0, 10), st.sampled_from([True, False, None]))


@given(st.lists(steps, max_size=12))
def test_nothing_clipped_lies_at_or_under_the_limit(log: list[SetupStep]) -> None:
    limit = last_clean_step(log)
    if limit is not None and limit.step is not None:
        assert all(line.step > limit.step for line in log if line.clean is False)
        assert any(line.step == limit.step for line in log if line.clean)


@pytest.mark.parametrize(
    "answer",
    [
        *[gain_target_v(None, 4)],
        *[gain_target_v(100, 0), gain_target_v(100, 4, 1), gain_target_v(100, 4, 0, -1), gain_target_v(100, 4, None)],
        *[input_match(None, 1, 2), input_match(1, None, 2), input_match(1, 2, 1)],
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
