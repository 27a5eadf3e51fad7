"""Whether a search excludes refused candidates."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

import numpy as np

from matcher.rules.rule import STOPS

_nothing_refused = ContextVar("nothing refused", default=False)


@contextmanager
def nothing_refused() -> Iterator[None]:
    """Context in which a search includes refused candidates, to rebuild an earlier package."""
    token = _nothing_refused.set(True)
    try:
        yield
    finally:
        _nothing_refused.reset(token)


def refuses() -> bool:
    """Return whether the search excludes refused candidates."""
    return not _nothing_refused.get()


def refused_or_not(codes: Any) -> Any:
    """Return verdict codes; if nothing is excluded, refusals count as open."""
    return codes if refuses() else np.maximum(codes, STOPS)
