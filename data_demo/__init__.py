"""The demo's data: invented vehicles, jobs and suppliers' lists, and the generator that drew the lists.

Every number in here is invented. Nothing outside this package may invent one.
"""

from __future__ import annotations

from pathlib import Path

HERE = Path(__file__).resolve().parent

FAULTS_FILE = HERE / "faults.json"
"""Faults put into the lists on purpose."""
MADE_TO_FIT_FILE = HERE / "made_to_fit.json"
MADE_TO_FOOL_FILE = HERE / "made_to_fool.json"
"""The adapters made for the demo's openings."""

LIST_NAMES: dict[str, str] = {
    "head_unit": "head_units.csv",
    "speaker": "speakers.csv",
    "amplifier": "amplifiers.csv",
    "subwoofer": "subwoofers.csv",
    "enclosure": "enclosures.xlsx",
    "adapter": "adapters.csv",
    "cable": "cables.csv",
    "film": "films.csv",
    "security": "security.csv",
    "accessory": "accessories.jsonl",
    "install": "install.csv",
}
"""The file that holds each family's list."""


def lists() -> dict[str, list[Path]]:
    """The demo's suppliers' lists: each family with its files."""
    return {family: [HERE / "lists" / name] for family, name in LIST_NAMES.items()}


def vehicles() -> list[Path]:
    """The demo's vehicles, one JSON document each, by name."""
    return sorted((HERE / "vehicles").glob("*.json"))


def jobs() -> list[Path]:
    """The demo's jobs, one JSON document each, by name."""
    return sorted((HERE / "jobs").glob("*.json"))


SETTINGS: dict[str, str] = {
    "shop_name": "Bolt & Ferry, car sound",
    "shop_contact": "The old net loft, Skerry quay 3 · knock twice",
    "currency": "EUR",
    "tax_pct": "20",
    "labour_rate": "46",
    "made_box_labour_h": "3.5",
    "board_price_m2": "24",
    "made_box_extras_price": "38",
    "kit_price.cable": "0.30",
    "kit_price.fuse": "6",
    "kit_price.fuse_holder": "24",
    "kit_price.wheel_interface": "65",
}
"""The demo shop's own settings: who it is, its tax, its price of an hour, and what a box made to measure takes."""
