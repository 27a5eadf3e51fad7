"""One module for each group of families: how a row is drawn from the distributions."""

from __future__ import annotations

from collections.abc import Callable

from data_demo.draw import RandomStream
from data_demo.families.adapter import adapter
from data_demo.families.amplifier import amplifier
from data_demo.families.bass import enclosure, subwoofer
from data_demo.families.common import Row
from data_demo.families.extras import accessory, cable, film, install, security
from data_demo.families.head_unit import head_unit
from data_demo.families.speaker import speaker

DRAWN: dict[str, Callable[[RandomStream, int], Row]] = {
    "head_unit": head_unit,
    "speaker": speaker,
    "amplifier": amplifier,
    "subwoofer": subwoofer,
    "enclosure": enclosure,
    "adapter": adapter,
    "cable": cable,
    "film": film,
    "security": security,
    "accessory": accessory,
    "install": install,
}
"""Generators of a row of each family."""
