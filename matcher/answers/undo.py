"""Steps to undo a package: removed parts, refitted originals, and the parts to keep with their storage places."""

from __future__ import annotations

from collections.abc import Sequence

from catalog_schema.answers import Line, Undo
from matcher.answers.sentences import Sentence

WORK = (
    "film",
    "cable",
    "board",
    "amplifier",
    "bass_amplifier",
    "bass",
    "enclosure",
    "speaker",
    "level_control",
    "accessory",
    "security",
    "head_unit",
)
"""Slots in the order of work: glass while the car is clean, work behind the trim, then the parts that close it."""
PLAIN = {
    "bass": (
        "bass drivers {part} in their box",
        "unplug them, take them out by their own screws; the box goes out by itself",
        "",
    ),
    "enclosure": (
        "bass box {part}",
        "unplug it, loosen what holds it, lift it out with two",
        "straps, clamps and bolts that were there, in a labeled bag",
    ),
    "cable": (
        "supply cable {part}",
        "take it off the battery and the amplifier, draw it out by the way it went in, close grommets",
        "the grommets and clips that were there",
    ),
    "accessory": (
        "accessory {part}",
        "unplug it, take it out by its own fasteners, join again the plugs that it parted",
        "",
    ),
    "film": (
        "film {part} on the glass",
        "warm it, draw it off in one piece, take the glue off with soapy water; a heated pane along its wires",
        "",
    ),
    "security": (
        "security {part}",
        "unplug it, take its bracket off the bolts it shares, join what it had parted",
        "its keys, codes and papers, with the owner",
    ),
}
"""Slots whose parts alter no opening: the step, its undo, and the parts to keep."""


ON_BOARD = ("unplug it, take out its leads with their fuse, unscrew it from its board", "")
AT_OPENING = {
    "head_unit": (
        "head unit {part} at {place}",
        "unplug it, take it out, plug the original head unit back in",
        "the original head unit, with all fasteners, in a box labeled {place}",
    ),
    "speaker": (
        "loudspeakers {part} at {place}",
        "unplug them, take them out, plug the original loudspeakers back in",
        "the original loudspeakers, with all fasteners, in a box labeled {place}",
    ),
    "amplifier": ("amplifier {part} on its board at {place}", *ON_BOARD),
    "bass_amplifier": ("amplifier for bass {part} on its board at {place}", *ON_BOARD),
    "level_control": (
        "level control at {place}: {part}",
        "unplug it, take its bracket off the screw or the trim lip that holds it",
        "",
    ),
    "board": (
        "board {part} at {place}",
        "the board comes out, its bolts go back where they were",
        "the bolts that were there, in a labeled bag",
    ),
}
"""The same for slots whose parts are at an opening."""
MADE = frozenset({"enclosure", "board", "level_control"})
"""Slots that may have no catalog part: made by the shop, or supplied with an amplifier."""
ADAPTER = "adapter {part} at {place}"
ADAPTER_OUT = "take it out by its own fasteners"
CUT_KEPT = ("cannot be undone: material is lost; a cover can close it", "the cut-out piece, in the labeled box")
ALTERED = {
    "spare_piece": ("a spare piece altered at {place}", "put the original piece back", "the original piece"),
    "hidden_cut": ("hidden cut at {place}", *CUT_KEPT),
    "drilled": ("drilled at {place}", *CUT_KEPT),
    "metal_cut": ("metal cut at {place}", *CUT_KEPT),
}
"""The same for steps of the ladder that leave traces."""


def work_of(lines: Sequence[Line]) -> list[Line]:
    """Return the lines with something to install, in the order of work."""
    fitted = [line for line in lines if line.part_id or line.slot in MADE]
    return sorted(fitted, key=lambda line: WORK.index(line.slot))


def undo_steps(lines: Sequence[Line]) -> list[Undo]:
    """Return the steps of a package in the reverse order of work, each with its undo."""
    return [step for line in reversed(work_of(lines)) for step in _of_line(line)]


def _of_line(line: Line) -> list[Undo]:
    if line.slot in PLAIN:
        step, undo, keeps = PLAIN[line.slot]
        part = line.part_id or line.label
        lost = _alteration(line) if line.slot == "enclosure" else []
        return [Undo(step=Sentence(step, part=part), undo=Sentence(undo), keeps=Sentence(keeps)), *lost]
    step, undo, keeps = AT_OPENING[line.slot]
    place = str(line.opening_id)
    steps = [
        Undo(
            step=Sentence(step, part=line.part_id or line.label, place=place),
            undo=Sentence(undo),
            keeps=Sentence(keeps, place=place),
        )
    ]
    if line.adapter_id:
        steps.append(Undo(step=Sentence(ADAPTER, part=line.adapter_id, place=place), undo=Sentence(ADAPTER_OUT)))
    return steps + _alteration(line)


def _alteration(line: Line) -> list[Undo]:
    """Return the traces of an alteration beyond mere additions."""
    if line.alteration not in ALTERED:
        return []
    step, undo, keeps = ALTERED[line.alteration]
    return [Undo(step=Sentence(step, place=str(line.opening_id)), undo=Sentence(undo), keeps=Sentence(keeps))]
