"""The matrix says of every pair what a single fit says: random shops, exact limits, unknown figures, readings."""

from __future__ import annotations

import random
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
import pytest

from catalog_schema.checks import VERDICT_ORDER, Check, Fit
from catalog_schema.ladder import LADDER, step_rank
from matcher import Shop
from matcher.errors import InputError
from matcher.search.matrix import run, tables
from matcher.search.matrix.kinds import ASKED
from tests.factories import (
    Bench,
    Row,
    adapter,
    amp_spot,
    amplifier,
    dash_kit,
    dash_opening,
    demo_shop,
    floating_unit,
    head_unit,
    oval_opening,
    oval_speaker,
    part,
    speaker,
    speaker_opening,
    store_file,
    thing,
    vehicle,
)

READ = "SELECT vehicle_id, opening_id, part_id, verdict, alteration, rule, margin, tol"


def rows_of(out: Path, *more: str) -> dict[tuple[str, str], tuple[Any, ...]]:
    named = f"JOIN '{out}/places.parquet' USING (place_no) JOIN '{out}/parts.parquet' USING (family, part_no)"
    read = f"{', '.join([READ, *more])} FROM '{out}/fits/*.parquet' {named}"
    found = duckdb.connect().sql(read).fetchall()
    rows = {(part_id, f"{car}/{opening}"): tuple(told) for car, opening, part_id, *told in found}
    assert len(rows) == len(found)
    return rows


def told_of(fit: Fit) -> tuple[Any, ...]:
    worst = worst_check(fit.checks)
    if worst.margin is None:
        return fit.verdict, fit.alteration, worst.rule, None, 0
    return fit.verdict, fit.alteration, worst.rule, round(worst.margin, 6), round(worst.tol, 6)


def worst_check(checks: list[Check]) -> Check:
    def rank(check: Check) -> tuple[Any, ...]:
        room = None if check.margin is None else check.margin - check.tol
        return VERDICT_ORDER[check.verdict], check.unit != "mm", room is not None, room or 0, place_of(check.rule)

    return min(checks, key=rank)


def place_of(rule: str) -> int:
    return next(names.index(rule) for names in RULES if rule in names)


RULES = [[rule.name for rule in asking.rules] for asking in ASKED.values()]


def drawn_shop(seed: int) -> list[Row]:
    """A few parts and openings about the limits of each other, with figures that are not known."""
    draw = random.Random(seed)

    def near(middle: int, *steps: float) -> Any:
        return draw.choice([None, *(middle + step for step in steps)])

    parts = [
        draw.choice([speaker, oval_speaker])(
            part_id=f"s{at}",
            cutout_w_mm=near(145, -6, -1.5, -1.4, 0, 2),
            depth_mm=near(67, -3, -1.5, 0, 1.5, 1.6),
            flange_w_mm=near(165, 0, -10),
            bolt_circle_mm=near(155, 0, 3),
            magnet_mm=near(110, -20, 4),
            coils=draw.choice([1, 2]),
        )
        for at in range(4)
    ]
    parts += [
        draw.choice([head_unit, floating_unit])(
            part_id=f"h{at}",
            body_w_mm=near(178, 0, 4, 4.5),
            body_h_mm=near(50, 0, 3, 50),
            face_h_mm=near(60, 0, 50),
            mass_kg=near(2, 0, 9),
            screen_rise_max_mm=near(80, 0, -60),
        )
        for at in range(4)
    ]
    parts += [amplifier(part_id=f"a{at}", w_mm=near(200, 0, 60, 100), d_mm=near(150, 0, 90)) for at in range(3)]
    parts += [part("enclosure", part_id=f"e{at}", h_mm=near(350, 0, 60), mass_kg=near(20, 0)) for at in range(3)]
    cut = {"w_mm": 160, "h_mm": 160, "material": "trim", "piece": draw.choice(["spare", "body"])}
    cargo = {"opening_id": "boot", "kind": "cargo", "label": "Boot", "w_mm": near(600, 0, -201), "h_mm": 380}
    cargo |= {"d_mm": 500, "d_top_mm": near(450, 0, -200), "gate_w_mm": 900, "gate_h_mm": 400, "mass_max_kg": 30}
    cars = [
        vehicle(
            speaker_opening(hole_w_mm=near(145, 0, -5), cut=draw.choice([None, cut]), count=draw.choice([1, 2])),
            oval_opening(opening_id="shelf", depth_mm=near(70, 0, -2)),
            dash_opening(rear_support=draw.choice([None, True, False]), keep_clear=draw.choice([[], [thing()]])),
            amp_spot(fasten=draw.choice([None, "none", "bolts"])),
            cargo | {"floor_loss_mm": near(0, 0), "fasten": draw.choice(["none", "eyes"])},
            vehicle_id=name,
            electrical={"system_v": draw.choice([None, 12]), "ground": "negative"},
            no_fasten=draw.choice([[], [{"where": "seat", "why": "tank"}]]),
        )
        for name in ("tern", "skua")
    ]
    return [*parts, *cars]


