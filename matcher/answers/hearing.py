"""Safe listening time at the greatest loudness of a package."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from catalog_schema.answers import Hearing, Line
from matcher.formulas.exposure import NIOSH, OSHA, allowed_h, week_h
from matcher.formulas.loudness import sum_incoherent_db


def hearing_of(lines: list[Line], count_at: Mapping[str | None, int]) -> Hearing | None:
    """Return the level of all loudspeakers together at 1 m and full power, and the safe listening time.

    `count_at` is the number of loudspeakers at each opening: originals that stay have no pieces in their line.
    None if there is no loudspeaker or the level of one is unknown. In a cabin, the ear is closer to some of them and
    the space adds gain to all, so this is a lower bound of the level, not a forecast.
    """
    spoken = [line for line in lines if line.slot == "speaker"]
    known = [float(line.level_db) for line in spoken if line.level_db is not None]
    if not spoken or len(known) < len(spoken):
        return None
    counts = (count_at[line.opening_id] for line in spoken)
    level = sum_incoherent_db([each for level, count in zip(known, counts, strict=True) for each in [level] * count])
    return Hearing(
        level_db=_tenths(level),
        niosh_min=_minutes(allowed_h(level, NIOSH)),
        osha_min=_minutes(allowed_h(level, OSHA)),
        week_min=_minutes(week_h(level)),
    )


def _minutes(hours: float | None) -> Decimal | None:
    return None if hours is None else _tenths(hours * 60)


def _tenths(number: float | None) -> Decimal | None:
    return None if number is None else Decimal(str(round(number, 1)))
