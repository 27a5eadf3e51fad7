"""Whether what a rule refuses is left out of a search."""

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
    """Within it a search goes on where a rule says no: to put a package together again that was chosen once."""
    token = _nothing_refused.set(True)
    try:
        yield
    finally:
        _nothing_refused.reset(token)


def refuses() -> bool:
    """Whether what a rule refuses is left out of the search."""
    return not _nothing_refused.get()


def refused_or_not(codes: Any) -> Any:
    """Verdict codes; if nothing is refused, at worst to be measured."""
    return codes if refuses() else np.maximum(codes, STOPS)
