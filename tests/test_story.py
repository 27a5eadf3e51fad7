"""A new shop's first job: two suppliers' lists, a car and a tape, a customer who changes her mind. No file by hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from matcher.commands.main import app

RADIOS = """Part no;Description;Brand;Model;Price EUR;Body W mm;Body H mm;Body D mm;Face W mm;Face H mm;Days
R1;head unit;Orlebar;OR 1;120,00;178;50;100;190;60;2
R2;head unit;Skelder;SK 2;150,00;178;50;110;190;60;9
"""
SPEAKERS = """part_id,family,maker,model,price,shape,size,cutout_w_mm,depth_mm,flange_w_mm,bolt_circle_mm,bolt_count,\
magnet_mm,front_mm,kind,impedance_ohm,rms_w,sens_db,high_hz,lead_days
S1,speaker,Dunmallet,DM 16,60,round,165 mm,140,55,165,155,4,90,5,coaxial,4,40,92,20000,3
S2,speaker,Tarrowby,TB 16,80,round,165 mm,140,58,165,155,4,90,5,coaxial,4,40,90,20000,3
"""
TAPE = {
    "opening:gull/dash": {"shape": "rect", "w_mm": "184", "h_mm": "54", "depth_mm": "190"},
    "opening:gull/door": {"shape": "round", "hole_w_mm": "5 3/4 in", "bolt_circle_mm": "155", "bolt_count": "4"}
    | {"depth_mm": "7.2 cm", "front_mm": "25", "flat_w_mm": "180", "flat_h_mm": "180", "behind": "fixed"},
    "vehicle:gull": {"system_v": "12", "ground": "negative", "charge_a": "90", "base_load_a": "35"},
}


class Counter:
    """The commands of one shop, each as it is typed."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.store = folder, folder / "shop.duckdb"

    def says(self, *words: str) -> Any:
        """What a command answers as JSON."""
        run = CliRunner().invoke(app, [*words, "--store", str(self.store), "--json"])
        if run.exception is not None and not isinstance(run.exception, SystemExit):
            raise run.exception
        assert run.exit_code == 0, run.output
        return json.loads(run.stdout)

    def list_of(self, name: str, text: str) -> str:
        """A supplier's list as it came by mail."""
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return str(path)


@pytest.fixture
def counter(tmp_path: Path) -> Counter:
    """A shop with two suppliers, and a car that was measured with a tape."""
    made = Counter(tmp_path)
    made.says("init", "--name", "North yard", "--currency", "EUR", "--tax", "20", "--rate", "60")
    made.says("catalog", "load", made.list_of("orme.csv", RADIOS), "--kind", "head unit=head_unit")
    made.says("catalog", "load", made.list_of("quill.csv", SPEAKERS))
    made.says("catalog", "supplier", "orme", "--price-is", "cost", "--markup", "50")
    openings = ("dash=dash", "door=speaker", "seat=amp_spot")
    made.says("vehicle", "new", "gull", *(word for one in openings for word in ("--opening", one)))
    for subject, figures in TAPE.items():
        for field, value in figures.items():
            made.says("reading", "add", subject, field, value)
    made.says("job", "new", "g1", "--vehicle", "gull", "--budget", "500", "--choose", "head_unit", "--choose", "door")
    return made


def parts_of(package: Any) -> set[str]:
    return {line["part_id"] for line in package["lines"] if line["part_id"]}


def test_prices_are_each_suppliers_own_with_tax(counter: Counter) -> None:
    best = counter.says("options", "g1")["packages"][0]
    assert parts_of(best) == {"R1", "S1"}
    # The radio at cost, 120 + 50 %, with 20 % tax; the loudspeakers, two packs at their list price, with tax.
    price = {name: best["price"][name] for name in ("parts", "labour", "currency", "tax_pct")}
    assert price == {"parts": 360.0, "labour": 0.0, "currency": "EUR", "tax_pct": 20.0}
    assert best["price"]["from"]  # neither its hours nor its wires have a price yet


def test_she_changes_her_mind_and_the_job_is_chosen_as_it_was_shown(counter: Counter) -> None:
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


def test_the_second_car_of_the_model_begins_with_the_first_ones_figures(counter: Counter) -> None:
    made = counter.says("vehicle", "new", "gull-b", "--like", "gull")
    assert made["like"] == "gull"
    first, second = (counter.says("fit", "S2", f"{car}/door") for car in ("gull", "gull-b"))
    tolerance = {check["rule"]: check["tol"] for check in first["checks"]}
    wider = [check["rule"] for check in second["checks"] if check["tol"] > tolerance[check["rule"]]]
    assert "speaker.depth" in wider
    counter.says("reading", "add", "opening:gull-b/door", "depth_mm", "72")
    checked = {check["rule"]: check["tol"] for check in counter.says("fit", "S2", "gull-b/door")["checks"]}
    assert checked["speaker.depth"] == tolerance["speaker.depth"]


def test_a_setup_that_cannot_be_is_refused_whole(counter: Counter) -> None:
    run = CliRunner().invoke(app, ["init", "--name", "South", "--tax", "much", "--store", str(counter.store)])
    assert run.exit_code != 0
    assert counter.says("init")["settings"]["shop_name"] == "North yard"
