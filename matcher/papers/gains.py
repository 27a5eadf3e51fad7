"""Changes between packages in words that a customer hears or sees, gains separate from losses."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from catalog_schema.answers import StepGain
from matcher.answers.gains import is_better, is_noticed
from matcher.papers.writer import Writer

LOUDER_DB = ((10, "far"), (5, "clearly"), (2, "little"), (0, "barely"))
"""Words for a difference in loudness from a number of decibels up; common practice, no published source."""


def gained_and_lost(writer: Writer, changes: Iterable[StepGain], *, short: bool = False) -> tuple[list[str], list[str]]:
    """Return the noticeable improvements and losses; ``short`` leaves out the place."""
    gained: list[str] = []
    lost: list[str] = []
    for gain in changes:
        if is_noticed(gain):
            (gained if is_better(gain) else lost).append(gain_text(writer, gain, short=short))
    return gained, lost


def gain_text(writer: Writer, gain: StepGain, *, short: bool) -> str:
    """Describe one change in words that a customer hears or sees."""
    assert gain.before is not None and gain.after is not None
    change = gain.after - gain.before
    key = f"gain.{gain.criterion}.{'short.' if short else ''}{'more' if change > 0 else 'less'}"
    by = writer.amount(abs(change), gain.unit)
    return writer.say(key, place=writer.place(gain.where), how=how_loud(writer, change), amount=by)


def how_loud(writer: Writer, change: Decimal) -> str:
    """Return the word for a difference in loudness."""
    word = next(word for least, word in LOUDER_DB if abs(change) >= least)
    return writer.say(f"louder.{word}")
