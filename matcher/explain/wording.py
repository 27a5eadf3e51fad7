"""The only sentences: made from answers, never parsed, free to change.

An order holds for all: the fact with both numbers and their unit, then what would help.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Check, Fit
from catalog_schema.jobs import LADDER_MEANING
from matcher.rules.rule import Rule, rule_named

VERDICT_WORDS = {"fits": "FITS", "no": "DOES NOT FIT", "measure": "MEASURE FIRST"}


def amount(number: Decimal | int | float | None, unit: str = "") -> str:
    """A number with its unit, as a person writes it."""
    if number is None:
        return "not known"
    text = f"{Decimal(str(number)).normalize():f}"
    return f"{text} {unit}" if unit else text


def check_says(check: Check) -> str:
    """A check in a sentence."""
    rule = rule_named(check.rule)
    about = f"{check.about}: " if check.about else ""
    if check.missing:
        return f"{about}not known: {', '.join(check.missing)}{_would_fit(check)}"
    if check.verdict == "no":
        cure = f"; {rule.cure}" if rule.cure else ""
        return f"{about}{rule.flaw}: {_numbers(check, rule)}{cure}"
    if check.verdict == "measure":
        return f"{about}too close to call: {_numbers(check, rule)}, figures good to ±{amount(check.tol, check.unit)}"
    if rule.unit in UNCOUNTED:
        return f"{about}as it should be"
    spare = amount(check.margin, check.unit)
    return f"{about}{spare} to spare: has {amount(check.have)}, needs {amount(check.need)}"


UNCOUNTED = frozenset({"", "bolts", "coils"})


def _numbers(check: Check, rule: Rule) -> str:
    if check.margin is None or rule.unit == "":
        return "as the figures stand"
    gap = amount(abs(check.margin), check.unit)
    how = "short by" if check.margin < 0 else "spare"
    return f"needs {amount(check.need, check.unit)}, has {amount(check.have, check.unit)}, {how} {gap}"


def _would_fit(check: Check) -> str:
    if check.need is None and check.have is not None and len(check.missing) == 1:
        return f"; there is {amount(check.have, check.unit)}"
    if check.have is None and check.need is not None and len(check.missing) == 1:
        return f"; it has to be {amount(check.need, check.unit)} or more"
    return ""


def fit_with_words(fit: Fit) -> Fit:
    """The fit with a sentence in each of its checks."""
    return replace(fit, checks=[replace(check, says=check_says(check)) for check in fit.checks])


def fit_headline(fit: Fit) -> str:
    """The verdict in a line."""
    adapter = f" with adapter {fit.adapter_id}" if fit.adapter_id else ""
    turned = ", turned a quarter" if fit.turned else ""
    return f"{fit.part_id} in {fit.opening}{adapter}{turned}: {VERDICT_WORDS[fit.verdict]} at {fit.asked}"


def alteration_says(fit: Fit) -> str:
    """What fitting it would alter, in a line."""
    if fit.alteration is None:
        return "no alteration would make it fit"
    meaning = LADDER_MEANING[fit.alteration]
    cut = ""
    if fit.cut is not None:
        size = f"{amount(fit.cut.w_mm)} x {amount(fit.cut.h_mm, 'mm')}"
        cut = f"; the opening would be cut to {size}{f', {fit.cut.material}' if fit.cut.material else ''}"
    return f"least alteration: {fit.alteration} ({meaning}){cut}"
