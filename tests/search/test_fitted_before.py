"""What was fitted before: evidence where figures leave a fit open, never against a figure that refuses it."""

from __future__ import annotations

from typing import Any

import pytest

from matcher.store.readings.readings import add_fitted, list_readings, void_reading
from tests.factories import Row, adapter, dash_opening, head_unit, job, speaker, speaker_opening, vehicle
from tests.search.shops import Store

RADIO = head_unit(amp_channels=4, amp_w=20, amp_min_ohm=4, standby_ma=1, screen="none", features=["radio"])
SOUND: Row = {
    "rms_w": 25,
    "kind": "coaxial",
    "sens_db": 88,
    "sens_basis": "1w",
    "low_hz": 80,
    "high_hz": 18_000,
    "xmax_mm": 4,
}
RING = adapter(part_id="ring")


def town(store: Store, *more: Row, **body: Any) -> None:
    store.lay_town([RADIO, speaker(**SOUND | body), *more], [dash_opening(), speaker_opening()]).job(job())


@pytest.mark.parametrize(
    ("body", "through", "before", "after"),
    [
        ({"depth_mm": None}, None, "measure", "fits"),
        ({"depth_mm": 66}, None, "measure", "fits"),  # 1 mm to spare with 1.5 mm of tolerance
        ({"depth_mm": 80}, None, "no", "no"),
        ({}, None, "fits", "fits"),
        ({"cutout_w_mm": 120, "flange_w_mm": 138, "bolt_circle_mm": 110, "depth_mm": None}, "ring", "measure", "fits"),
    ],
)
def test_evidence_settles_a_fit_that_is_open_and_no_other(
    store: Store, body: Row, through: str | None, before: str, after: str
) -> None:
    town(store, RING, **body)

    def verdicts() -> tuple[str, set[str]]:
        told = {package.verdict for package in store.options("j1", top=1).packages}
        return store.fit("speaker-1", "tern/door", adapter=through).verdict, told

    assert verdicts() == (before, set() if before == "no" else {before})
    add_fitted(store.con, "speaker-1", "tern/door", through, by="Ada")
    assert verdicts() == (after, set() if after == "no" else {after})
    if (before, after) == ("measure", "fits"):
        says = [check.says for check in store.fit("speaker-1", "tern/door", adapter=through).checks if check.evidence]
        assert says and all("fitted before: tern, " in one and one.endswith(", Ada") for one in says)
        void_reading(store.con, list_readings(store.con)[-1].reading_id, note="another car")
        assert verdicts()[0] == before


def test_evidence_counts_for_cars_of_the_same_model_alone(store: Store) -> None:
    town(store, depth_mm=None)
    openings = [dash_opening(), speaker_opening()]
    store.lay(vehicle(*openings, vehicle_id="second", like="tern"), vehicle(*openings, vehicle_id="other"))
    add_fitted(store.con, "speaker-1", "tern/door", None, by="Ada")
    assert [store.fit("speaker-1", f"{car}/door").verdict for car in ("second", "other")] == ["fits", "measure"]


def test_evidence_of_an_adapter_is_none_of_the_part_by_itself(store: Store) -> None:
    town(store, RING, depth_mm=None)
    add_fitted(store.con, "speaker-1", "tern/door", "ring", by="Ada")
    fit = store.fit("speaker-1", "tern/door")
    assert (fit.without or fit).verdict == "measure"
