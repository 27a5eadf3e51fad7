"""Places that are asked: one opening, the family that goes there, the step allowed there; how many parts are read."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from catalog_schema.ladder import LADDER, step_rank
from matcher.kernel.columns import columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import codes
from matcher.rules.rule import NO
from matcher.rules.step import ALLOWED
from matcher.settings import DEFAULT_SETTINGS

DRILLED = step_rank("drilled")
LOOSEST = len(LADDER) - 1
BOARD_STEP = step_rank("bolt_on")
"""An amplifier sits on a board or bracket of its own, a box is held by straps or clamps: nothing is lost by it."""


def is_allowed(step: Any, allowed: int) -> Any:
    """Whether steps of the alteration ladder, one or many, are within the greatest that is allowed."""
    return _allowed_steps(allowed)[np.minimum(step, len(LADDER))]


@cache
def _allowed_steps(allowed: int) -> Any:
    """By step of the ladder, with one for no step at all."""
    steps = columns_of("way", [{"step": step} for step in range(len(LADDER) + 1)])
    return codes(ALLOWED, Evaluation(steps | columns_of("asked", [{"step": allowed}]), DEFAULT_SETTINGS)) != NO


@dataclass(frozen=True, slots=True)
class Place:
    """One opening, the family that goes there, and the step allowed there."""

    kind: str
    family: str
    vehicle_id: str
    opening_id: str
    allowed: int

    @property
    def key(self) -> list[str]:
        """Its names in the store: vehicle and opening."""
        return [self.vehicle_id, self.opening_id]


@dataclass(frozen=True)
class CandidatePass:
    """Which of the parts that go in are read of each slot."""

    k: int
    """Number of better ones that exclude a candidate."""
    known_delivery: bool = False
    """If a job has a last day of delivery: whether parts of which delivery is not known are left out too."""
    hoping: bool = False
    """Whether nothing is lost for what is not known, and only what something sure always beats is left out."""
