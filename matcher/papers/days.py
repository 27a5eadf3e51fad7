"""Dates on papers: arrival of the parts, completion of a car, end of an offer."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from catalog_schema.answers import Package
from matcher.papers.dossier import Dossier

SATURDAY = 5


def arrival(dossier: Dossier, wanted: Iterable[tuple[str, int]]) -> tuple[date, bool]:
    """Return the day on which the last of some parts arrives if all are ordered on the paper's date.

    Parameters
    ----------
    wanted
        Parts by their numbers, each with its packs.

    Returns
    -------
    The day, which is the paper's date if everything is in stock, and whether it is certain: a part may neither be in
    stock nor have a known lead time.
    """
    latest, is_certain = 0, True
    for part_id, packs in wanted:
        figures = dossier.parts.get(part_id, {})
        if (figures.get("stock") or 0) >= packs:
            continue
        days = figures.get("lead_days")
        latest, is_certain = max(latest, int(days or 0)), is_certain and days is not None
    return dossier.on + timedelta(days=latest), is_certain


def ready(dossier: Dossier, package: Package, wanted: Iterable[tuple[str, int]]) -> tuple[date | None, bool]:
    """Return the day on which the car is ready if the parts are ordered on the paper's date, and whether it is certain.

    The day is None if the hours of work are unknown.

    Installation begins on the working day after the last part arrives, and takes whole working days, Monday to Friday.
    """
    there, is_certain = arrival(dossier, wanted)
    rate = dossier.settings.charged("labour_rate")
    if package.price.labour_open or not rate:
        return None, False
    days = math.ceil(package.price.labour / rate / dossier.settings["work_hours_a_day"])
    return add_working_days(there, max(days, 1)), is_certain


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
