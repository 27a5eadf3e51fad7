"""Limits on sums: the most that a rule lets through is the last at which it does not refuse."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from matcher.kernel.columns import Column
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.sums import most_of
from matcher.kernel.verdicts import codes
from matcher.rules.charging import ON_MUSIC
from matcher.rules.package import AT_REST, BUDGET, PACKAGE
from matcher.rules.rule import FITS, NO, Rule, rule_named, rules_of
from matcher.rules.terms import SettingTerm, parts_of
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import columns_from

CHARGING = {"charge_a": (65, Decimal("0.5")), "base_load_a": (26, Decimal(1))}
# rule, what else it reads, the most that is sure, and the most that is not refused
LIMITS: list[tuple[Rule, dict[str, Any], str | None, str | None]] = [
    (BUDGET, {"whole": {"budget": Decimal("1500.01")}}, "1500.01", "1500.01"),
    (BUDGET, {"whole": {"budget": None}}, None, None),
    (AT_REST, {"whole": {"at_rest_ma": 5}}, "5", "5"),
    (ON_MUSIC, {"vehicle": CHARGING}, "37.5", "40.5"),
    (ON_MUSIC, {"vehicle": CHARGING | {"base_load_a": (70, 1)}}, "-6.5", "-3.5"),
    (ON_MUSIC, {"vehicle": CHARGING | {"base_load_a": None}}, None, None),
]


@pytest.mark.parametrize(("rule", "others", "sure", "hoped"), LIMITS)
def test_most_is_the_last_that_the_rule_lets_through(
    rule: Rule, others: dict[str, Any], sure: str | None, hoped: str | None
) -> None:
    columns = columns_from(others)
    for is_sure, expected in ((True, sure), (False, hoped)):
        most = most_of(rule, columns, DEFAULT_SETTINGS, sure=is_sure)
        assert most == (None if expected is None else int(Decimal(expected) * 10**6))
        if most is not None:
            sums = {str(rule.need): Column(np.array([most, most + 1]))}
            last, over = codes(rule, Evaluation(columns | sums, DEFAULT_SETTINGS)).tolist()
            assert (
                (last == FITS, over == FITS) == (True, False) if is_sure else (last != NO, over != NO) == (True, False)
            )


def test_rule_that_needs_more_than_one_figure_is_no_limit_on_a_sum() -> None:
    with pytest.raises(ValueError, match="no limit on a sum"):
        most_of(rule_named("speaker.depth"), columns_from({}), DEFAULT_SETTINGS, sure=True)


def test_rules_of_a_whole_package_read_no_setting() -> None:
    """The search asks them under the house's own settings."""
    read = [part for rule in rules_of(PACKAGE) for term in rule.terms for part in parts_of(term)]
    assert not any(isinstance(part, SettingTerm) for part in read)
