"""How often a process looks for what is no longer needed: what it imports and builds is no garbage."""

from __future__ import annotations

import gc


def collect_rarely() -> None:
    """From now on look for garbage only once there may be much of it."""
    gc.set_threshold(100_000, 50, 50)
