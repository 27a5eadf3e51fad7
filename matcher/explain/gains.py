"""What is heard, seen and paid otherwise from one package to another."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from catalog_schema.answers import Gain, Package
from matcher.explain.wording import gain_says

if TYPE_CHECKING:
    from catalog_schema.whys import Brief

GAIN_UNITS = {"level_db": "dB", "low_hz": "Hz", "screen_in": "in"}
"""What a line shows that a customer hears or sees, with its unit."""


def gains(below: Package | Brief, above: Package | Brief) -> list[Gain]:
    """What is heard and seen otherwise at each place, then the price."""
    lines = {(line.slot, line.opening_id): line for line in below.lines}
    changes = [
        Gain(criterion=name, where=str(line.opening_id), before=before, after=after, unit=unit)
        for line in above.lines
        for name, unit in GAIN_UNITS.items()
        if (before := getattr(lines.get((line.slot, line.opening_id)), name, None)) != (after := getattr(line, name))
    ]
    heard = [_heard(below), _heard(above)]
    if heard[0] != heard[1]:
        changes.append(Gain(criterion="bass_mean_db", where="bass", before=heard[0], after=heard[1], unit="dB"))
    if above.price.total != below.price.total:
        changes.append(
            Gain(criterion="price", where="whole", before=below.price.total, after=above.price.total, unit="money")
        )
    return [replace(gain, says=gain_says(gain)) for gain in changes]


def _heard(package: Package | Brief) -> Decimal | None:
    if not isinstance(package, Package):
        return package.bass_mean_db
    level = None if package.bass is None else package.bass.mean_db
    return None if level is None else Decimal(str(level))
