"""What each limit costs, against plain enumeration without it; and how far wishes may weigh otherwise."""

from __future__ import annotations

import json
from random import Random
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from catalog_schema.schemas import read_schema
from catalog_schema.whys import LimitPrice, LimitPrices
from matcher.commands.main import app
from matcher.commands.show_reasons import show_limits
from matcher.errors import InputError
from matcher.search.what_if.priced import every_price, limit_names
from matcher.search.what_if.relaxed import WhatIf, stated
from matcher.search.what_if.weights import WISHES, stable_weights, weighed
from tests.factories import (
    Row,
    amp_spot,
    amplifier,
    dash_opening,
    floating_unit,
    head_unit,
    job,
    speaker,
    speaker_opening,
    store_file,
    thing,
    vehicle,
)
from tests.search.oracle import Whole, ranked
from tests.search.shops import Settled, Store, drawn_job
from tests.search.test_conflict import loosened
from tests.soak import first


def best_of(settled: Settled, *documents: Row) -> Whole | None:
    """The best package of several jobs, by plain enumeration."""
    found = [everything[0] for one in documents if (everything := ranked(settled.town, settled.job(one))[0])]
    return min(found, key=lambda whole: whole.order, default=None)


def without_it(document: Row, name: str) -> list[Row]:
    """The jobs that a job without one limit may be."""
    stem, _, what = name.partition(".")
    if stem == "keep":  # the original may stay, be replaced, or be left out
        freed = document | {"keep": [place for place in document["keep"] if place != what]}
        return [document, freed, freed | {"choose": [*document["choose"], what]}]
    if stem == "per_opening":
        limits = document["limits"]
        own = limits.get("per_opening", {}) | {what: "metal_cut"}
        return [document | {"limits": limits | {"per_opening": own}}]
    return [loosened(document, {name}, document["choose"])]


