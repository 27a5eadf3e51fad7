"""Schedule of the garbage collector: everything imported and built at the start is exempt from it."""

from __future__ import annotations

import gc


def collect_rarely() -> None:
    """From now on look for garbage only once there may be much of it."""
    gc.set_threshold(100_000, 50, 50)
