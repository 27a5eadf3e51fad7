"""What a customer pays: list prices by their supplier's terms, the shop's own work, tax; budgets hold the tax."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from matcher.errors import InputError
from matcher.search.catalog.parts import charged
from matcher.store.catalog.supplier_terms import SupplierTerms, give_terms
from tests.factories import amp_spot, dash_opening, head_unit, job, speaker, speaker_opening
from tests.search.shops import Settled, Store

FEEDS = {"amp_channels": 4, "amp_w": 40, "amp_min_ohm": 4, "standby_ma": 1}


def town(store: Store, tax_pct: int = 20, **terms: Any) -> Settled:
    """A head unit at 100 of one supplier and loudspeakers at 50 of another; an hour of fitting at 40."""
    parts = [head_unit(**FEEDS, price=100, labour_h=1), speaker(price=50, labour_h=0)]
    settled = store.lay_town(parts, [dash_opening(), speaker_opening(), amp_spot()], labour_rate=40)
    store.set("tax_pct", tax_pct)
    store.set("currency", "EUR")
    store.con.execute("update speaker_rows set supplier = 'Skarv list'")
    if terms:
        give_terms(store.con, "Skarv list", terms, store.settings())
    return settled


@pytest.mark.parametrize(
    ("tax_pct", "terms", "parts", "labour"),
    [
        (0, {}, "200", "40"),  # 100, two loudspeakers at 50
        (20, {}, "240", "48"),
        (20, {"with_tax": True}, "220", "48"),
        (0, {"price_is": "cost", "markup_pct": "50"}, "250", "40"),
        (20, {"price_is": "cost", "markup_pct": "50"}, "300", "48"),
        (20, {"price_is": "retail", "markup_pct": "50"}, "240", "48"),  # what is sold at its list price has no markup
        (0, {"currency": "SEK", "rate": "0.1"}, "110", "40"),
    ],
)
def test_what_a_package_costs(store: Store, tax_pct: int, terms: dict[str, Any], parts: str, labour: str) -> None:
    town(store, tax_pct, **terms).job(job())
    price = store.options("j1").packages[0].price
    assert (price.parts, price.labour, price.total) == (
        Decimal(parts),
        Decimal(labour),
        Decimal(parts) + Decimal(labour),
    )
    assert (price.currency, price.tax_pct) == ("EUR", tax_pct)


@pytest.mark.parametrize(
    ("limits", "found"),
    [
        ({"budget": 288}, True),  # exactly what the customer pays
        ({"budget": "287.99"}, False),
    ],
)
def test_a_budget_is_what_the_customer_pays(store: Store, limits: dict[str, Any], found: bool) -> None:
    town(store).job(job(limits=limits))
    assert bool(store.options("j1").packages) == found
    assert bool(store.options("j1", terms={"budget": "240", "tax": "excluded"}).packages)
    assert not store.options("j1", terms={"budget": "239.99", "tax": "excluded"}).packages


def test_tiers_of_a_job_without_tax_hold_it_in_the_answer(store: Store) -> None:
    town(store).job(job(tiers=[240], tax="excluded"))
    (tier,) = store.options("j1").tiers
    assert (tier.budget, tier.package is not None) == (288, True)


@pytest.mark.parametrize(
    ("price", "factor", "paid"),
    [("10.05", "1.19", "11.96"), ("0.01", "1.5", "0.02"), ("999999999.99", "1", "999999999.99")],
)
def test_each_price_is_charged_to_the_cent(price: str, factor: str, paid: str) -> None:
    values = np.array([int(Decimal(price) * 10**6)])
    assert charged(values, np.array(int(Decimal(factor) * 10**6))).tolist() == [int(Decimal(paid) * 10**6)]


@pytest.mark.parametrize(
    ("terms", "word"),
    [
        ({"price_is": "list"}, "expected cost or retail"),
        ({"markup_pct": "much"}, "markup_pct: found 'much'"),
        ({"markup_pct": "-5"}, "0 or more"),
        ({"currency": "SEK"}, "say what 1 SEK is in EUR"),
        ({"rate": "100"}, "times itself"),
    ],
)
def test_terms_that_cannot_be_are_refused_and_nothing_is_kept(store: Store, terms: dict[str, Any], word: str) -> None:
    town(store)
    with pytest.raises(InputError) as refused:
        give_terms(store.con, "Skarv list", terms, store.settings())
    assert word in str(refused.value)
    assert {one.name: one.terms for one in store.catalog.suppliers()}["Skarv list"] == SupplierTerms()


def test_terms_of_one_supplier_leave_the_others_and_follow_a_new_name(store: Store) -> None:
    town(store, price_is="cost", markup_pct="25")
    store.catalog.set_supplier("Skarv list", rename="Skarv")
    terms = {one.name: one.terms for one in store.catalog.suppliers()}
    assert terms["Skarv"] == SupplierTerms("cost", Decimal(25))
    assert terms[""] == SupplierTerms()
