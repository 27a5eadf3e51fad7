"""The bench that every rule is asked on: one store for all, its parts and vehicle replaced each time."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.factories import Bench


@pytest.fixture(scope="session")
def bench() -> Iterator[Bench]:
    """A store in memory."""
    made = Bench()
    yield made
    made.con.close()
