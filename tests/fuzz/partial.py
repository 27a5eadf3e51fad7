"""Cars of which little is known, and jobs on them: what can be saved can be printed and drawn.

python -m tests.fuzz.partial 200        # so many cars, each with every paper and every drawing, in both languages
"""

from __future__ import annotations

import json
from typing import Any

from hypothesis import strategies as st

from catalog_schema.answers import Package
from matcher.drawings.measuring import measured_fields
from matcher.errors import BoltbackError
from matcher.papers.paper import KINDS, is_needed
from matcher.store.documents.saving import save_job, save_vehicle
from matcher.words import languages
from tests.bass.cars import trunk
from tests.factories import (
    OpenStore,
    amp_spot,
    dash_opening,
    electrical,
    oval_opening,
    part,
    plain,
    speaker_opening,
    thing,
)
from tests.fuzz.targets import Counter, Target
from tests.papers.town import parts, the_job

Row = dict[str, Any]

CUT = {"w_mm": 190, "h_mm": 190, "material": "steel", "piece": "body"}
PLACES: dict[str, Row] = {
    "dash": dash_opening(keep_clear=[thing()], cut={"w_mm": 200, "h_mm": 110, "material": "trim", "piece": "spare"}),
    "door": speaker_opening(cut=CUT, factory_ohm=4, place="door"),
    "shelf": oval_opening(opening_id="shelf", label="Rear shelf", place="rear shelf"),
    "seat": amp_spot(),
    "cargo": trunk(),
    "knee": {"opening_id": "knee", "kind": "control_spot", "label": "Knee panel", "w_mm": 60, "h_mm": 40, "d_mm": 30},
}
CAR: Row = {
    "electrical": electrical(charge_a=90, charge_idle_a=40, base_load_a=20, battery_ah=60),
    "runs": {"battery_to_dash_m": 2, "battery_to_cargo_m": 5},
    "panes": [{"pane": "doors", "vlt_pct": 80, "limit_pct": 20}],
    "no_fasten": [{"where": "left sill", "why": "fuel line"}],
    "label": "Sedan",
    "year": 1984,
}  # fmt: skip
NAMES = ("opening_id", "kind", "pane", "where", "name")
"""What says which thing it is: never left out."""
STEPS = ("bolt_in", "bolt_on", "spare_piece", "metal_cut")
MONO = part(
    "amplifier", part_id="mono", price=120, full_channels=1, full_w_4ohm=200, input_min_v=0.2, input_max_v=6, fuse_a=20,
    current_a=16, standby_ma=1, **{"class": "d"},
)  # fmt: skip


def figures_of(row: Row) -> list[str]:
    return [name for name in row if name not in NAMES]


@st.composite
def thinned(draw: st.DrawFn, row: Row) -> Row:
    """A thing of which some figures are known, all of them, or next to none."""
    known = figures_of(row)
    few = draw(st.sets(st.sampled_from(known), max_size=3)) if known else set()
    kept = {"few": few, "most": set(known) - few, "all": set(known)}[draw(st.sampled_from(("few", "most", "all")))]
    found = {name: value for name, value in row.items() if name in NAMES or name in kept}
    return {name: draw(_inner(value)) if name in kept else value for name, value in found.items()}


def _inner(value: Any) -> st.SearchStrategy[Any]:
    if isinstance(value, list):
        return st.tuples(*(thinned(one) for one in value)).map(list)
    return thinned(value) if isinstance(value, dict) else st.just(value)


@st.composite
def cars_with_jobs(draw: st.DrawFn) -> tuple[Row, Row]:
    names = draw(st.lists(st.sampled_from(list(PLACES)), unique=True, min_size=1))
    openings = [draw(thinned(PLACES[name])) for name in names]
    car = draw(thinned(CAR)) | {"vehicle_id": "tern", "openings": openings}
    asked = [name for name in names if name in ("door", "shelf")]
    more = ["head_unit", "bass", "film", "security"]
    chosen = draw(st.lists(st.sampled_from([*asked, *more]), unique=True, min_size=1))
    limits = {"alteration": draw(st.sampled_from(STEPS)), "budget": draw(st.sampled_from((None, 300, 5000)))}
    tiers = draw(st.sampled_from(([], [300, 5000])))
    routes = ["tow"] if "security" in chosen else []
    return car, the_job(choose=chosen, limits=limits, tiers=tiers, security_routes=routes)


def take_printed(counter: Counter, drawn: tuple[Row, Row]) -> bool:
    """A car and a job: if they can be saved, every paper and every drawing of them can be made, in both languages."""
    con = counter.con
    counter.store = OpenStore(con)  # each car has a name of its own, and stays
    (number,) = con.execute("select count(*) from vehicle").fetchone() or (0,)
    car, job = drawn[0] | {"vehicle_id": f"car-{number}"}, drawn[1] | {"job_id": "j", "vehicle_id": f"car-{number}"}
    try:
        save_vehicle(con, json.dumps(car, default=plain), "car.json")
        save_job(con, json.dumps(job, default=plain), "job.json")
    except BoltbackError:
        return False
    if number < 2:
        counter.lay(*parts(), MONO)
    answer = counter.options("j")
    package = answer.packages[number % len(answer.packages)] if answer.packages else None
    rank = None if package is None else package.rank
    for language in languages():
        con.execute("insert or replace into word_setting values ('language', ?)", [language])
        forms = ["html", "pdf"] if number % 4 == 0 else ["html"]
        made = counter.papers.many("j", package=rank, formats=forms, options=answer)
        dossier = counter.papers.dossier("j", package=rank, options=answer)
        needed = sum(is_needed(dossier, kind) for kind in KINDS)
        assert all(paper.data for paper in made) and len(made) == needed * len(forms) > 0
        draw_everything(counter, car, package, language)
    return True


def draw_everything(counter: Counter, car: Row, package: Package | None, language: str) -> None:
    """Every opening as found and with its part, and where each of its figures is measured."""
    for opening in car["openings"]:
        place = f"{car['vehicle_id']}/{opening['opening_id']}"
        assert counter.drawings.drawing(place, lang=language)
        for field in measured_fields(opening["kind"]):
            if not field.startswith("keep_clear"):
                assert counter.drawings.measuring(place, field, lang=language).alt
    if package is not None:
        assert counter.drawings.package("j", package, lang=language)["system"].alt


PAPERS = Target("papers", cars_with_jobs, take_printed)
