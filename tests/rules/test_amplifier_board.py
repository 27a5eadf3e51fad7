"""An amplifier at its spot: 25 of air on each side, 50 over it, by hand."""

from __future__ import annotations

from typing import Any

import pytest

from tests.factories import Bench, Row, amp_spot, amplifier, check_of, numbers

RULES = ("amplifier.board_width", "amplifier.board_depth", "amplifier.board_height")

# rule, part, spot, then: verdict, have, need, margin, tolerance, missing
TABLE: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    ("amplifier.board_width", {}, {}, ("fits", 300, 250, 50, 1.5, [])),
    ("amplifier.board_width", {}, {"w_mm": 251.5}, ("fits", 251.5, 250, 1.5, 1.5, [])),
    ("amplifier.board_width", {}, {"w_mm": 251}, ("measure", 251, 250, 1, 1.5, [])),
    ("amplifier.board_width", {"w_mm": 251.5}, {}, ("measure", 300, 301.5, -1.5, 1.5, [])),
    ("amplifier.board_width", {"w_mm": 252}, {}, ("no", 300, 302, -2, 1.5, [])),
    ("amplifier.board_depth", {}, {}, ("fits", 250, 200, 50, 1.5, [])),
    ("amplifier.board_depth", {}, {"d_mm": 201.5}, ("fits", 201.5, 200, 1.5, 1.5, [])),
    ("amplifier.board_depth", {}, {"d_mm": 198.5}, ("measure", 198.5, 200, -1.5, 1.5, [])),
    ("amplifier.board_depth", {}, {"d_mm": 198}, ("no", 198, 200, -2, 1.5, [])),
    # Long side along long side.
    ("amplifier.board_width", {"w_mm": 150, "d_mm": 240}, {}, ("fits", 300, 290, 10, 1.5, [])),
    ("amplifier.board_depth", {"w_mm": 150, "d_mm": 240}, {}, ("fits", 250, 200, 50, 1.5, [])),
    # How it lies is not known: no only where neither way would do.
    ("amplifier.board_width", {"d_mm": None}, {}, ("measure", 300, None, None, 1.5, ["part.d_mm"])),
    ("amplifier.board_depth", {"w_mm": None}, {}, ("measure", 250, None, None, 1.5, ["part.w_mm"])),
    ("amplifier.board_width", {}, {"w_mm": None}, ("measure", None, None, None, 1.5, ["opening.w_mm"])),
    ("amplifier.board_width", {}, {"d_mm": None}, ("measure", 300, None, None, 1.5, ["opening.d_mm"])),
    ("amplifier.board_depth", {}, {"d_mm": None}, ("measure", None, None, None, 1.5, ["opening.d_mm"])),
    ("amplifier.board_width", {}, {"w_mm": 190, "d_mm": None}, ("no", 190, 200, -10, 1.5, [])),
    ("amplifier.board_height", {}, {}, ("fits", 120, 100, 20, 1.5, [])),
    ("amplifier.board_height", {}, {"h_mm": 101.5}, ("fits", 101.5, 100, 1.5, 1.5, [])),
    ("amplifier.board_height", {}, {"h_mm": 98.5}, ("measure", 98.5, 100, -1.5, 1.5, [])),
    ("amplifier.board_height", {}, {"h_mm": 98}, ("no", 98, 100, -2, 1.5, [])),
    ("amplifier.board_height", {"h_mm": None}, {}, ("measure", 120, None, None, 1.5, ["part.h_mm"])),
    ("amplifier.board_height", {}, {"h_mm": None}, ("measure", None, 100, None, 1.5, ["opening.h_mm"])),
]


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), TABLE)
def test_board(bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(amplifier(**changed), amp_spot(**measured))
    assert numbers(check_of(fit, rule)) == expected


def test_it_sits_on_a_board_of_its_own(bench: Bench) -> None:
    fit = bench.ask(amplifier(), amp_spot())
    assert (fit.verdict, fit.alteration) == ("fits", "bolt_on")
    strict = bench.ask(amplifier(), amp_spot(), step="bolt_in")
    assert (strict.verdict, strict.alteration) == ("no", "bolt_on")