@pytest.mark.parametrize(("seed", "step"), [(2, "bolt_in"), (3, "metal_cut")])
def test_every_pair_is_told_as_a_single_fit_tells_it(seed: int, step: str, tmp_path: Path) -> None:
    things = drawn_shop(seed)
    shop = Bench()
    shop.lay(*things)
    shop.readings.add("part:s0", "depth_mm", 66)
    shop.readings.add("opening:tern/door", "depth_mm", 71)
    every = shop.matrix(tmp_path / "every", alteration=step, every=True)
    rows = rows_of(tmp_path / "every")
    fits = {key: told_of(shop.fit(*key, alteration=step)) for key in rows}
    assert rows == fits
    assert len(rows) == every.pairs == 2 * (4 * 2 + 4 + 3 + 3)

    made = shop.matrix(tmp_path / "good", alteration=step)
    assert rows_of(tmp_path / "good") == {key: told for key, told in fits.items() if told[0] != "no"}
    said = [told[0] for told in fits.values()]
    assert made.verdicts == {verdict: said.count(verdict) for verdict in ("fits", "measure", "no")}
    assert made.refused == every.refused
    assert sum(made.refused.values()) == said.count("no")


RINGS = [
    adapter(part_id="dear", price=20),
    adapter(part_id="cheap", price=9),
    adapter(part_id="cheapest-too-wide", price=5, fits_w_mm=170),
    adapter(part_id="other-holes", price=1, fits_bolt_circle_mm=140),
    dash_kit(part_id="kit"),
]
SMALL = {"cutout_w_mm": 125, "flange_w_mm": 140, "bolt_circle_mm": None, "bolt_count": None}
THROUGH = [
    (speaker(), "door", "bolt_on", ("fits", "bolt_in", None)),
    (speaker(**SMALL), "door", "bolt_in", ("no", "bolt_on", "cheap")),
    (speaker(**SMALL), "door", "bolt_on", ("fits", "bolt_on", "cheap")),
    (speaker(**SMALL), "door", "drilled", ("fits", "bolt_on", "cheap")),
    (speaker(cutout_w_mm=200), "door", "bolt_on", ("no", None, None)),
    (head_unit(face_h_mm=60), "dash", "bolt_on", ("fits", "bolt_on", "kit")),
]


@pytest.mark.parametrize(("one", "place", "step", "told"), THROUGH)
def test_with_adapters_a_part_goes_in_by_the_best_of_its_single_fits(
    one: Row, place: str, step: str, told: tuple[str | None, ...], tmp_path: Path
) -> None:
    shop = Bench()
    shop.lay(one, *RINGS, vehicle(speaker_opening(), dash_opening(h_mm=110, keep_clear=[])))
    shop.matrix(tmp_path / "every", alteration=step, every=True, adapters=True)
    (row,) = rows_of(tmp_path / "every", "adapter_id").values()
    verdict, alteration, *_, adapter_id = row
    assert (verdict, alteration, adapter_id) == told

    kind = {"door": "speaker", "dash": "dash"}[place]
    tried = [None, *sorted((ring["price"], ring["part_id"]) for ring in RINGS if ring["for"] == kind)]
    fits = [shop.fit(one["part_id"], f"tern/{place}", adapter=ring and ring[1], alteration=step) for ring in tried]
    shown = min(fits, key=lambda fit: (-VERDICT_ORDER[fit.verdict], step_of(fit)))  # the first of those alike
    assert row == (*told_of(shown), shown.adapter_id)

    made = shop.matrix(tmp_path / "good", alteration=step, adapters=True)
    assert list(rows_of(tmp_path / "good", "adapter_id").values()) == [row] * (verdict != "no")
    assert made.verdicts == {"fits": 0, "measure": 0, "no": 0} | {verdict: 1}


def test_the_cheapest_adapter_is_that_by_its_suppliers_terms(tmp_path: Path) -> None:
    shop = Bench()
    shop.lay(speaker(**SMALL), *(adapter(part_id=name, price=9) for name in "ab"), vehicle(speaker_opening()))
    shop.con.execute("update adapter_rows set supplier = 'Own' where part_id = 'a'")
    (row,) = _through(shop, tmp_path / "usual")
    assert row == "a"
    shop.con.execute("insert into supplier_terms values ('Own', 'cost', 50, false, 'EUR', 1)")
    (row,) = _through(shop, tmp_path / "dearer")
    assert row == "b"


def _through(shop: Bench, out: Path) -> list[str]:
    shop.matrix(out, family="speaker", adapters=True)
    return [row[-1] for row in rows_of(out, "adapter_id").values()]


