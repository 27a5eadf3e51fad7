"""A rule that is told is the rule that decides: the search has evaluated its declaration itself."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import data_demo
from matcher.answers.packages import Describer
from matcher.kernel import verdicts
from matcher.kernel.sums import most_of
from matcher.rules.rule import Rule, every_rule
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import channel_code
from matcher.search.fits import place
from matcher.search.options import rank
from matcher.shop.base import shop_settings
from matcher.store.database.kept_documents import stored_job
from tests.factories import demo_shop

NOT_ASKED = {
    *("limit.delivery", "control.width", "control.height", "control.depth"),
    *("amplifier.pair_along", "amplifier.load_original"),
}
"""Of the demo's jobs none has a last day, a level control at a spot, two amplifiers in depth, or feeds originals."""
AFTERWARDS = {"filter.subsonic"}
"""Told of a package that stands: it decides nothing."""


@pytest.fixture
def evaluated(monkeypatch: pytest.MonkeyPatch) -> Iterator[set[str]]:
    names: set[str] = set()

    def noted(asked: Any) -> Any:
        def note(rule: Rule, *rest: Any, **more: Any) -> Any:
            names.add(rule.name)
            return asked(rule, *rest, **more)

        return note

    channel_code.cache_clear()
    place._allowed_steps.cache_clear()
    searching = [one for name, one in sys.modules.items() if name.startswith("matcher.search")]
    for asked in (verdicts.codes, most_of):
        spy = noted(asked)
        for module in (verdicts, *searching):
            if getattr(module, asked.__name__, None) is asked:
                monkeypatch.setattr(module, asked.__name__, spy)
    yield names


def test_every_rule_is_evaluated_by_the_search_and_so_is_whatever_is_told(evaluated: set[str], tmp_path: Path) -> None:
    shop, told = demo_shop(tmp_path / "shop.duckdb"), set[str]()
    with shop.store.reading() as con:
        catalog = Catalog(con, shop_settings(con))
        for path in data_demo.jobs():
            ranked = rank(catalog, stored_job(con, path.stem), 3)
            describer = Describer(catalog, ranked.question)
            told |= {check.rule for found in ranked.listed for check in describer.checks(found)}
            assert told <= evaluated
    assert {rule.name for rule in every_rule()} - evaluated <= NOT_ASKED | AFTERWARDS
