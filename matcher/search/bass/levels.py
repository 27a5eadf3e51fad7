"""How loud drivers in a box get at the frequency that bass is told at: by the formulas, one system at a time, and in
bulk as bounds that no system exceeds.

The bounds are the same formulas in SQL, of every driver with every box that differs in sound: they tell which systems
are worth being worked out at all, and nothing else.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable, Mapping, Sequence
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
from matcher.store.connection import Connection

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


def lift_cdb(boxed: Boxed) -> int | None:
    """By how much a box lets cones get louder within their travel, at most; none where that cannot be told."""
    if boxed.kind == "sealed":
        return 0
    tuned = number(boxed.tuned_hz)
    if boxed.kind is None or tuned is None:
        return None
    share = abs(1 - (tuned / BASS_HZ) ** 2)
    return NO_LIMIT_CDB if share < 1e-6 else math.ceil(-2000 * math.log10(share)) + 1


@dataclass(frozen=True, slots=True)
class Sounds:
    """Boxes for so many drivers of one size, as far as they differ in sound."""

    drivers: int
    boxed: Sequence[Boxed]


UNKNOWN_CDB = -(2**30)
"""In place of a level that is not known."""
BEYOND_CDB = 2**30
"""In place of a bound where the formulas' own range may end: there a system has to be worked out."""
WIDE_CDB = 4
"""How far a level lies below its bound at most."""

Bounds = Mapping[tuple[str, int], "array[int]"]
"""By driver and by which boxes it meets, for each of these that differs in sound: a level on 1 W not exceeded."""


def power_bounds(
    con: Connection, drivers: Mapping[str, DriverTerms], meets: Iterable[tuple[str, int]], some: Sequence[Sounds]
) -> Bounds:
    """Bounds on the level on 1 W of each driver with each boxes that it meets, given by their position in `some`."""
    asked = [(part_id, at, *drivers[part_id][:4]) for part_id, at in meets]
    boxes = [
        (at, sound, one.drivers, boxed.kind, number(boxed.net_l), number(boxed.tuned_hz))
        for at, one in enumerate(some)
        for sound, boxed in enumerate(one.boxed)
    ]
    if not asked or not boxes:
        return {}
    rows = con.execute(_BOUNDS, [list(column) for column in (*zip(*asked, strict=True), *zip(*boxes, strict=True))])
    found: dict[tuple[str, int], array[int]] = {}
    while many := rows.fetchmany(1000):
        found |= {(part_id, at): array("i", levels) for part_id, at, levels in many}
    return found


def _given(columns: Sequence[str], first: int) -> str:
    """SQL of parameters as columns."""
    pairs = (column.split() for column in columns)
    return ", ".join(f"unnest(${at}::{kind}[]) AS {name}" for at, (name, kind) in enumerate(pairs, first))


_DRIVER = ("part_id VARCHAR", "meets INTEGER", "fs DOUBLE", "qts DOUBLE", "vas DOUBLE", "sens DOUBLE")
_BOX = ("meets INTEGER", "sound INTEGER", "n INTEGER", "kind VARCHAR", "net DOUBLE", "tuned DOUBLE")
_RATIO, _STIFF = f"({BASS_HZ} / fs)", "(vas * n / net)"
_PORT = f"(power(tuned / fs, 2) - power({_RATIO}, 2))"
_CLOSED = f"(power(1 - (1 + {_STIFF}) / power({_RATIO}, 2), 2) + 1 / power({_RATIO} * qts, 2))"
_VENTED = (
    f"((power((1 - power({_RATIO}, 2)) * {_PORT} - {_STIFF} * power({_RATIO}, 2), 2) "
    f"+ power({_PORT} * {_RATIO} / qts, 2)) / power({_RATIO}, 8))"
)
"""SQL of how many times the power of its flat part a box takes to give as much at this frequency."""
_KNOWN = (
    "kind IS NOT NULL AND (kind = 'sealed' OR tuned > 0) "
    "AND fs > 0 AND qts > 0 AND vas > 0 AND net > 0 AND sens IS NOT NULL"
)
_INSIDE = (
    "sens BETWEEN -99 AND 249 AND fs BETWEEN 1 AND 1000 AND qts BETWEEN 0.06 AND 19 "
    f"AND {_STIFF} BETWEEN 0.00001 AND 100000 AND CASE kind WHEN 'sealed' THEN qts * sqrt(1 + {_STIFF}) < 19 "
    "ELSE tuned / fs BETWEEN 0.02 AND 50 END"
)
_LEVEL = f"sens + 10 * log10(n / greatest(CASE kind WHEN 'sealed' THEN {_CLOSED} ELSE {_VENTED} END, 1e-30))"
_BOUND = (
    f"CASE WHEN NOT coalesce({_KNOWN}, false) THEN {UNKNOWN_CDB} "
    f"WHEN {_INSIDE} THEN ceil(100 * ({_LEVEL}))::INTEGER + 2 ELSE {BEYOND_CDB} END"
)
_BOUNDS = (
    f"WITH driver AS (SELECT {_given(_DRIVER, 1)}), box AS (SELECT {_given(_BOX, 1 + len(_DRIVER))}) "
    f"SELECT part_id, meets, list({_BOUND} ORDER BY sound) FROM driver JOIN box USING (meets) GROUP BY part_id, meets"
)
