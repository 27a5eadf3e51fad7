"""What the tests of keeping share: a store as a shop would have it, made once and copied for each test."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from matcher import Shop
from tests.factories import job, plain, speaker_opening, vehicle

SPEAKERS = """part_id,maker,model,price,shape,size,impedance_ohm,rms_w,depth_mm,cutout_w_mm
A1,Ulvo,One,100,round,165 mm,4,50,60,140
A2,Ulvo,Two,120,round,165 mm,4,60,6.2 cm,140
A3,Ulvo,Three,much,round,165 mm,4,60,62,140
"""
FILMS = "part_id,maker,model,price,vlt_pct\nF1,Ulvo,Clear,10,70\nF2,Ulvo,Dark,10,20\n"


def fill(shop: Shop, folder: Path) -> Shop:
    """Two lists, a problem row, a vehicle, a job, a setting and readings, as commands would bring them in."""
    lists = {"speaker": folder / "speakers.csv", "film": folder / "films.csv"}
    lists["speaker"].write_text(SPEAKERS, encoding="utf-8")
    lists["film"].write_text(FILMS, encoding="utf-8")
    shop.catalog.load_families({family: [path] for family, path in lists.items()})
    for name, row in (("vehicle", vehicle(speaker_opening())), ("job", job())):
        path = folder / f"{name}.json"
        path.write_text(json.dumps(row, default=plain), encoding="utf-8")
        getattr(shop, f"{name}s").load(path)
    shop.set("labour_rate", 50)
    shop.set("units", "in")
    shop.readings.add("part:A1", "depth_mm", 58)
    shop.readings.add("opening:tern/door", "depth_mm", 71)
    return shop


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shop")
    return fill(Shop(folder / "shop.duckdb"), folder).store.path


@pytest.fixture
def shop(made_once: Path, tmp_path: Path) -> Shop:
    """A shop with something of everything in its store."""
    return Shop(shutil.copyfile(made_once, tmp_path / "shop.duckdb"))
