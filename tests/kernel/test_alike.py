"""Rows that a rule cannot tell apart are said the same of, whatever they meet."""

from __future__ import annotations

from decimal import Decimal
from random import Random

import numpy as np
import pytest

from matcher.kernel.alike import alike
from matcher.kernel.columns import Columns, columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import codes
from matcher.rules.rule import Rule, rule_named, rules_of
from matcher.rules.speaker import SPEAKER
from matcher.rules.terms import read_by
from matcher.settings import DEFAULT_SETTINGS

WORDS = {"shape": ["round", "oval", "rect", None], "behind": ["fixed", "glass", None], "bolted": [True, False]}


def drawn(subject: str, rules: list[Rule], rows: int, draw: Random) -> Columns:
    """Rows with few sizes, so that many are alike in something."""
    read = read_by(*(term for rule in rules for term in rule.terms))
    fields = [one.field for one in read if one.subject == subject]
    return columns_of(
        subject,
        [
            {
                name: draw.choice(WORDS.get(name, [None, Decimal(100), Decimal("101.5"), Decimal(140)]))
                for name in fields
            }
            | {f"{name}_tol": draw.choice([Decimal("0.5"), Decimal(1)]) for name in fields if name not in WORDS}
            for _ in range(rows)
        ],
    )


@pytest.mark.parametrize("rule", rules_of(SPEAKER), ids=lambda rule: rule.name)
def test_one_row_represents_all_equal_rows(rule: Rule) -> None:
    draw, settings = Random(rule.name), DEFAULT_SETTINGS
    parts = drawn("part", [rule], 120, draw)
    there = drawn("mouth", [rule], 40, draw) | drawn("opening", [rule], 40, draw)
    some = alike([rule], ["part"], Evaluation(parts, settings), 120)
    places = alike([rule], ["mouth", "opening"], Evaluation(there, settings), 40)
    every = codes(rule, Evaluation(parts.down() | there.across(), settings))
    few = codes(rule, Evaluation(parts.take(some.first).down() | there.take(places.first).across(), settings))
    few = np.broadcast_to(few, (len(some.first), len(places.first)))
    assert np.array_equal(np.broadcast_to(every, (120, 40)), few[some.number][:, places.number])


@pytest.mark.parametrize(("name", "number"), [("speaker.bolts_across", 1), ("speaker.hole_width", 2)])
def test_round_parts_of_two_sizes_are_one_to_a_rule_about_bolts(name: str, number: int) -> None:
    rule = rule_named(name)
    fields = {one.field for one in read_by(*rule.terms) if one.subject == "part"}
    rows = [
        dict.fromkeys(fields) | {"shape": "round", "cutout_w_mm": size, "cutout_h_mm": size, "bolt_w_mm": 90}
        for size in (100, 140)
    ]
    assert len(alike([rule], ["part"], Evaluation(columns_of("part", rows), DEFAULT_SETTINGS), 2).first) == number
