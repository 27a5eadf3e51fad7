"""The alteration ladder: what may be done to a car, least first."""

from __future__ import annotations

LADDER = ("bolt_in", "bolt_on", "spare_piece", "hidden_cut", "drilled", "metal_cut")
"""The alteration ladder, least first."""

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
"""The step at which a question is asked unless it says otherwise: nothing is lost."""


def step_rank(step: str) -> int:
    """Where a step is on the ladder, 0 for the least."""
    return LADDER.index(step)
