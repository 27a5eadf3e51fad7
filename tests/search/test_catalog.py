"""What is read of the store, as arrays: effective figures of parts and vehicles, each with its tolerance."""

from __future__ import annotations

from decimal import Decimal
from functools import partial
from typing import Any

import numpy as np
import pytest

from matcher.kernel.columns import Column, word_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import from_micro
from matcher.kernel.verdicts import worst
from matcher.rules.amp_board import BOARD
from matcher.rules.rule import FITS, NO, STOPS, rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import (
    Row,
    adapter,
    amp_spot,
    amplifier,
    dash_opening,
    speaker,
    speaker_opening,
    thing,
    vehicle,
)
from tests.search.shops import Store

SPOT = amp_spot(opening_id="seat", w_mm=300)


def catalog_of(store: Store, *parts: Row, **supply: Any) -> Catalog:
    openings = [dash_opening(keep_clear=[thing(x_mm=10)]), speaker_opening(), SPOT]
    store.clear()
    store.lay(*parts, vehicle(*openings, no_fasten=[{"where": " Seat "}], **supply))
    return Catalog(store.con, DEFAULT_SETTINGS)


def cell(column: Column, row: int) -> tuple[Any, float]:
    """A cell as a plain number or word, and its tolerance."""
    known, tol = np.broadcast_to(column.known, len(column.values)), np.broadcast_to(column.tol, len(column.values))
    value = column.values[row]
    if not known[row]:
        return None, float(from_micro(tol[row]))
    shown = word_of(value) if column.values.dtype == np.int32 else float(from_micro(value))
    return shown, float(from_micro(tol[row]))


# a loudspeaker's cells, the figure asked for, its value and tolerance
@pytest.mark.parametrize(
    ("cells", "name", "told"),
    [
        ({"depth_mm": 60, "depth_mm_tol": Decimal("0.1")}, "depth_mm", (60, 0.1)),
        ({"depth_mm": 60, "basis": "caliper"}, "depth_mm", (60, 0.2)),
        ({"depth_mm": None}, "depth_mm", (None, 0.5)),
        ({"shape": "round", "cutout_w_mm": 120, "cutout_h_mm": None}, "cutout_h_mm", (120, 0.5)),
        ({"shape": "oval", "cutout_w_mm": 120, "cutout_h_mm": None}, "cutout_h_mm", (None, 0.5)),
        ({"sens_basis": "2v83"}, "sens_basis", ("2v83", 0)),
        ({"coils": 2}, "coils", (2, 0)),
    ],
)
def test_a_cell_of_a_part_is_its_effective_figure(store: Store, cells: Row, name: str, told: tuple[Any, float]) -> None:
    parts = catalog_of(store, speaker(**cells)).parts("speaker")
    assert cell(parts.cells[name], 0) == told
    assert parts.columns[f"part.{name}"] is parts.subject("driver")[f"driver.{name}"]


def test_parts_stand_in_the_order_of_their_names(store: Store) -> None:
    parts = catalog_of(store, *(speaker(part_id=name) for name in ("b", "C", "a", "é"))).parts("speaker")
    assert parts.part_ids.tolist() == ["C", "a", "b", "é"]
    assert [parts.row(name) for name in ("a", "é", "d", "zz")] == [1, 3, None, None]
    assert parts.take(parts.rows(["a", "b"])).part_ids.tolist() == ["a", "b"]
    assert catalog_of(store).parts("film").row("a") is None


def test_rules_are_asked_of_all_amplifiers_and_all_spots_at_once(store: Store) -> None:
    wide = {"small": 200, "wider": 320, "unknown": None}
    catalog = catalog_of(store, *(amplifier(part_id=name, w_mm=w, h_mm=40, d_mm=150) for name, w in wide.items()))
    parts, spots = catalog.parts("amplifier"), catalog.vehicle("tern").openings("amp_spot")
    at = Evaluation(parts.columns.down() | spots.columns.across(), DEFAULT_SETTINGS)
    codes = np.broadcast_to(worst(rules_of(BOARD), at), (len(parts), len(spots.rows)))
    told = dict(zip(parts.part_ids.tolist(), codes[:, 0].tolist(), strict=True))
    assert told["small"] in (FITS, STOPS)
    assert told["wider"] == NO
    assert told["unknown"] == STOPS


def test_a_vehicle_has_its_openings_its_supply_and_its_zones(store: Store) -> None:
    car = catalog_of(store, electrical={"system_v": 12, "charge_a": 60}).vehicle("tern")
    assert cell(car.columns["vehicle.charge_a"], 0) == (60, 3), "5 % of a current that states no tolerance"
    assert car.openings("amp_spot").columns["zone.covers"].values.tolist() == [True]
    assert car.opening("speaker", "door")["zone.covers"].values.tolist() == [False]
    things = car.things("dash")
    assert things is not None and cell(things["keep.x_mm"], 0) == (10, 1)
    assert car.things("door") is None
    with pytest.raises(KeyError, match="tern has no cargo opening boot; it has none"):
        car.opening("cargo", "boot")


def test_what_hangs_on_what_is_assumed_is_worked_out_anew(store: Store) -> None:
    catalog, made = catalog_of(store, speaker(), adapter()), []

    def count(of: Catalog) -> int:
        made.append(len(of.parts("speaker")))
        return made[-1]

    def both(of: Catalog) -> tuple[int, Any]:
        counted: int = of.once("count", partial(count, of))
        return counted, of.vehicle("tern").opening_row("speaker", "door")["opening_id"]

    for others in (None, None, [], ["adapter", "dash"]):
        apart = catalog if others is None else catalog.changed(others)
        assert apart.once("both", partial(both, apart)) == (1, "door")
    assert len(made) == 1
    for name, times in (("door", 1), ("speaker", 2), ("speaker", 3)):
        apart = catalog.changed([name])
        assert apart.once("both", partial(both, apart)) == (1, "door")
        assert len(made) == times, name