@pytest.mark.parametrize("seed", first(2, range(20, 26)))
def test_a_limit_costs_what_plain_enumeration_without_it_finds(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    document = drawn_job(draw, ["bolt_in", "bolt_on", "drilled"])
    document["limits"] |= draw.choice([{"budget": 250}, {"must": ["mirror"]}, {"screen_min_in": 7, "budget": 400}])
    asked = stated(settled.job(document), settled.catalog)
    possible = WhatIf(settled.catalog, asked)
    told = {one.name: one.found for one in every_price(possible)}
    assert set(told) == set(limit_names(possible))
    for name, found in told.items():
        want = best_of(settled, document) if name == "charging" else best_of(settled, *without_it(document, name))
        got = None if found is None else (found.points, found.cents, found.name)
        assert got == (want and (want.points, want.cents, want.names)), (seed, document, name)


UNIT = {"amp_channels": 4, "amp_w": 40, "amp_min_ohm": 4, "standby_ma": 5, "features": ["radio"]}
SMALL = head_unit(**UNIT | {"part_id": "small", "screen": "flush", "screen_in": 7})


def priced(
    store: Store, parts: list[Row], openings: list[Row], electrical: Row | None = None, **document: Any
) -> dict[str, LimitPrice]:
    """What each limit of a job costs, by its name."""
    settled = store.lay_town(parts, openings)
    if electrical is not None:
        store.lay(vehicle(*openings, electrical={"system_v": 12, "ground": "negative"} | electrical))
    settled.job(job(**document))
    told = store.limits("j1")
    Draft202012Validator(read_schema("limits")).validate(told.to_dict())
    return {one.limit: one for one in told.limits}


def test_a_thing_to_keep_clear_costs_the_screen_that_would_cover_it(store: Store) -> None:
    covering = floating_unit(**UNIT | {"screen_in": 10, "screen_h_mm": 200})
    dash = dash_opening(keep_clear=[thing("hazard switch", y_mm=60), thing("clock", y_mm=400)], rear_support=True)
    told = priced(store, [SMALL, covering, speaker()], [dash, speaker_opening()], wishes={"screen": 5, "price": 0})
    switch = told["keep_clear.hazard switch"]
    assert switch.difference is not None
    assert [(swap.before, swap.after) for swap in switch.difference.swaps] == [("small", "floating-1")]
    assert [(gain.criterion, gain.after) for gain in switch.difference.gains] == [("screen_in", 10)]
    assert (told["keep_clear.clock"].costs, told["alteration"].costs) == (False, False)


def test_charging_costs_the_amplifier_that_it_cannot_carry(store: Store) -> None:
    deaf = head_unit(amp_channels=0, preouts=4, preout_v=2, screen="flush", standby_ma=1)
    loud = amplifier(part_id="loud", input_min_v=1, input_max_v=4, standby_ma=1, full_w_4ohm=60) | {"class": "d"}
    meek = amplifier(part_id="meek", input_min_v=1, input_max_v=4, standby_ma=1, full_w_4ohm=40) | {"class": "d"}
    openings = [dash_opening(), speaker_opening(), amp_spot()]
    exact = {"charge_a": 32.2, "base_load_a": 30}.items()
    supply: Row = {"charge_idle_a": 60, "battery_ah": 60}
    # an eighth of 13.9 A, and of 20.8 A, on music
    supply |= {name: {"value": value, "tol": 0} for name, value in exact}
    told = priced(store, [deaf, loud, meek, speaker(sens_db=90, sens_basis="1w", rms_w=45)], openings, supply)[
        "charging"
    ]
    assert (told.value, told.costs) == ("spare charging current: 2.2 A", True)
    assert told.difference is not None
    assert [(swap.before, swap.after) for swap in told.difference.swaps] == [("meek", "loud")]


def test_a_cut_is_told_with_its_size_in_decibels_and_money(store: Store) -> None:
    body = {"cutout_w_mm": 165, "flange_w_mm": 180, "bolt_circle_mm": 156, "sd_cm2": 300}
    large = speaker(part_id="large", sens_db=96, sens_basis="1w", price=150, **body)
    door = speaker_opening(
        flat_w_mm=200, flat_h_mm=200, cut={"w_mm": 172, "h_mm": 172, "material": "steel", "piece": "body"}
    )
    parts = [SMALL, speaker(sens_db=90, sens_basis="1w", sd_cm2=300), large]
    wishes = {"original_look": 0, "loudness": 5}
    told = priced(store, parts, [dash_opening(), door], wishes=wishes)["per_opening.door"]
    assert told.difference is not None
    (swap,) = told.difference.swaps
    assert swap.cut is not None
    assert (swap.after, swap.alteration, swap.cut.w_mm, swap.cut.material) == ("large", "metal_cut", 165, "steel")
    assert {gain.criterion: (gain.after or 0) - (gain.before or 0) for gain in told.difference.gains} == {
        "level_db": 6,
        "price": 100,
    }
    assert "the opening would be cut to 165" in told.says


def test_a_limit_of_a_job_without_a_package_is_told_with_the_package_it_keeps_away(store: Store) -> None:
    told = priced(store, [SMALL, speaker()], [dash_opening(), speaker_opening()], limits={"budget": 250})
    budget = told["budget"]
    assert budget.package is not None and budget.package.price.total == 300
    assert (budget.costs, budget.difference) == (True, None)
    assert (told["at_rest_ma"].package, told["at_rest_ma"].costs) == (None, False)


@pytest.mark.parametrize("seed", first(1, [23, 24]))
def test_a_wish_may_weigh_otherwise_as_far_as_plain_enumeration_says(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    jobs = (stated(settled.job(drawn_job(draw, ["drilled"])), settled.catalog) for _ in range(20))
    asked, best = next((one, found) for one in jobs if (found := WhatIf(settled.catalog, one).best()))
    winners = {
        (wish, weight): ranked(settled.town, weighed(asked, {wish: weight}))[0][0].names
        for wish in WISHES
        for weight in range(6)
    }
    for one in stable_weights(settled.catalog, asked, best):
        assert all(winners[one.wish, weight] == best.name for weight in range(one.least, one.most + 1))
        for weight, found in ((one.least - 1, one.below), (one.most + 1, one.above)):
            assert (found is None) == (weight not in range(6))
            assert found is None or found.name == winners[one.wish, weight] != best.name


def test_wishes_weigh_otherwise_for_one_question(store: Store) -> None:
    large = head_unit(**UNIT | {"part_id": "large", "screen": "flush", "screen_in": 9, "price": 700})
    store.lay_town([SMALL, large, speaker()], [dash_opening(), speaker_opening()]).job(job(wishes={"price": 5}))
    before = store.options("j1").packages[0]
    after = store.options("j1", terms={"wish": {"price": 0, "screen": 5}}).packages[0]
    assert [before.lines[0].part_id, after.lines[0].part_id] == ["small", "large"]
    assert store.options("j1").packages[0] == before
    for wishes in ({"bas": 5}, {"bass": 6}, {"bass": -1}):
        with pytest.raises(InputError, match=next(iter(wishes))):
            store.options("j1", terms={"wish": wishes})


def test_a_wish_that_cannot_be_read_is_refused(tmp_path: Any) -> None:
    path = shop_file(tmp_path)
    for text in ("bass", "bass=", "bass=x", "bass=6", "bas=5", "=5", "bass=-1"):
        run = CliRunner().invoke(app, ["options", "j1", "--wish", text, "--store", str(path)])
        assert isinstance(run.exception, InputError)
        assert (text.partition("=")[0] or "--wish =5") in str(run.exception)


def shop_file(tmp_path: Any) -> Any:
    from matcher import Shop

    path = store_file(tmp_path / "shop.duckdb", SMALL, speaker(), vehicle(dash_opening(), speaker_opening()))
    file = tmp_path / "job.json"
    file.write_text(json.dumps(job(limits={"budget": 310})), encoding="utf-8")
    Shop(path).jobs.load(file)
    return path


def test_prices_are_printed_and_told_as_data(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    from matcher import Shop

    path = shop_file(tmp_path)
    told: LimitPrices = Shop(path).limits("j1", weights=True)
    show_limits(told)
    printed = capsys.readouterr().out
    assert "These cost nothing" in printed and "budget of 310" in printed
    assert "screen 3: the same package wins whatever it weighs, 0 to 5" in printed
    run = CliRunner().invoke(app, ["limits", "j1", "--json", "--store", str(path)])
    assert (run.exit_code, json.loads(run.stdout)["weights"]) == (0, [])
