"""A new shop's first job: two suppliers' lists, a car and a tape, a customer who changes her mind. No file by hand."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from matcher.commands.main import app
from tests.story import Desk


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The store of a shop with two suppliers, a car that was measured with a tape, and a job."""
    desk = Desk(tmp_path_factory.mktemp("desk"))
    desk.begin()
    return desk.store


@pytest.fixture
def counter(begun: Path, tmp_path: Path) -> Desk:
    desk = Desk(tmp_path)
    shutil.copyfile(begun, desk.store)
    return desk


def parts_of(package: Any) -> set[str]:
    return {line["part_id"] for line in package["lines"] if line["part_id"]}


def test_prices_are_each_suppliers_own_with_tax(counter: Desk) -> None:
    best = counter.says("options", "g1")["packages"][0]
    assert parts_of(best) == {"R1", "S1"}
    # The radio at cost, 120 + 50 %, with 20 % tax; the loudspeakers, two packs at their list price, with tax.
    price = {name: best["price"][name] for name in ("parts", "labour", "currency", "tax_pct")}
    assert price == {"parts": 360.0, "labour": 0.0, "currency": "EUR", "tax_pct": 20.0}
    assert best["price"]["from"]  # neither its hours nor its wires have a price yet


def test_she_changes_her_mind_and_the_job_is_chosen_as_it_was_shown(counter: Desk) -> None:
    once = counter.says("options", "g1", "--without", "Dunmallet", "--pin", "dash=R2", "--deliver-by", "9")
    assert parts_of(once["packages"][0]) == {"R2", "S2"}
    assert parts_of(counter.says("options", "g1")["packages"][0]) == {"R1", "S1"}  # it was for once
    kept = counter.says("options", "g1", "--without", "Dunmallet", "--deliver-by", "3", "--keep")
    chosen = counter.says("choose", "g1", kept["packages"][0]["id"])
    assert {part["part_id"] for part in chosen["parts"]} == {"R1", "S2"}
    order = counter.says("order", "g1", "--anyway", "--note", "asked")
    prices = {line["part_id"]: line["price"] for line in order["order"]}
    assert prices == {"R1": 120.0, "S2": 80.0}  # at the suppliers' prices
    assert (
        counter.says("sign", "g1", "--by", "Ida", "--anyway", "--note", "set up at hand-over")["signed"]["by"] == "Ida"
    )


def test_the_second_car_of_the_model_begins_with_the_first_ones_figures(counter: Desk) -> None:
    made = counter.says("vehicle", "new", "gull-b", "--like", "gull")
    assert made["like"] == "gull"
    first, second = (counter.says("fit", "S2", f"{car}/door") for car in ("gull", "gull-b"))
    tolerance = {check["rule"]: check["tol"] for check in first["checks"]}
    wider = [check["rule"] for check in second["checks"] if check["tol"] > tolerance[check["rule"]]]
    assert "speaker.depth" in wider
    counter.says("reading", "add", "opening:gull-b/door", "depth_mm", "72")
    checked = {check["rule"]: check["tol"] for check in counter.says("fit", "S2", "gull-b/door")["checks"]}
    assert checked["speaker.depth"] == tolerance["speaker.depth"]


def test_a_setup_that_cannot_be_is_refused_whole(counter: Desk) -> None:
    run = CliRunner().invoke(app, ["init", "--shop-name", "South", "--tax-pct", "much", "--store", str(counter.store)])
    assert run.exit_code != 0
    assert counter.says("init")["settings"]["shop_name"] == "North yard"
