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
        "unplug them, take them out by their own screws",
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
        "head unit {part} ({place})",
        "unplug it, take it out",
        "",
    ),
    "speaker": (
        "loudspeakers {part} ({place})",
        "unplug them, take them out",
        "",
    ),
    "amplifier": ("amplifier {part} on its board ({place})", *ON_BOARD),
    "bass_amplifier": ("amplifier for bass {part} on its board ({place})", *ON_BOARD),
    "level_control": (
        "level control ({place}): {part}",
        "unplug it, take its bracket off the screw or the trim lip that holds it",
        "",
    ),
    "board": (
        "board {part} ({place})",
        "the board comes out, its bolts go back where they were",
        "the bolts that were there, in a labeled bag",
    ),
}
"""The same for slots whose parts are at an opening."""
ORIGINAL = {
    "head_unit": (
        "original head unit ({place})",
        "plug it back in, with its fasteners",
        "the original head unit, with all fasteners, in a box labeled {place}",
    ),
    "speaker": (
        "original loudspeakers ({place})",
        "plug them back in, with their fasteners",
        "the original loudspeakers, with all fasteners, in a box labeled {place}",
    ),
}
"""The same for originals, which go back last, when adapter and altered piece are out of the way."""
MADE = frozenset({"enclosure", "board", "level_control"})
"""Slots that may have no catalog part: made by the shop, or supplied with an amplifier."""
ADAPTER = "adapter {part} ({place})"
ADAPTER_OUT = "take it out by its own fasteners"
CUT_KEPT = ("cannot be undone: material is lost; a cover can close it", "the cut-out piece, in the labeled box")
ALTERED = {
    "spare_piece": ("a spare piece altered ({place})", "put the original piece back", "the original piece"),
    "hidden_cut": ("hidden cut ({place})", *CUT_KEPT),
    "drilled": ("drilled ({place})", *CUT_KEPT),
    "metal_cut": ("metal cut ({place})", *CUT_KEPT),
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
        return [_step(line, PLAIN[line.slot]), *(_alteration(line) if line.slot == "enclosure" else [])]
    adapter = [_step(line, (ADAPTER, ADAPTER_OUT, ""), line.adapter_id)] if line.adapter_id else []
    original = [_step(line, ORIGINAL[line.slot])] if line.slot in ORIGINAL else []
    return [_step(line, AT_OPENING[line.slot]), *adapter, *_alteration(line), *original]


def _alteration(line: Line) -> list[Undo]:
    """Return the traces of an alteration beyond mere additions."""
    return [_step(line, ALTERED[line.alteration])] if line.alteration in ALTERED else []


def _step(line: Line, texts: tuple[str, str, str], part: str | None = None) -> Undo:
    """Return a step with its undo and the parts to keep, about a part: by default that of the line."""
    facts = {"part": part or line.part_id or line.label, "place": str(line.opening_id)}
    step, undo, keeps = (
        Sentence(text, **{name: facts[name] for name in facts if f"{{{name}}}" in text}) for text in texts
    )
    return Undo(step=step, undo=undo, keeps=keeps)
