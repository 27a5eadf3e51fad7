"""Verdict codes: what a rule says by margin, tolerance, missing figures, open choices and conditions."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from matcher.kernel.columns import Columns, columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.explain import explain
from matcher.kernel.verdicts import codes, worst
from matcher.rules.rule import DELAYS, FITS, MENDED, NO, SKIP, STOPS, Rule, rule_named
from matcher.settings import DEFAULT_SETTINGS

LOOSE = {"mass_kg": Decimal("1.4"), "mass_kg_tol": Decimal("0.1")}

# rule, part, opening, mouth, code
TABLE: list[tuple[str, dict[str, Any], dict[str, Any], dict[str, Any], int]] = [
    # by the margin: 3 are wanted behind it, tolerances 1.5 in all
    ("speaker.depth", {"depth_mm": 60}, {"depth_mm": Decimal("64.5"), "behind": "fixed"}, {}, FITS),
    ("speaker.depth", {"depth_mm": 60}, {"depth_mm": Decimal("64.499999"), "behind": "fixed"}, {}, STOPS),
    ("speaker.depth", {"depth_mm": 60}, {"depth_mm": Decimal("61.5"), "behind": "fixed"}, {}, STOPS),
    ("speaker.depth", {"depth_mm": 60}, {"depth_mm": Decimal("61.499999"), "behind": "fixed"}, {}, NO),
    ("speaker.depth", {"depth_mm": None}, {"depth_mm": 1, "behind": "fixed"}, {}, STOPS),
    # what is behind is not known: 3 at the least, so it may refuse and never fit
    ("speaker.depth", {"depth_mm": 60}, {"depth_mm": 200, "behind": None}, {}, STOPS),
    ("speaker.depth", {"depth_mm": 60}, {"depth_mm": Decimal("61.4"), "behind": None}, {}, NO),
    # asked only without a support: where that is not known it may fit, never refuse
    ("dash.support_mass", LOOSE, {"rear_support": False}, {}, FITS),
    ("dash.support_mass", LOOSE | {"mass_kg": 3}, {"rear_support": False}, {}, NO),
    ("dash.support_mass", LOOSE | {"mass_kg": 3}, {"rear_support": True}, {}, SKIP),
    ("dash.support_mass", LOOSE | {"mass_kg": 3}, {"rear_support": None}, {}, MENDED),
    ("dash.support_mass", LOOSE, {"rear_support": None}, {}, FITS),
]


def columns(rule: Rule, *subjects: dict[str, Any]) -> Columns:
    part, opening, mouth = subjects
    lengths = {"part": "0.5", "opening": "1"}
    found = columns_of("mouth", [{"forward_mm": 0, **mouth}])
    for name, row in (("part", part), ("opening", opening)):
        tols = {f"{field}_tol": Decimal(lengths[name]) for field in row if field.endswith("_mm")}
        found |= columns_of(name, [row | tols])
    return found


@pytest.mark.parametrize(("name", "part", "opening", "mouth", "code"), TABLE)
def test_code(name: str, part: dict[str, Any], opening: dict[str, Any], mouth: dict[str, Any], code: int) -> None:
    rule = rule_named(name)
    at = Evaluation(columns(rule, part, opening, mouth), DEFAULT_SETTINGS)
    assert codes(rule, at).tolist() in ([code], code)


@pytest.mark.parametrize(("name", "part", "opening", "mouth", "code"), TABLE)
def test_check_of_one_row_says_what_the_code_says(
    name: str, part: dict[str, Any], opening: dict[str, Any], mouth: dict[str, Any], code: int
) -> None:
    rule = rule_named(name)
    (checks,) = explain([rule], columns(rule, part, opening, mouth), DEFAULT_SETTINGS)
    named = {FITS: ["fits"], MENDED: ["measure"], STOPS: ["measure"], NO: ["no"], SKIP: []}
    assert [check.verdict for check in checks] == named[code]


def test_worst_of_none_is_a_fit() -> None:
    assert worst([], Evaluation(Columns({}), DEFAULT_SETTINGS)).tolist() == FITS


def test_parts_meet_openings_as_a_table() -> None:
    rule = rule_named("control.width")
    parts = columns_of("part", [{"w_mm": width, "w_mm_tol": 0} for width in (50, 60, None)])
    openings = columns_of("opening", [{"w_mm": width, "w_mm_tol": 1} for width in (51, 40)])
    found = codes(rule, Evaluation(parts.down() | openings.across(), DEFAULT_SETTINGS))
    assert found.dtype == np.int8
    assert found.tolist() == [[FITS, NO], [NO, NO], [DELAYS, DELAYS]]


def test_missing_figure_tells_the_value_that_decides() -> None:
    rule = rule_named("speaker.depth")
    ((check,),) = explain(
        [rule], columns(rule, {"depth_mm": 60}, {"depth_mm": None, "behind": "fixed"}, {}), DEFAULT_SETTINGS
    )
    assert (check.missing, check.fits_from, check.fits_up_to) == (["opening.depth_mm"], Decimal("63.5"), None)