def test_on_the_demo_a_part_goes_in_through_an_adapter_as_its_fit_says(tmp_path: Path) -> None:
    shop = demo_shop(tmp_path / "shop.duckdb")
    shop.matrix(tmp_path / "out", adapters=True)
    rows = {key: told for key, told in rows_of(tmp_path / "out", "adapter_id").items() if told[-1]}
    for key in random.Random(1).sample(sorted(rows), 12):
        *told, adapter_id = rows[key]
        through, found = shop.fit(*key, adapter=adapter_id), shop.fit(*key)
        assert tuple(told) == told_of(through)
        assert order_of(through) > order_of(found.without or found)
        assert order_of(through) == order_of(found) or found.verdict == "measure", "a bare fit to measure is not tried"


def order_of(fit: Fit) -> tuple[int, int]:
    """The better answer last."""
    return VERDICT_ORDER[fit.verdict], -step_of(fit)


def step_of(fit: Fit) -> int:
    """The least step that a fit takes, past the ladder where none would do."""
    return len(LADDER) if fit.alteration is None else step_rank(fit.alteration)


@pytest.mark.parametrize(
    ("depth_mm", "verdict", "margin"),
    [(Decimal("65.5"), "fits", "1.5"), (Decimal("65.6"), "measure", "1.4"), (None, "measure", None)],
)
def test_a_part_on_the_limit_has_its_margin(
    depth_mm: Decimal | None, verdict: str, margin: str | None, tmp_path: Path
) -> None:
    one = speaker(depth_mm=depth_mm)
    shop = Shop(store_file(tmp_path / "shop.duckdb", one, vehicle(speaker_opening())))
    shop.matrix(tmp_path / "out")
    told = (None, 0) if margin is None else (Decimal(margin), Decimal("1.5"))
    wanted = (verdict, "bolt_in", "speaker.depth", *told)
    assert rows_of(tmp_path / "out") == {("speaker-1", "tern/door"): wanted}


def test_openings_that_are_alike_are_asked_about_once_and_counted_each(tmp_path: Path) -> None:
    doors = [speaker_opening(opening_id=f"door-{at}", label=f"Door {at}") for at in range(3)]
    other = speaker_opening(opening_id="other", depth_mm=40)
    shop = Shop(store_file(tmp_path / "shop.duckdb", speaker(), vehicle(*doors, other)))
    made = shop.matrix(tmp_path / "out")
    assert (made.openings, made.places, made.pairs) == (4, 2, 4)
    assert (made.verdicts["no"], made.refused) == (1, {"speaker.depth": 1})
    assert {place for _, place in rows_of(tmp_path / "out")} == {f"tern/door-{at}" for at in range(3)}
    shop.archive.put_away("opening:tern/door-1")
    assert shop.matrix(tmp_path / "out").openings == 3
    shop.archive.put_away("vehicle:tern")
    assert shop.matrix(tmp_path / "out").openings == 0
    with pytest.raises(InputError, match="archived"):
        shop.matrix(tmp_path / "out", vehicle="tern")


@pytest.mark.parametrize("at_once", [1, 3, 8])
def test_screens_that_are_tried_some_at_a_time_are_told_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    hung = {"screen": "floating", "screen_h_mm": 130, "screen_w_mm": 230, "screen_rise_max_mm": 20}
    parts = [head_unit(part_id=f"h{at}", **hung, screen_rise_min_mm=-10 * at) for at in range(6)]
    cars = [vehicle(dash_opening(keep_clear=[thing(y_mm=-60 - 5 * at)]), vehicle_id=f"car-{at}") for at in range(2)]
    shop = Shop(store_file(tmp_path / "shop.duckdb", *parts, *cars))
    whole = shop.matrix(tmp_path / "whole", family="head_unit")
    monkeypatch.setattr(tables, "CELLS_AT_ONCE", at_once)
    some = shop.matrix(tmp_path / "some", family="head_unit")
    assert (some.verdicts, some.refused) == (whole.verdicts, whole.refused)
    assert rows_of(tmp_path / "some") == rows_of(tmp_path / "whole")


def test_parts_that_are_cut_into_slices_give_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parts = [speaker(part_id=f"s{at}", depth_mm=60 + at) for at in range(9)]
    shop = Shop(store_file(tmp_path / "shop.duckdb", *parts, vehicle(speaker_opening())))
    whole = shop.matrix(tmp_path / "whole", family="speaker")
    monkeypatch.setattr(run, "PARTS_A_TASK", 4)
    cut = shop.matrix(tmp_path / "cut", family="speaker")
    assert (whole.tasks, cut.tasks) == (1, 3)
    assert (cut.verdicts, cut.refused) == (whole.verdicts, whole.refused)
    assert rows_of(tmp_path / "cut") == rows_of(tmp_path / "whole")
