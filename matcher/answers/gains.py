"""Differences between two packages in sound, screen and price."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from catalog_schema.answers import Package, StepGain
from matcher.answers.messages import amount, gain_says, money

if TYPE_CHECKING:
    from catalog_schema.whys import Brief

GAIN_UNITS = {"level_db": "dB", "low_hz": "Hz", "screen_in": "in"}
"""Figures of a line that a customer hears or sees, with their units."""

HEARD_DB, HEARD_RATIO = Decimal(2), Decimal("1.25")
"""Smallest audible changes of level and of the lowest note (a third of an octave).

Common practice, no published source.
"""
LESS_IS_MORE = frozenset({"low_hz"})
"""Figures that are better when smaller, such as the lowest note."""


def gains(below: Package | Brief, above: Package | Brief) -> list[StepGain]:
    """Return the audible and visible differences at each place, then the price difference."""
    lines = {(line.slot, line.opening_id): line for line in below.lines}
    changes = [
        StepGain(criterion=name, where=str(line.opening_id), before=before, after=after, unit=unit)
        for line in above.lines
        for name, unit in GAIN_UNITS.items()
        if (before := getattr(lines.get((line.slot, line.opening_id)), name, None)) != (after := getattr(line, name))
    ]
    heard = [_heard(below), _heard(above)]
    if heard[0] != heard[1]:
        changes.append(StepGain(criterion="bass_mean_db", where="bass", before=heard[0], after=heard[1], unit="dB"))
    if above.price.total != below.price.total:
        changes.append(
            StepGain(criterion="price", where="whole", before=below.price.total, after=above.price.total, unit="money")
        )
    return [replace(gain, says=gain_says(gain)) for gain in changes]


def is_noticed(gain: StepGain) -> bool:
    """Whether a change is heard or seen; unknown if a figure is missing on either side."""
    if gain.before is None or gain.after is None:
        return False
    if gain.unit == "dB":
        return abs(gain.after - gain.before) >= HEARD_DB
    if gain.unit == "Hz":
        least, most = sorted((gain.before, gain.after))
        return least > 0 and most / least >= HEARD_RATIO
    return gain.unit == "in"


def is_better(gain: StepGain) -> bool:
    """Whether a change is an improvement; both figures must be known."""
    assert gain.before is not None and gain.after is not None
    return (gain.after > gain.before) != (gain.criterion in LESS_IS_MORE)


def main_goods_say(package: Package) -> str:
    """Describe the main goods of the cheapest tier, which has no lower one for comparison."""
    lines = [line for line in package.lines if line.part_id]
    count = Counter(line.slot for line in lines)
    screen = next((line.screen_in for line in lines if line.screen_in), None)
    words = {
        "head_unit": "head unit" if screen is None else f"screen of {amount(screen, 'in')}",
        "speaker": "loudspeakers" if count["speaker"] == 1 else f"loudspeakers at {count['speaker']} places",
        "bass": "bass",
        "amplifier": "amplifier",
        "film": "film",
        "security": "security",
    }
    return ", ".join(word for slot, word in words.items() if count[slot])


def step_says(below: Package, above: Package) -> str:
    """Describe the advantages of a tier over the one below it, or state that there are none."""
    if above.id == below.id:
        return "nothing more: the same package"
    changes = gains(below, above)
    noticed = [gain for gain in changes if is_noticed(gain)]
    filled = {(line.slot, line.opening_id) for line in below.lines}
    bought = [gain.says for gain in noticed if is_better(gain)]
    bought += [gain.says for gain in changes if gain.before is None and gain.after is not None]
    alone = [name for link in above.links if "shared" not in link.channels for name in link.to]
    bought += [f"channels of its own for {name}" for name in alone if name in _sharing(below)]
    bought += [line.label for line in above.lines if (line.slot, line.opening_id) not in filled]
    fewer = len(below.measure) - len(above.measure)
    bought += [f"{fewer} figure{'s' if fewer > 1 else ''} fewer to measure first"] if fewer > 0 else []
    lost = [gain.says for gain in noticed if not is_better(gain)]
    dearer = f"{money(above.price.total - below.price.total)} {above.price.currency}".rstrip()
    against = f", but {'; '.join(lost)}" if lost else ""
    return f"{dearer} more: {'; '.join(bought) or 'nothing that is heard or seen'}{against}"


def _sharing(package: Package) -> set[str]:
    """Return the places that share channels."""
    return {name for link in package.links if "shared" in link.channels for name in link.to}


def _heard(package: Package | Brief) -> Decimal | None:
    if not isinstance(package, Package):
        return package.bass_mean_db
    level = None if package.bass is None else package.bass.mean_db
    return None if level is None else Decimal(str(level))
