"""Parts and cars made to fool the ranking, each with the result that must come out."""

from __future__ import annotations

import pytest

from tests.probes.every import SUBJECTS
from tests.probes.probe import Probe
from tests.search.shops import Store


@pytest.fixture(scope="module")
def store() -> Store:
    return Store()


@pytest.mark.parametrize("probe", [one for some in SUBJECTS.values() for one in some], ids=lambda one: one.name)
def test_probe_does_not_fool_the_ranking(store: Store, probe: Probe) -> None:
    probe.check(store)
