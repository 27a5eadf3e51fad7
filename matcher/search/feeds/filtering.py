"""Filters that bass wants: whether a device has them, and how many in-line filters have to be bought.

With a bass system every channel group of loudspeakers has a high-pass, and bass a low-pass: in the device that feeds
them, in the head unit before it, or as an in-line filter. Places that share channels share the filter.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.columns import Column, Columns, column_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.filters import HIGH_PASS, HIGH_PASS_UP, LOW_PASS
from matcher.rules.rule import FITS, NO, rules_of
from matcher.search.exact.choices import Ints
from matcher.search.feeds.parts import AmplifierSignature, HeadSignature
from matcher.search.feeds.plans import Plan
from matcher.settings import Settings

HELD = {"high_pass": (HIGH_PASS, "hp_max_hz", "hp_max_hz"), "low_pass": (LOW_PASS, "lp_min_hz", "lp_max_hz")}
"""By filter: the question of its rules, and the fields of a device with its lowest and its highest setting."""


class PlanWants(NamedTuple):
    """Filters of a package with bass, by channel groups of the head unit, the amplifier and bass; and wire.

    `wired` names the places that an amplifier feeds.
    """

    of_head: int = 0
    of_amplifier: int = 0
    of_bass: int = 0
    wired: tuple[str, ...] = ()


NOTHING = PlanWants()


def plan_wants(plan: Plan, *, bass: bool) -> PlanWants:
    """Filters that a plan wants beside bass, none without, and places that it wires to an amplifier."""
    sources = [feed.source for feed in plan.feeds] if bass else []
    wired = tuple(name for feed in plan.feeds if feed.source == "amplifier" for name in feed.openings)
    return PlanWants(sources.count("head_unit"), sources.count("amplifier"), int(bass), wired)


def filter_columns(cells: Any, settings: Settings) -> dict[str, Column]:
    """Whether each device has each filter, from the columns of its settings."""
    wanted = {"filtering.wanted_hz": column_of([settings["high_pass_hz"]])}
    found = {}
    for name, (scope, least, most) in HELD.items():
        columns = {"filtering.lowest_hz": cells[least], "filtering.highest_hz": cells[most]}
        codes = np.asarray(worst(rules_of(scope), Evaluation(Columns(columns | wanted), settings)))
        found[name] = Column(codes == FITS, (codes == FITS) | (codes == NO))
    return found


def code_of(has: bool | None) -> int:
    """Verdict code of a filter that a device has, has not, or may have."""
    return HIGH_PASS_UP.measure if has is None else FITS if has else NO


def needed_filters(
    wanted: PlanWants, head: tuple[Any, Any], amplifier_high: Any = NO, bass_low: Any = NO
) -> tuple[Ints, Ints]:
    """Verdict codes of the filters, and how many have to be bought: none of those that a device may have.

    Parameters
    ----------
    head
        Codes of the head units' high-pass and low-pass.
    amplifier_high, bass_low
        Codes of the amplifier's high-pass, and of the low-pass of that which drives the bass.
    """
    high, low = np.asarray(head[0]), np.asarray(head[1])
    groups = (wanted.of_head, high), (wanted.of_amplifier, np.maximum(high, amplifier_high))
    code, bought = np.full_like(high, FITS), np.zeros_like(high)
    for count, codes in (*groups, (wanted.of_bass, np.maximum(low, bass_low))):
        if count:
            code = np.minimum(code, np.where(codes == NO, FITS, codes))
            bought = bought + count * (codes == NO)
    return code, bought


def filters_code(plan: Plan, head: HeadSignature, *amplifiers: AmplifierSignature) -> int:
    """Verdict code of the filters of one package with bass: its amplifier, or that of the loudspeakers and another."""
    held = code_of(head.high_pass), code_of(head.low_pass)
    ends = code_of(amplifiers[0].high_pass), code_of(amplifiers[-1].low_pass)
    return int(needed_filters(plan_wants(plan, bass=True), held, *ends)[0])
