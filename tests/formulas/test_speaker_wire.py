"""Loudspeaker wire: its loss, and the areas that are sold."""

from __future__ import annotations

import pytest

from matcher.formulas.speaker_wire import area_for_loss_mm2, standard_area_mm2


@pytest.mark.parametrize(("length_m", "load_ohm", "share"), [(4, 2, 0.05), (1.5, 1, 0.05), (10, 8, 0.02)])
def test_wire_loses_just_this_share(length_m: float, load_ohm: float, share: float) -> None:
    area = area_for_loss_mm2(length_m, load_ohm, share)
    assert area is not None
    wire_ohm = 2 * length_m * 0.017241 * 1.02 / area  # IEC 60028, 2 % more for the lay of the strands
    assert wire_ohm / load_ohm == pytest.approx(share)


@pytest.mark.parametrize(
    ("area", "sold"),
    [(1.41, 1.5), (1.5, 1.5), (1.51, 2.5), (37, 50), (120, 120), (120.1, None), (None, None), (0, None)],
)
def test_smallest_area_that_is_sold(area: float | None, sold: float | None) -> None:
    assert standard_area_mm2(area) == sold


@pytest.mark.parametrize("given", [(None, 2, 0.05), (4, 0, 0.05), (4, 2, None), (4, 2, 0.6)])
def test_outside_its_range_nothing_is_known(given: tuple[float | None, float | None, float | None]) -> None:
    assert area_for_loss_mm2(*given) is None
