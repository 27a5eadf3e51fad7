"""The store that every town is laid in, one after another."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.search.shops import Store


@pytest.fixture(scope="session")
def store() -> Iterator[Store]:
    """A store in memory."""
    made = Store()
    yield made
    made.con.close()
