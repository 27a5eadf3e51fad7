"""Hearing: safe listening time at a level, and the dose of a day."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from catalog_schema.sources import Source, published
from matcher.formulas.air import HEARING_PA
from matcher.formulas.known import not_negative, within
from matcher.formulas.register import formula

LEAST_DBA, MOST_DBA = 80.0, 140.0
WEEK_PA2H = {False: 1.6, True: 0.51}


@dataclass(frozen=True, slots=True)
class ExposureRule:
    """The level allowed for eight hours, and the increase in dB that halves the time."""

    name: str
    eight_hours_dba: float
    halves_db: float
    most_dba: float
    source: Source
    allows_to_dba: float = MOST_DBA
    """Level above which the rule allows no time at all."""


NIOSH = ExposureRule("NIOSH", 85, 3, MOST_DBA, published("NIOSH 98-126"))
OSHA = ExposureRule("OSHA", 90, 5, 130.0, published("29 CFR 1910.95 appendix A; nothing over 115 dBA"), 115.0)
FEDERAL_87 = ExposureRule("87 dBA", 87, 3, MOST_DBA, published("a Canadian federal directive: 87 dBA, 3 dB"))
_RULES = published("NIOSH 98-126; 29 CFR 1910.95 appendix A; a Canadian federal directive (87 dBA, 3 dB)")
_RANGE = "80 to 140 dBA (OSHA: no time over 115 dBA, dose up to 130 dBA); steady levels at the ear"


@formula(source=_RULES, valid=_RANGE)
def allowed_h(level_dba: float | None, rule: ExposureRule = NIOSH) -> float | None:
    """Allowed hours a day at a level by one of the rules.

    Parameters
    ----------
    level_dba
        Level at the ear, dBA.
    rule
        ``NIOSH``, ``OSHA`` or ``FEDERAL_87``.

    Returns
    -------
    Hours; over 24 if a whole day is allowed, 0 above the rule's maximum level.

    Examples
    --------
    >>> allowed_h(100), allowed_h(95, OSHA), allowed_h(90, FEDERAL_87), allowed_h(116, OSHA)
    (0.25, 4.0, 4.0, 0.0)
    """
    level = within(level_dba, LEAST_DBA, MOST_DBA)
    return 0.0 if level is not None and level > rule.allows_to_dba else _reference_h(level, rule)


def _reference_h(level_dba: float | None, rule: ExposureRule) -> float | None:
    """Hours that make up a dose of 100 %."""
    level = within(level_dba, LEAST_DBA, rule.most_dba)
    return None if level is None else 8 / 2 ** ((level - rule.eight_hours_dba) / rule.halves_db)


@dataclass(frozen=True, slots=True)
class Listening:
    """A level and how long it lasted."""

    level_dba: float | None
    hours: float | None


@formula(source=_RULES, valid=_RANGE + "; a level under 80 dBA adds nothing")
def dose_pct(day: Iterable[Listening], rule: ExposureRule = NIOSH) -> float | None:
    """Dose of a day; 100 % is the maximum allowed.

    Parameters
    ----------
    day
        Levels with their hours; one unknown makes the dose unknown.
    rule
        As for the hours.

    Returns
    -------
    Dose in %.

    Examples
    --------
    >>> dose_pct([Listening(92, 8)], OSHA)
    131.95
    """
    parts: list[float] = []
    for spell in day:
        level, hours = within(spell.level_dba, 0, rule.most_dba), not_negative(spell.hours)
        if level is None or hours is None:
            return None
        allowed = _reference_h(level, rule)
        parts.append(0.0 if allowed is None else 100 * hours[0] / allowed)
    return math.fsum(parts)


@formula(
    source=published("WHO-ITU H.870"),
    valid="50 to 140 dBA; 80 dBA for 40 h a week, sensitive listeners 75 dBA",
)
def week_h(level_dba: float | None, *, sensitive: bool = False) -> float | None:
    """Allowed hours a week at a level for leisure, by its energy.

    Parameters
    ----------
    level_dba
        Level at the ear, dBA.
    sensitive
        For children and other sensitive listeners.

    Returns
    -------
    Hours a week.

    Notes
    -----
    The sound exposure is 1.6 Pa2h a week, for sensitive listeners 0.51 Pa2h.

    Examples
    --------
    >>> week_h(80), week_h(89)
    (40.0, 5.0)
    """
    level = within(level_dba, 50, MOST_DBA)
    return None if level is None else WEEK_PA2H[sensitive] / (HEARING_PA**2 * 10 ** (level / 10))
