"""The bench on which bass is asked."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.factories import Bench


@pytest.fixture(scope="module")
def bench() -> Iterator[Bench]:
    """A store in memory."""
    made = Bench()
    yield made
    made.con.close()
