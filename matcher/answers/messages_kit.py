"""Sentences about the kit: its items, and the open part of its price."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.answers import KitLine
from matcher.answers.messages import amount, money

LABELS = {
    "cable": "supply cable",
    "fuse": "main fuse",
    "fuse_holder": "fuse holder",
    "ground_lead": "ground lead, to bare metal of the body",
    "ground_cable": "ground cable, back to the battery",
    "remote_wire": "remote wire",
    "signal_lead": "signal lead, a pair",
    "speaker_wire": "loudspeaker wire, two cores",
    "terminal": "terminals",
    "grommet": "grommets",
    "harness": "harness adapter",
    "antenna_adapter": "antenna adapter",
    "wheel_interface": "interface for the keys on the wheel",
    "distribution": "distribution block",
    "damping": "damping for doors",
    "sealing": "sealing tape",
    "strap": "straps",
    "filter": "in-line filter for a pair of channels",
    "board": "board for amplifiers, made by the shop",
}


def kit_label(kind: str, size: Decimal | None, unit: str) -> str:
    """Return the name and size of an item of a kit."""
    if not unit:
        return LABELS[kind]
    return f"{LABELS[kind]}, {amount(size, unit) if size is not None else 'size not known'}"


def kit_says(line: KitLine) -> str:
    """Describe an item of a kit in one line: quantity, item, and source."""
    many = f"{'about ' if line.estimated else ''}{amount(line.quantity, '' if line.unit == 'piece' else line.unit)}"
    if line.priced:
        return f"{many} {line.label}: {line.part_id}"
    guess = f"; {money(line.price)} estimated" if line.price else ""
    return f"{many} {line.label}: not in any list, price open{guess}"


def kit_in_short(kit: list[KitLine]) -> str:
    """Return the number of items of the kit, and how many of them are in no list."""
    unlisted = sum(not item.priced for item in kit)
    return f"kit: {len(kit)} items{f', {unlisted} of them in no list' if unlisted else ''}"
