"""A vehicle, its parts and a job: every slot is filled, one figure is unknown, one limit costs something."""

from __future__ import annotations

import json
from typing import Any

from matcher.store.documents.saving import save_job
from tests.bass.cars import trunk
from tests.factories import (
    Bench,
    Row,
    amp_spot,
    amplifier,
    dash_kit,
    dash_opening,
    electrical,
    job,
    part,
    plain,
    speaker,
    speaker_opening,
    vehicle,
)
from tests.factories import floating_unit as head_unit

TEXT = 'Ulvo & <b>Sons</b> {{ 7*7 }} "x" #let $1$ =1+1 _em_ \\n'
"""A text that is markup to one renderer or another."""
LONG = "Donaudampfschifffahrtsgesellschaftslautsprecherabdeckungshalterung"
ARABIC = "سماعة أمامية"


def car() -> Row:
    """A sedan with a dash, doors, a shelf, a spot for an amplifier and a cargo space."""
    shelf = {"opening_id": "shelf", "label": "Rear shelf", "place": "rear shelf", "beside_mm": None}
    cut = {"w_mm": 170, "h_mm": 170, "material": "steel", "piece": "body"}
    return vehicle(
        dash_opening(label="Dash"),
        speaker_opening(cut=cut, flat_w_mm=230, flat_h_mm=230),
        speaker_opening(**shelf),
        amp_spot(),
        trunk(),
        label="Tern & Sons <sedan>",
        electrical=electrical(charge_a=90, charge_idle_a=40, base_load_a=20, battery_ah=60),
        runs={"battery_to_dash_m": 2, "battery_to_cargo_m": 5},
        panes=[{"pane": "doors", "vlt_pct": 80, "limit_pct": 20}, {"pane": "rear", "vlt_pct": 80}],
        no_fasten=[{"where": "left sill", "why": "fuel line"}],
    )


LARGE = {"size": "200 mm", "cutout_w_mm": 165, "flange_w_mm": 190, "bolt_circle_mm": 180}


def parts() -> list[Row]:
    """One of everything, and a louder loudspeaker that metal would have to be cut for."""
    known = {"sens_basis": "1w", "labour_h": 1, "pack_of": 2}
    head = {"preouts": 4, "preout_v": 4, "features": ["bluetooth"], "standby_ma": 2}
    return [
        head_unit(stock=1, labour_h=2, screen_rise_min_mm=90, **head),
        dash_kit(price=25),
        speaker(part_id="plain", sens_db=88, low_hz=90, price=80, stock=0, lead_days=9, **known),
        speaker(part_id="loud", model=TEXT, sens_db=92, low_hz=70, price=180, **known),
        speaker(part_id="large", price=150, sens_db=95, low_hz=50, **LARGE | known),
        amplifier(
            full_w_2ohm=80,
            full_bridged_w_4ohm=150,
            full_bridged_min_ohm=4,
            input_min_v=0.2,
            input_max_v=6,
            fuse_a=30,
            current_a=20,
            standby_ma=1,
            price=200,
            labour_h=3,
            **{"class": "d"},
        ),
        part("cable", part_id="wire", price=40, area_mm2=25, length_m=6, rated_a=100, fuse_a=80),
        part(
            "subwoofer", part_id="low", price=90, mass_kg=4, cutout_mm=232, depth_mm=130, outer_mm=260, displaces_l=1.5,
            fs_hz=30, qts=0.5, qes=0.55, vas_l=30, sd_cm2=330, xmax_mm=10, vented_pole=False,
        ),
        part("film", part_id="film-35", model=ARABIC, vlt_pct=35, price=60, labour_h=4),
        part("security", part_id="lock", model=LONG, covers=["tow"], effort="chore", standby_ma=0, price=30),
    ]  # fmt: skip


def the_job(**changes: Any) -> Row:
    """A job that asks for all of it."""
    whole = job(
        label="Screen & sound <i>for the sedan</i>",
        choose=["head_unit", "door", "shelf", "bass", "film", "security"],
        security_routes=["tow"],
        limits={"alteration": "bolt_on", "budget": 2000, "must": ["bluetooth"], "screen_min_in": 6},
        wishes={"loudness": 5, "bass": 4, "screen": 3, "original_look": 1, "price": 2},
        tiers=[900, 1450, 1700],
    )
    return whole | changes


def lay_town(bench: Bench) -> None:
    """Take in all of it, with the settings of a shop."""
    bench.lay(*parts(), car())
    save_job(bench.con, json.dumps(the_job(), default=plain), "test")
    for name, value in SETTINGS.items():
        bench.set(name, value)


SETTINGS = {
    "labour_rate": "46.50",
    "tax_pct": "19",
    "currency": "EUR",
    "shop_name": "Bolt <Ferry>",
    "made_box_labour_h": "2",
    "board_price_m2": "20",
    "made_box_extras_price": "15",
}
