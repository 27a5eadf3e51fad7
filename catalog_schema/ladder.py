"""The alteration ladder: allowed changes to a car, smallest first."""

from __future__ import annotations

LADDER = ("bolt_in", "bolt_on", "spare_piece", "hidden_cut", "drilled", "metal_cut")
"""The alteration ladder, smallest step first."""

LADDER_MEANING: dict[str, str] = {
    "bolt_in": "existing holes and fasteners only",
    "bolt_on": "plates, brackets and boards may be added; nothing is lost",
    "spare_piece": "a replaceable piece may be altered, the original is kept",
    "hidden_cut": "plastic or trim that nobody sees may be cut",
    "drilled": "new screw holes may be made in the body",
    "metal_cut": "metal may be cut",
}
"""Alterations that each step allows, in a sentence."""

DEFAULT_STEP = "bolt_on"
"""The default step of a question: nothing is lost."""


def step_rank(step: str) -> int:
    """Return the position of a step on the ladder, from 0."""
    return LADDER.index(step)
