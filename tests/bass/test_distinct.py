"""Packages of different main goods: the first of each choice of goods in the total order, however it is found."""

from __future__ import annotations

import pytest

from matcher.search import distinct
from matcher.search.distinct import goods_of, list_distinct
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.ranking import packages_of
from tests.bass.towns import EVERYTHING, gather, lay_job, lay_town
from tests.factories import Bench


@pytest.mark.parametrize("looked", [1, 200], ids=["by goods", "one by one"])
@pytest.mark.parametrize("seed", [2, 12])
def test_lists_the_first_package_of_each_choice_of_goods(
    bench: Bench, seed: int, looked: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(distinct, "LOOKED", looked)
    lay_town(bench, seed, 2)
    job = lay_job(bench, 100 * seed + 2)
    field = gather(bench, job, EVERYTHING)
    limits = sum_limits(field.question, job.limits.budget)
    first: dict[object, Found] = {}
    for found in packages_of(field, limits):
        first.setdefault(goods_of(found), found)
    told = list_distinct(field, limits, 10)
    assert [one.found.order for one in told.packages] == [found.order for found in first.values()][:10]
    assert told.missed is None
    for one in told.packages:
        assert all(goods_of(other) == goods_of(one.found) for other in one.alternatives)
        assert all(other.order > one.found.order for other in one.alternatives)
