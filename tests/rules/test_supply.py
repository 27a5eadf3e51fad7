"""Nominal voltage and which pole is ground come first, for everything that is powered."""

from __future__ import annotations

from typing import Any

import pytest

from tests.factories import (
    Bench,
    Row,
    amp_spot,
    amplifier,
    check_of,
    dash_opening,
    head_unit,
    numbers,
    speaker,
    speaker_opening,
)

RULES = ("supply.system_voltage", "supply.ground")

# rule, the vehicle's supply, then: verdict, have, need, margin, tolerance, missing
TABLE: list[tuple[str, Row, tuple[Any, ...]]] = [
    ("supply.system_voltage", {"system_v": 12}, ("fits", 0, 0, 0, 0, [])),
    ("supply.system_voltage", {"system_v": 6}, ("no", 0, 6, -6, 0, [])),
    ("supply.system_voltage", {"system_v": 24}, ("no", 0, 12, -12, 0, [])),
    ("supply.system_voltage", {"system_v": {"value": 12.5, "tol": 0.5}}, ("measure", 0, 0.5, -0.5, 0.5, [])),
    ("supply.system_voltage", {"system_v": {"value": 12.5, "tol": 0.4}}, ("no", 0, 0.5, -0.5, 0.4, [])),
    ("supply.system_voltage", {}, ("measure", 0, None, None, 0, ["vehicle.system_v"])),
    ("supply.ground", {"ground": "negative"}, ("fits", 1, 1, 0, 0, [])),
    ("supply.ground", {"ground": "positive"}, ("no", 0, 1, -1, 0, [])),
    ("supply.ground", {}, ("measure", None, 1, None, 0, ["vehicle.ground"])),
]


@pytest.mark.parametrize(("rule", "electrical", "expected"), TABLE)
@pytest.mark.parametrize(("one", "opening"), [(head_unit(), dash_opening()), (amplifier(), amp_spot())])
def test_supply(bench: Bench, one: Row, opening: Row, rule: str, electrical: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(one, opening, electrical=electrical)
    assert numbers(check_of(fit, rule)) == expected


def test_no_alteration_mends_the_supply(bench: Bench) -> None:
    fit = bench.ask(head_unit(), dash_opening(), electrical={"system_v": 6, "ground": "positive"}, step="metal_cut")
    assert (fit.verdict, fit.alteration, fit.cut) == ("no", None, None)


def test_a_loudspeaker_asks_nothing_of_the_supply(bench: Bench) -> None:
    fit = bench.ask(speaker(), speaker_opening(), electrical={"system_v": 6, "ground": "positive"})
    assert fit.verdict == "fits"
