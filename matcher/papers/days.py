"""Dates on papers: arrival of the parts, completion of a car, end of an offer."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from catalog_schema.answers import Package
from matcher.papers.dossier import Dossier

SATURDAY = 5


def arrival(dossier: Dossier, wanted: Iterable[tuple[str, int]]) -> date | None:
    """Return the day on which the last of some parts arrives if all are ordered on the paper's date.

    Parameters
    ----------
    wanted
        Parts by their numbers, each with its packs.

    Returns
    -------
    The paper's date if everything is in stock; None if a part is neither in stock nor has a known lead time.
    """
    latest = 0
    for part_id, packs in wanted:
        figures = dossier.parts.get(part_id, {})
        if (figures.get("stock") or 0) >= packs:
            continue
        days = figures.get("lead_days")
        if days is None:
            return None
        latest = max(latest, int(days))
    return dossier.on + timedelta(days=latest)


def ready(dossier: Dossier, package: Package, wanted: Iterable[tuple[str, int]]) -> date | None:
    """Return the day on which the car is ready if the parts are ordered on the paper's date; None if unknown.

    Installation begins on the working day after the last part arrives, and takes whole working days, Monday to Friday.
    """
    there = arrival(dossier, wanted)
    rate = dossier.settings.charged("labour_rate")
    if there is None or package.price.labour_open or not rate:
        return None
    hours = package.price.labour / rate
    return add_working_days(there, max(math.ceil(hours / dossier.settings["work_hours_a_day"]), 1))


def add_working_days(day: date, count: int) -> date:
    """Return the day a number of working days later.

    >>> add_working_days(date(2026, 12, 4), 1).isoformat()
    '2026-12-07'
    """
    while count:
        day += timedelta(days=1)
        count -= day.weekday() < SATURDAY
    return day


def valid_until(dossier: Dossier) -> date | None:
    """Return the last day on which an offer of the paper's date is valid; None if the shop sets no limit."""
    days: Decimal = dossier.settings["offer_days"]
    return dossier.on + timedelta(days=int(days)) if days else None
