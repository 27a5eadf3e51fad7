"""Holding things without holes: what holds a board, air through the spot, zones that nothing may be fastened in."""

from __future__ import annotations

from typing import Any

import pytest

from tests.factories import Bench, Row, amp_spot, amplifier, check_of, numbers

RULES = ("amplifier.held", "amplifier.air", "holding.zone")

YES, NO = ("fits", 1, 1, 0, 0, []), ("no", 0, 1, -1, 0, [])
TANK = [{"where": "left sill", "why": "brake lines"}]

# rule, the spot, the vehicle's zones, then: verdict, have, need, margin, tolerance, missing
TABLE: list[tuple[str, Row, list[Row], tuple[Any, ...]]] = [
    ("amplifier.held", {"fasten": "seat rail bolts, with a board"}, [], YES),
    ("amplifier.held", {"fasten": ["load eyes", "no. 2 stud"]}, [], YES),
    ("amplifier.held", {"fasten": True}, [], YES),
    ("amplifier.held", {"fasten": False}, [], NO),
    ("amplifier.held", {"fasten": "None"}, [], NO),
    ("amplifier.held", {"fasten": None}, [], ("measure", None, 1, None, 0, ["opening.fasten"])),
    ("amplifier.air", {"air": True}, [], YES),
    ("amplifier.air", {"air": "through the rear grille"}, [], YES),
    ("amplifier.air", {"air": "no"}, [], NO),
    ("amplifier.air", {"air": "Shut in"}, [], NO),
    ("amplifier.air", {"air": None}, [], ("measure", None, 1, None, 0, ["opening.air"])),
    ("holding.zone", {}, [], YES),
    ("holding.zone", {}, TANK, YES),
    ("holding.zone", {"label": None}, TANK, YES),
    ("holding.zone", {}, [*TANK, {"where": "seat"}], NO),
    ("holding.zone", {}, [{"where": "Under the Seat "}], NO),
    ("holding.zone", {"label": "Left sill"}, TANK, NO),
    ("holding.zone", {"label": "Left sill, rear"}, TANK, YES),
]


@pytest.mark.parametrize(("rule", "measured", "zones", "expected"), TABLE)
def test_holding(bench: Bench, rule: str, measured: Row, zones: list[Row], expected: tuple[Any, ...]) -> None:
    fit = bench.ask(amplifier(), amp_spot(**measured), no_fasten=zones)
    assert numbers(check_of(fit, rule)) == expected


@pytest.mark.parametrize(
    ("spot", "zones", "step", "verdict", "least"),
    [
        ({}, [], "bolt_on", "fits", "bolt_on"),
        ({"fasten": "no"}, [], "hidden_cut", "no", "drilled"),
        ({"fasten": "no"}, [], "drilled", "fits", "drilled"),
        ({"fasten": None}, [], "bolt_on", "measure", "bolt_on"),
        ({"air": "no"}, [], "metal_cut", "no", None),
        ({}, [{"where": "seat"}], "metal_cut", "no", None),
    ],
)
def test_limits_lifted_by_each_alteration_step(
    bench: Bench, spot: Row, zones: list[Row], step: str, verdict: str, least: str | None
) -> None:
    """New screw holes hold a board; they bring no air, and none may be made over a tank."""
    fit = bench.ask(amplifier(), amp_spot(**spot), step=step, no_fasten=zones)
    assert (fit.verdict, fit.alteration) == (verdict, least)
