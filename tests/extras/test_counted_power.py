"""What counts of a maker's claim: the same of one amplifier and of arrays of them, and told in every answer."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from matcher.search.catalog.counted import CLAIMED, amplifier_doubts, counted_head_w, head_doubts
from matcher.settings import DEFAULT_SETTINGS
from tests.extras.test_extras_supply import AMP, AMPLIFIER, GOOD, exact, lay_car, options
from tests.factories import Bench, Row, head_unit, speaker

AMPS: dict[str, Any] = AMPLIFIER | dict.fromkeys(CLAIMED)
TYPES = {"full_channels": "INTEGER", "bass_channels": "INTEGER", "power_basis": "VARCHAR", "class": "VARCHAR"}


def figures(**changed: Any) -> Row:
    return {name: exact(cell) if name not in TYPES else cell for name, cell in (AMPS | changed).items()}


# what is claimed, then (figure, counted, why) of every claim that does not count as it stands
CLAIMS: list[tuple[Row, list[tuple[str, Any, str]]]] = [
    ({"full_w_4ohm": 75, "fuse_a": 60, "current_a": 26}, []),
    ({"full_w_4ohm": 75}, []),  # nothing bounds it
    ({"full_w_4ohm": 300, "fuse_a": 30}, [("full_w_4ohm", Decimal("112.86"), "supply")]),  # 33 A x 14.4 V x 0.95 / 4
    ({"full_w_4ohm": 300, "fuse_a": 30, "class": "ab"}, [("full_w_4ohm", Decimal("93.258"), "supply")]),
    ({"full_w_4ohm": 300, "fuse_a": 30, "class": None}, [("full_w_4ohm", Decimal("112.86"), "supply")]),
    ({"full_w_4ohm": 300, "fuse_a": 20, "current_a": 30}, [("full_w_4ohm", Decimal("102.6"), "supply")]),
    ({"full_w_4ohm": 112.86, "fuse_a": 30}, []),  # exactly at the bound
    ({"full_w_4ohm": 112.87, "fuse_a": 30}, [("full_w_4ohm", Decimal("112.86"), "supply")]),
    ({"full_w_4ohm": 75, "current_a": 3}, [("full_w_4ohm", None, "at odds"), ("current_a", None, "at odds")]),
    ({"full_w_4ohm": 75, "current_a": 3, "fuse_a": 30}, [("current_a", Decimal("21.9"), "current")]),
    ({"full_w_4ohm": 50, "full_w_2ohm": 75, "current_a": 18.2, "fuse_a": 20}, []),  # stated for 4 ohm
    ({"full_w_4ohm": 300, "power_basis": "peak", "fuse_a": 30}, []),  # no power counts at all
    (
        {"full_channels": 4, "full_w_4ohm": 50, "bass_channels": 1, "bass_w_4ohm": 300, "fuse_a": 25},
        [("full_w_4ohm", Decimal("37.62"), "supply"), ("bass_w_4ohm", Decimal("225.72"), "supply")],  # 376.2 of 500 W
    ),
    (
        {"full_channels": 4, "full_w_4ohm": 100, "full_bridged_w_4ohm": 400, "fuse_a": 40},
        [("full_bridged_w_4ohm", Decimal("300.96"), "supply")],
    ),
]


@pytest.mark.parametrize(("changed", "expected"), CLAIMS)
def test_counted_power_of_an_amplifiers_claims(changed: Row, expected: list[tuple[str, Any, str]]) -> None:
    found = amplifier_doubts(figures(**changed), DEFAULT_SETTINGS)
    assert [(one.figure, one.counted, one.why) for one in found] == expected


# 14.4 V into 4 ohm: a clean sine of 25.92 W at most
@pytest.mark.parametrize(("claimed", "counted"), [(None, None), (22, 22), ("25.92", "25.92"), (50, "25.92")])
def test_counted_power_of_a_head_units_claim(claimed: Any, counted: Any) -> None:
    amp_w = None if claimed is None else Decimal(claimed)
    expected = None if counted is None else Decimal(counted)
    assert counted_head_w(amp_w, DEFAULT_SETTINGS) == expected
    assert [one.counted for one in head_doubts(amp_w, DEFAULT_SETTINGS)] == ([] if amp_w == expected else [expected])


def test_an_amplifier_of_300_w_that_draws_3_a_gets_no_fuse_of_3_a(bench: Bench) -> None:
    lay_car(bench, AMP | {"full_w_4ohm": 75, "current_a": 3}, speaker(rms_w=75), GOOD)
    (package,) = options(bench).packages
    assert package.supply is not None
    assert (package.verdict, package.supply.fuse_a, package.supply.full_a) == ("measure", None, None)
    assert "part:amplifier-1.fuse_a" in package.measure
    assert [(claim.figure, claim.counted, claim.why) for claim in package.claims] == [
        ("full_w_4ohm", None, "at odds"),
        ("current_a", None, "at odds"),
    ]
    assert all("read the amplifier's own fuse" in claim.says for claim in package.claims)


def test_an_exaggerated_amplifier_counts_as_what_its_fuse_allows(bench: Bench) -> None:
    lay_car(bench, AMP | {"full_w_4ohm": 300, "fuse_a": 30}, speaker(rms_w=100), GOOD)
    (package,) = options(bench).packages
    assert [link.power_w for link in package.links] == [Decimal("112.86")]
    (claim,) = package.claims
    assert (claim.part_id, claim.claimed, claim.counted) == ("amplifier-1", Decimal(300), Decimal("112.86"))
    assert package.supply is not None and float(package.supply.full_a or 0) == pytest.approx(
        39.1875, abs=6e-4
    )  # 451.44 W over 0.8 and 14.4 V


def test_a_head_unit_of_4_x_50_w_counts_as_a_clean_sine(bench: Bench) -> None:
    lay_car(bench, speaker(rms_w=25))
    bench.lay(head_unit(amp_channels=4, amp_w=50, amp_min_ohm=4, standby_ma=1))
    (package,) = options(bench).packages
    assert [link.power_w for link in package.links] == [Decimal("25.92")]
    (claim,) = package.claims
    assert (claim.figure, claim.counted, claim.why) == ("amp_w", Decimal("25.92"), "rail")
    assert claim.says.endswith("claimed is a square wave")
    (line,) = [line for line in package.lines if line.slot == "head_unit"]
    assert bench.fit(str(line.part_id), f"tern/{line.opening_id}").claims == [claim]


def test_a_head_unit_of_unknown_power_does_not_count_as_its_supply(bench: Bench) -> None:
    lay_car(bench, speaker(rms_w=25))
    bench.lay(head_unit(amp_channels=4, amp_w=None, amp_min_ohm=4, standby_ma=1))
    (package,) = options(bench).packages
    assert [link.power_w for link in package.links] == [None]
    assert (package.verdict, package.claims) == ("measure", [])
    assert "part:head_unit-1.amp_w" in package.measure
