"""Figures that are supposed in columns are what readings of the same figures would be, written into the store."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from matcher.kernel.columns import Columns
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.vehicle import OWN
from matcher.search.what_if.assumed import Value, only_part, supposing, without_things
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import dash_opening, head_unit, speaker, speaker_opening, thing, vehicle
from tests.search.shops import Store
from tests.supposed import supposed

CAR = vehicle(
    dash_opening(keep_clear=[thing("lever 1.5", x_mm=10), thing("switch")]),
    speaker_opening(),
    electrical={"system_v": 12},
    panes=[{"pane": "rear"}],
)
PARTS = (
    head_unit(part_id="h", amp_w=50),
    speaker(part_id="a", shape="round", cutout_w_mm=100, cutout_h_mm=None),
    speaker(part_id="b", basis="caliper"),
)
FAMILY = {"h": "head_unit", "a": "speaker", "b": "speaker"}


def catalog_of(store: Store) -> Catalog:
    store.clear()
    store.lay(*PARTS, CAR)
    return Catalog(store.con, DEFAULT_SETTINGS)


def told(columns: Columns | None) -> Any:
    """Columns as lists, with nothing told of what is not known."""
    found = {}
    for name, (values, known, tol) in (columns or {}).items():
        known = np.broadcast_to(known, values.shape)
        found[name] = [np.where(known, each, -1).tolist() for each in (values, tol)] if known.any() else None
    return found


def all_told(catalog: Catalog) -> Any:
    car = catalog.vehicle("tern")
    openings = {kind: told(car.openings(kind).columns) for kind in ("dash", "speaker")}
    parts = {family: told(catalog.parts(family).columns) for family in ("head_unit", "speaker")}
    lists = [catalog.parts("head_unit").listed("features", 0)]
    return parts, lists, openings, told(car.columns), told(car.things("dash")), [dict(row) for row in car.panes]


# figures that are supposed together
@pytest.mark.parametrize(
    "figures",
    [
        {"part:a.depth_mm": Decimal("60.25")},
        {"part:a.cutout_w_mm": Decimal(120)},  # of a round one the height, too
        {"part:a.cutout_h_mm": Decimal(90), "part:b.cutout_h_mm": Decimal(91)},
        {"part:h.amp_w": Decimal(70), "part:h.features": "radio;mirror"},  # it counts as what the supply allows
        {"part:h.screen": "floating"},
        {"part:b.coils": 2, "part:b.sens_db": Decimal(90)},
        {"opening:tern/door.depth_mm": Decimal(61), "opening:tern/dash.rear_support": False},
        {"opening:tern/dash.keep_clear.lever 1.5.y_mm": Decimal(-12)},
        {"vehicle:tern.system_v": Decimal(24), "vehicle:tern.panes.rear.vlt_pct": Decimal(75)},
    ],
)
def test_a_supposed_figure_is_one_that_was_read(store: Store, figures: dict[str, Value]) -> None:
    catalog = catalog_of(store)
    before = all_told(catalog)
    now = all_told(supposing(catalog, figures, FAMILY.__getitem__))
    with supposed(store.con, figures):
        assert now == all_told(Catalog(store.con, DEFAULT_SETTINGS))
    assert now != before
    assert all_told(catalog) == before


# what is supposed, the openings that are spared, and what is worked out anew
@pytest.mark.parametrize(
    ("figure", "spared", "anew"),
    [
        ("part:a.depth_mm", [], {"door", "shelf"}),
        ("part:a.depth_mm", ["shelf"], {"door"}),
        ("part:h.body_d_mm", [], set()),
        ("opening:tern/door.depth_mm", [], {"door"}),
        ("vehicle:tern.system_v", [], {"supply"}),
    ],
)
def test_what_nothing_supposed_touches_is_kept(store: Store, figure: str, spared: list[str], anew: set[str]) -> None:
    catalog = catalog_of(store)
    for place in ("door", "shelf"):
        catalog.once(place, lambda: catalog.parts("speaker").family, [place])
    catalog.once("supply", str, [OWN])
    now = supposing(catalog, {figure: Decimal(50)}, FAMILY.__getitem__, spared)
    assert catalog.kept.made.keys() - now.kept.made.keys() == anew


def test_a_family_may_hold_one_part_alone_and_things_may_be_covered(store: Store) -> None:
    catalog = catalog_of(store)
    alone = only_part(catalog, "speaker", "b")
    assert alone.parts("speaker").part_ids.tolist() == ["b"]
    assert told(alone.parts("speaker").columns) == told(catalog.parts("speaker").columns.take(np.array([1])))
    bare = without_things(catalog, "tern", "dash", ["switch", "another"])
    assert [row["name"] for row in bare.vehicle("tern").thing_rows("dash")] == ["lever 1.5"]
    assert len(catalog.vehicle("tern").thing_rows("dash")) == 2
