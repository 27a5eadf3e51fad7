"""The stores that benchmarks run on: whole catalogs drawn by the demo's generator, with its vehicles and jobs."""

from __future__ import annotations

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
        shop.load_families({family: [path] for family, path in lists.items()})
    for vehicle in data_demo.vehicles():
        shop.load_vehicle(vehicle)
    for job in data_demo.jobs():
        shop.load_job(job)
    for name, value in data_demo.SETTINGS.items():
        shop.set(name, value)
