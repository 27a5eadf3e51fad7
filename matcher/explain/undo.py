"""How every step is undone: what comes out, what goes back, what is kept and where."""

from __future__ import annotations

from catalog_schema.answers import Line, Undo

LOST = frozenset({"hidden_cut", "drilled", "metal_cut"})
"""Steps at which material is lost: they can be closed again, not undone."""

PLAIN = {
    "bass": (
        "bass drivers {part} in their box",
        "unplug them, take them out by their own screws; the box goes out by itself",
        "",
    ),
    "enclosure": (
        "bass box {part}",
        "battery off; unplug it, loosen what holds it, lift it out with two",
        "straps, clamps and bolts that were there, in a labelled bag",
    ),
    "cable": (
        "supply cable {part}",
        "battery off; take it off the battery and the amplifier, draw it out by the way it went in, close grommets",
        "the grommets and clips that were there",
    ),
    "accessory": (
        "accessory {part}",
        "battery off; unplug it, take it out by its own fasteners, join again the plugs that it parted",
        "",
    ),
    "film": (
        "film {part} on the glass",
        "warm it, draw it off in one piece, take the glue off with soapy water; a heated pane along its wires",
        "",
    ),
    "security": (
        "security {part}",
        "battery off; unplug it, take its bracket off the bolts it shares, join what it had parted",
        "its keys, codes and papers, with the owner",
    ),
}
"""Slots whose parts alter no opening: the step, how it is undone, what is kept."""


NAMES = {
    "head_unit": "head unit",
    "speaker": "loudspeakers",
    "amplifier": "amplifier",
    "bass_amplifier": "amplifier for bass",
}
"""What a slot's parts are called."""


def undo_steps(lines: list[Line]) -> list[Undo]:
    """The steps of a package, last first, each with its undo."""
    return [step for line in reversed(lines) if line.part_id or line.slot == "enclosure" for step in _of_line(line)]


def _of_line(line: Line) -> list[Undo]:
    if line.slot in PLAIN:
        step, undo, keeps = PLAIN[line.slot]
        part = line.part_id or line.label
        lost = _alteration(line, f" at {line.opening_id}") if line.slot == "enclosure" else []
        return [Undo(step=step.format(part=part), undo=undo, keeps=keeps), *lost]
    name = NAMES[line.slot]
    place = f" at {line.opening_id}" if line.opening_id else ""
    if line.slot in ("amplifier", "bass_amplifier"):
        return [
            Undo(
                step=f"{name} {line.part_id} on its board{place}",
                undo="battery off; unplug it, take out its leads with their fuse, lift out the board by its own bolts",
                keeps="the bolts that were there, in a labelled bag",
            ),
            *_alteration(line, place),
        ]
    steps = [
        Undo(
            step=f"{name} {line.part_id}{place}",
            undo=f"battery off; unplug it, take it out, plug the original {name} back in",
            keeps=f"the original {name}, with all fasteners, in a box labelled {line.opening_id}",
        )
    ]
    if line.adapter_id:
        steps.append(
            Undo(
                step=f"adapter {line.adapter_id}{place}",
                undo="take it out by its own fasteners",
                keeps="",
            )
        )
    return steps + _alteration(line, place)


def _alteration(line: Line, place: str) -> list[Undo]:
    if line.alteration == "spare_piece":
        return [
            Undo(step=f"a spare piece altered{place}", undo="put the original piece back", keeps="the original piece")
        ]
    if line.alteration in LOST:
        return [
            Undo(
                step=f"{line.alteration.replace('_', ' ')}{place}",
                undo="cannot be undone: material is lost; a cover can close it",
                keeps="the cut-out piece, in the labelled box",
            )
        ]
    return []
