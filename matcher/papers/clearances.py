"""Clearances on paper: the margin of each length that a rule compares."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR

from catalog_schema.answers import Check
from matcher.answers.messages import BESIDE
from matcher.papers.model import Table
from matcher.papers.numbers import rounded
from matcher.papers.writer import Writer


def tightest(checks: Sequence[Check]) -> list[Check]:
    """Return the checks in millimeters with a known margin, smallest margin relative to its tolerance first."""
    known = [(check.margin - check.tol, check) for check in checks if check.unit == "mm" and check.margin is not None]
    return [check for _, check in sorted(known, key=lambda pair: pair[0])]


def unmeasured(checks: Sequence[Check]) -> list[Check]:
    """Return the checks in millimeters that a missing figure leaves open."""
    return [check for check in checks if check.unit == "mm" and check.verdict == "measure" and check.margin is None]


def at_place(checks: Sequence[Check], opening_id: str) -> list[Check]:
    """Return the checks at an opening."""
    return [check for check in checks if check.about == opening_id or check.about.startswith(f"{opening_id}: ")]


def clearance_table(writer: Writer, checks: Sequence[Check], *, place: bool = False) -> Table:
    """Return a table of the available room, the required room with clearance, and the difference as a bar.

    Lengths are in steps of 0.5 mm, available ones rounded down and required ones up, so that they never overstate the
    margin; the difference is that of the printed figures.
    """
    heads = ["what", "have", "need", "left"]
    most = max((check.margin for check in checks if check.margin is not None), default=None)
    return Table(
        heads=tuple(writer.say(f"clearance.{name}") for name in (["where"] if place else []) + heads),
        rows=tuple(_row(writer, check, place) for check in checks),
        right=tuple(range(2, 5)) if place else (1, 2, 3),
        widths=(1, 2.2, 0.6, 0.6, 0.8) if place else (2.6, 0.6, 0.6, 0.8),
        bars=tuple(float(max(check.margin or 0, 0) / most) if most else 0.0 for check in checks),
    )


def _row(writer: Writer, check: Check, place: bool) -> tuple[str, ...]:
    opening_id, _, thing = check.about.partition(": ")
    what = f"{_thing(writer, thing)}: {writer.compares(check)}" if thing else writer.compares(check)
    have = None if check.have is None else rounded(check.have, check.unit, ROUND_FLOOR)
    need = None if check.need is None else rounded(check.need, check.unit, ROUND_CEILING)
    if have is None or need is None:
        left = writer.say("clearance.open")
    else:
        left = writer.amount(have - need, check.unit)
        left = f"{left} ±{writer.numbers.number(check.tol, check.unit)}" if check.tol else left
    cells = (what, *("?" if side is None else writer.amount(side, check.unit) for side in (have, need)), left)
    return (writer.place(opening_id), *cells) if place else cells


def _thing(writer: Writer, thing: str) -> str:
    """Return the label of a thing, or of two things on one spot."""
    first, beside, second = thing.partition(BESIDE)
    named = writer.part(first)
    return writer.say("clearance.beside", first=named, second=writer.part(second)) if beside else named
