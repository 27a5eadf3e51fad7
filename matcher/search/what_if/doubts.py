"""What is open about the candidates of a field: which are not sure, and what tells one doubt from another."""

from __future__ import annotations

from dataclasses import replace

from matcher.search.feeds.parts import AmplifierSignature, Candidate, HeadSignature, LineAid, SpeakerSignature
from matcher.search.packages import Found

Choice = tuple[Candidate, ...]
"""What fills a slot: one candidate, driver and box of a bass system, or a set of what stands beside the sound."""
Doubt = tuple[tuple[str, str | None, tuple[str, str], int], ...]
"""A choice about which something is open: slot, place, name and count of each part."""
SYSTEM = "bass"
"""What the slot of a driver in its box is called here."""
LINES = ("preouts", "preout_v", "amp_channels", "amp_w", "amp_min_ohm")
FULL = ("channels", "min_ohm", "w_4ohm", "w_2ohm", "bridged_w_4ohm", "bridged_min_ohm")
LOW = ("bass_channels", "bass_min_ohm", "bass_w_4ohm", "bass_w_2ohm", "bass_w_1ohm")
INPUTS = ("input_min_v", "input_max_v", "high_level_in")
TOLERANCES = ("preout_v_tol", "input_min_v_tol", "input_max_v_tol")


def is_incomplete(one: Candidate) -> bool:
    """Whether a figure that its links hang on is not known, or not exactly."""
    match one.signature:
        case HeadSignature():
            names: tuple[str, ...] = LINES
        case AmplifierSignature():
            names = (*INPUTS, *(FULL if one.signature.channels != 0 else ()))
            names += LOW if one.signature.bass_channels != 0 else ()
        case _:
            return has_unknown_load(one)
    loose = (getattr(one.signature, name, None) for name in TOLERANCES)
    return any(getattr(one.signature, name) is None for name in names) or any(loose)


def has_unknown_load(one: Candidate) -> bool:
    """Whether it is a loudspeaker that stays, whose load nobody knows."""
    return isinstance(one.signature, SpeakerSignature) and one.signature.impedance_ohm is None


def doubt_of(some: Choice) -> Doubt:
    """What tells a choice from all others of its slot, whatever makes its line level."""
    return tuple((one.slot, one.opening_id, _without_aid(one).name, one.cost.pieces) for one in some)


def system_name(doubt: Doubt) -> tuple[str, str, str]:
    """Driver, box, number and place of a bass system, as the total order compares them."""
    (_, opening_id, (driver_id, _), drivers), (_, _, (box_id, _), _) = doubt
    return driver_id, box_id, f"{drivers} {opening_id}"


def _without_aid(one: Candidate) -> Candidate:
    along = tuple(each for each in one.along if not isinstance(each.signature, LineAid))
    return one if len(along) == len(one.along) else replace(one, along=along)


def filling(found: Found, slot: str) -> Choice:
    """What fills a slot of a package."""
    every = found.fitted
    if slot == SYSTEM:
        return next((one.bass.driver, one.bass.box) for one in every if one.bass is not None)
    return tuple(one.candidate for one in every if slot in (one.candidate.slot, one.candidate.opening_id))
