"""The kinds of opening, and which families go into each."""

from __future__ import annotations

OPENING_FAMILIES: dict[str, tuple[str, ...]] = {
    "dash": ("head_unit",),
    "speaker": ("speaker",),
    "cargo": ("enclosure",),
    "amp_spot": ("amplifier",),
    "control_spot": ("accessory",),
}
"""Which families go into which kind of opening."""

KINDS = tuple(OPENING_FAMILIES)
"""Every kind of opening."""
