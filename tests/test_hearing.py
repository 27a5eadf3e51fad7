"""How long a package's loudness may last, worked by hand from NIOSH 98-126, 29 CFR 1910.95 and WHO-ITU H.870."""

from __future__ import annotations

from decimal import Decimal

import pytest

from catalog_schema.answers import Line
from matcher.answers.hearing import hearing_of

D = Decimal


COUNT_AT = {"one": 1, "pair": 2}


def line(level_db: str | None, place: str = "pair", slot: str = "speaker", pieces: int = 2) -> Line:
    """A line of loudspeakers that reach a level."""
    level = None if level_db is None else D(level_db)
    return Line(slot=slot, opening_id=place, part_id="p", qty=1, pieces=pieces, level_db=level)


@pytest.mark.parametrize(
    ("lines", "level_db", "niosh_min", "osha_min", "week_min"),
    [
        # One loudspeaker at 100 dB: NIOSH 15 min, OSHA 2 h; 80 dB for 40 h a week is 100 dB for 24 min.
        ([line("100", "one")], "100", "15", "120", "24"),
        # A pair at 97 dB is 97 + 3.01.
        ([line("97")], "100.0", "15", "119.8", "24"),
        # An original pair that stays: of no pieces, and heard like any other.
        ([line("97", pieces=0)], "100.0", "15", "119.8", "24"),
        # Two pairs, 103.01 and 100.01 dB, are 104.77 dB: 480 / 2^6.59 = 5 min.
        ([line("100"), line("97")], "104.8", "5", "61.9", "8"),
        # Under 80 dB the daily rules say nothing.
        ([line("70", "one")], "70", None, None, "24000"),
    ],
)
def test_loudness_and_its_time(
    lines: list[Line], level_db: str, niosh_min: str | None, osha_min: str | None, week_min: str
) -> None:
    hearing = hearing_of(lines, COUNT_AT)
    assert hearing is not None
    told = (hearing.level_db, hearing.niosh_min, hearing.osha_min, hearing.week_min)
    for number, expected in zip(told, (level_db, niosh_min, osha_min, week_min), strict=True):
        assert (number is None) == (expected is None)
        assert expected is None or float(number) == pytest.approx(float(expected), rel=0.02)


@pytest.mark.parametrize("lines", [[], [line("100"), line(None)], [line("100", slot="enclosure")]])
def test_an_unknown_level_is_not_told(lines: list[Line]) -> None:
    assert hearing_of(lines, COUNT_AT) is None
