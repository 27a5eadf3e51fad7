"""The bench on which film, security, supply and holding are asked."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.factories import Bench


@pytest.fixture(scope="module")
def bench() -> Iterator[Bench]:
    """A store in memory, one for each file: what its tests lay into it stays among them."""
    made = Bench()
    yield made
    made.con.close()
