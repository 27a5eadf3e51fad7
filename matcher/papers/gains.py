"""What changes from one package to another, in words that a customer hears, sees or pays."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.answers import Gain
from matcher.papers.writer import Writer

LOUDER_DB = ((10, "far"), (5, "clearly"), (2, "little"), (0, "barely"))
"""From how many decibels on a change of loudness is called what; common practice, no published source."""


def gain_text(writer: Writer, gain: Gain) -> str:
    """One change in words that a customer hears, sees or pays."""
    place = writer.place(gain.where)
    if gain.before is None or gain.after is None:
        return ""
    change = gain.after - gain.before
    key = f"gain.{gain.criterion}.{'more' if change > 0 else 'less'}"
    if gain.criterion == "price":
        return writer.say(key, amount=writer.money(abs(change)))
    by = writer.amount(abs(change), gain.unit)
    if gain.unit == "dB":
        return writer.say(key, place=place, how=how_loud(writer, change), amount=by)
    return writer.say(key, place=place, amount=by)


def how_loud(writer: Writer, change: Decimal) -> str:
    """How much louder or quieter, in a word."""
    word = next(word for least, word in LOUDER_DB if abs(change) >= least)
    return writer.say(f"louder.{word}")
