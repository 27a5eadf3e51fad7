"""The eleven families of parts: what a shop's lists hold of each.

A field without a default must be filled; any other may be unknown. Units are in the names.
A pair of width and height of a round thing may leave the height out: it is the width again.
"""

from __future__ import annotations

from catalog_schema.fitting_parts import Accessory, Adapter, Cable, Film, Install, Security
from catalog_schema.part import Basis, Part
from catalog_schema.sound_parts import Amplifier, Enclosure, HeadUnit, Speaker, Subwoofer

__all__ = [
    "FAMILIES",
    "Accessory",
    "Adapter",
    "Amplifier",
    "Basis",
    "Cable",
    "Enclosure",
    "Film",
    "HeadUnit",
    "Install",
    "Part",
    "Security",
    "Speaker",
    "Subwoofer",
]

FAMILIES: dict[str, type[Part]] = {
    model.family: model
    for model in (
        HeadUnit,
        Speaker,
        Amplifier,
        Subwoofer,
        Enclosure,
        Adapter,
        Cable,
        Install,
        Film,
        Security,
        Accessory,
    )
}
"""Every family by its name."""
