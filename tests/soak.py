"""Random cases by the dozen: the first few are tried on every run, the others in a soak (`pytest -m soak`)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest


def first(few: int, cases: Iterable[Any]) -> list[Any]:
    """Some cases for `parametrize`, of which all but the first few are left to a soak."""
    return [case if at < few else pytest.param(case, marks=pytest.mark.soak) for at, case in enumerate(cases)]
