"""Sentences about the filters of a package: where each begins, and where it is."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.answers import Filter
from matcher.answers.messages import amount

PLACES = {"head_unit": "in the head unit", "in_line": "in line, from the kit"}


def filter_says(one: Filter) -> str:
    """The filters of a channel group in a line; empty if it wants none."""
    parts = []
    if one.low_pass_hz is not None:
        parts.append(f"low-pass at {amount(one.low_pass_hz, 'Hz')} {_place(one.low_pass_in, one, 'filter.low')}")
    if one.high_pass_in is not None or one.checks:
        wanted = one.high_pass_wanted_hz
        most = "" if wanted is None else f", its highest setting: the loudspeakers want {amount(wanted, 'Hz')}"
        parts += _high(one.high_pass_hz, f"{_place(one.high_pass_in, one, ('filter.high', 'filter.sub'))}{most}")
    return f"filter of {', '.join(one.to)}: {'; '.join(parts)}" if parts else ""


def _high(hz: Decimal | None, place: str) -> list[str]:
    return [] if hz is None else [f"high-pass at {amount(hz, 'Hz')} {place}"]


def _place(at: str | None, one: Filter, rules: str | tuple[str, ...]) -> str:
    """Describe the place of a filter, that there is none, or that it is unknown."""
    if at is not None:
        return PLACES.get(at, "in the amplifier")
    verdicts = [check.verdict for check in one.checks if check.rule.startswith(rules)]
    return "that neither device has" if "no" in verdicts else "in a device still to be found"
