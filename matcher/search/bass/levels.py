"""How loud drivers in a box get at the frequency that bass is told at: by the formulas, one system at a time.

`tree.bass_levels` has the same of all of them at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from matcher.formulas.box import closed_fc_hz, closed_qtc, closed_response_db
from matcher.formulas.driver import reference_efficiency
from matcher.formulas.loudness import sens_of_efficiency_db
from matcher.formulas.output import (
    VentedSystem,
    displacement_l,
    power_level_db,
    travel_level_db,
    vented_max_level,
)

BASS_HZ = 40.0
"""Where the level of bass is told and scored."""
NO_LIMIT_CDB = 1_000_000
"""Travel that sets no limit: a vented box at its tuning."""

Row = dict[str, Any]

DriverTerms = tuple[float | None, ...]
"""fs_hz, qts, vas_l, sens_1w, sd_cm2, xmax_mm of one driver."""


def number(figure: Decimal | None) -> float | None:
    """A stored figure as the formulas take it."""
    return None if figure is None else float(figure)


def terms_of(driver: Row) -> DriverTerms:
    """A driver as the formulas take it, with its sensitivity."""
    fs, qts, qes, vas, sd, xmax = (
        number(driver[name]) for name in ("fs_hz", "qts", "qes", "vas_l", "sd_cm2", "xmax_mm")
    )
    return fs, qts, vas, sens_of_efficiency_db(reference_efficiency(fs, vas, qes)), sd, xmax


@dataclass(frozen=True, slots=True)
class Boxed:
    """The box that drivers sit in, as far as sound goes."""

    kind: str | None
    net_l: Decimal | None
    tuned_hz: Decimal | None


Levels = tuple[int | None, int | None]
"""Level on 1 W, and level at the end of travel, in hundredths of a decibel."""


def levels_of(terms: DriverTerms, drivers: int, boxed: Boxed) -> Levels:
    """What drivers in a box give: on 1 W into all of them, and at the end of their travel."""
    fs, qts, vas, sens, sd, xmax = terms
    net = number(boxed.net_l)
    each = None if net is None else net / drivers
    if boxed.kind == "sealed":
        response = closed_response_db(BASS_HZ, closed_fc_hz(fs, vas, each), closed_qtc(qts, vas, each))
        power = power_level_db(sens, 1.0, response, drivers)
        return _hundredths(power), _hundredths(cone_db(terms, drivers))
    if boxed.kind is None:
        return None, None
    system = VentedSystem(fs, qts, vas, each, number(boxed.tuned_hz))
    most = vented_max_level(BASS_HZ, system, sens, 1.0, sd, xmax, drivers)
    if most is None:
        return None, None
    is_free = most.travel_db is None and most.ruled_by == "power"
    return _hundredths(most.power_db), NO_LIMIT_CDB if is_free else _hundredths(most.travel_db)


def _hundredths(level_db: float | None) -> int | None:
    return None if level_db is None else round(100 * level_db)


def cone_db(terms: DriverTerms, drivers: int) -> float | None:
    """Level at which the cones alone come to their travel's end."""
    *_, sd, xmax = terms
    return travel_level_db(displacement_l(sd, xmax, drivers), BASS_HZ)
