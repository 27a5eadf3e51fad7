"""Places: an opening, its family and allowed step; and passes: the number of candidates considered."""

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
"""An amplifier sits on a board or bracket of its own, a box is held by straps or clamps: nothing is lost."""


def is_allowed(step: Any, allowed: int) -> Any:
    """Return whether steps of the alteration ladder are within the allowed one."""
    return _allowed_steps(allowed)[np.minimum(step, len(LADDER))]


@cache
def _allowed_steps(allowed: int) -> Any:
    """By step of the ladder, plus one for no step at all."""
    steps = columns_of("way", [{"step": step} for step in range(len(LADDER) + 1)])
    return codes(ALLOWED, Evaluation(steps | columns_of("asked", [{"step": allowed}]), DEFAULT_SETTINGS)) != NO


@dataclass(frozen=True, slots=True)
class Place:
    """One opening, its family, and the allowed step."""

    kind: str
    family: str
    vehicle_id: str
    opening_id: str
    allowed: int

    @property
    def key(self) -> list[str]:
        """Key in the store: vehicle and opening."""
        return [self.vehicle_id, self.opening_id]


@dataclass(frozen=True)
class CandidatePass:
    """Candidates to consider for each slot."""

    k: int
    """Number of better ones that exclude a candidate."""
    known_delivery: bool = False
    """If a job has a delivery date: whether parts with unknown delivery are excluded too."""
    hoping: bool = False
    """Whether open figures cost nothing, and only parts dominated by certain ones are dropped."""
