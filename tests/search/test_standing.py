"""A package that was chosen is put together again as it was, in every random town."""

from __future__ import annotations

from random import Random

import pytest

from catalog_schema.jobs import LADDER
from matcher.answers.options import answer_options
from matcher.jobs.changes import changes_since
from matcher.jobs.choices import choose_package
from matcher.search.catalog.catalog import Catalog
from tests.search.shops import Store, drawn_job
from tests.soak import first


@pytest.mark.parametrize("seed", first(1, [4, 6, 16]))
def test_where_nothing_changed_a_choice_is_the_package_that_it_was(store: Store, seed: int) -> None:
    """Its links and nets, its prices, every check with its figures: put together of its own parts alone."""
    settled = store.settle(seed)
    job = settled.job(drawn_job(Random(seed), [*LADDER]))
    answer = answer_options(Catalog(store.con, settled.settings), job, 2, 0)
    assert answer.packages
    for package in answer.packages:
        choice = choose_package(store.con, job, answer, package.rank, number=1, at="", by="", note=None, terms={})
        changes = changes_since(store.con, job, choice, settled.settings)
        assert (changes.changes, changes.package) == ([], package)
