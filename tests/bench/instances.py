"""The stores that benchmarks run on: whole catalogs drawn by the demo's generator, with its vehicles and jobs."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import data_demo
from data_demo.generate import write_catalog
from matcher import Shop

KEPT = Path(tempfile.gettempdir()) / "boltback-bench"
"""Where stores are kept between runs: a million parts take a minute to draw and load."""


def store_of(parts: int) -> Path:
    """A store with a drawn catalog of so many parts, and every demo vehicle and job; made on first use."""
    path = KEPT / f"catalog-{parts}.duckdb"
    if not path.is_file():
        KEPT.mkdir(exist_ok=True)
        unfinished = path.with_suffix(".part")
        unfinished.unlink(missing_ok=True)
        _fill(Shop(unfinished), parts)
        unfinished.rename(path)
    return path


def _fill(shop: Shop, parts: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lists = write_catalog(folder, parts)
        shop.catalog.load_families({family: [path] for family, path in lists.items()})
    shop.vehicles.load_all(*data_demo.vehicles())
    shop.jobs.load_all(*data_demo.jobs())
    shop.set_all(data_demo.SETTINGS)


PLACES = {"door": "auk-e", "dash-top": "auk-e", "slide-door": "auk-e", "rear-shelf": "tern-8"}
"""The openings for loudspeakers, in the order in which a job takes them up, each with the demo's car it is from."""
BUDGETS = {"tight": 200, "middling": 400, "loose": 2000}
"""Money for the head unit and for each place."""


def drawn_job(store: Path, job_id: str, places: int, budget: str) -> None:
    """Put a job into a store: a head unit, and loudspeakers for so many places of one large car."""
    job = {
        "job_id": job_id,
        "vehicle_id": "bench",
        "limits": {"alteration": "bolt_on", "budget": BUDGETS[budget] * (places + 1), "at_rest_ma": 50},
        "choose": ["head_unit", *list(PLACES)[:places]],
        "wishes": {"loudness": 4, "bass": 3, "screen": 4, "original_look": 3, "price": 2},
    }
    with tempfile.TemporaryDirectory() as folder:
        for name, document in (("vehicle", _car()), ("job", job)):
            (Path(folder) / f"{name}.json").write_text(json.dumps(document), encoding="utf-8")
        shop = Shop(store)
        shop.vehicles.load(Path(folder) / "vehicle.json")
        shop.jobs.load(Path(folder) / "job.json")


def _car() -> dict[str, object]:
    """The demo's van with a shelf more."""
    cars = [json.loads(path.read_text(encoding="utf-8")) for path in data_demo.vehicles()]
    by_id = {car["vehicle_id"]: car for car in cars}
    places = [
        opening for place, car in PLACES.items() for opening in by_id[car]["openings"] if opening["opening_id"] == place
    ]
    others = [opening for opening in by_id["auk-e"]["openings"] if opening["kind"] in ("dash", "amp_spot")]
    own = {"vehicle_id": "bench", "label": "bench", "openings": [*others, *places]}
    return by_id["auk-e"] | own | {"electrical": by_id["tern-8"]["electrical"]}
