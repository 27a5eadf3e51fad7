"""The proposal: two pages, every number the answer's, nothing promised that was not checked."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Clash
from matcher.papers.columns import columns
from matcher.papers.dossier import Dossier
from matcher.papers.model import Document, Table
from matcher.papers.paper import document, make
from matcher.settings import Settings
from matcher.store.documents import save_job
from tests.factories import Bench, plain
from tests.papers.conftest import amounts, told
from tests.papers.town import the_job


def table(paper: Document) -> Table:
    return next(block for block in paper.blocks if isinstance(block, Table))


def test_it_has_at_most_two_pages(dossier: Dossier, poppler: Callable[..., bytes]) -> None:
    info = poppler("pdfinfo", make(dossier, "proposal", "pdf").data, "-").decode()
    pages = re.search(r"Pages:\s+(\d+)", info)
    assert pages is not None and int(pages[1]) <= 2


def test_two_to_four_packages_stand_side_by_side(dossier: Dossier) -> None:
    offered = columns(dossier.options)
    assert 2 <= len(offered) <= 4
    assert len(table(document(dossier, "proposal")).heads) == len(offered) + 1
    totals = [column.package.price.total for column in offered]
    assert totals == sorted(totals)


def test_prices_are_the_answers_with_tax_on_top(dossier: Dossier) -> None:
    rows = {row[0]: row[1:] for row in table(document(dossier, "proposal")).rows}
    for place, column in enumerate(columns(dossier.options)):
        price = column.package.price
        shown = [amounts(rows[name][place])[0] for name in ("Parts", "Labor", "Tax, 19 %", "Total")]
        tax = (price.total * 19 / 100).quantize(Decimal("0.01"))
        assert shown == [price.parts, price.labour, tax, price.total + tax]


def test_without_tax_there_is_no_line_for_it(dossier: Dossier) -> None:
    bare = replace(dossier, settings=Settings({}, {"currency": "EUR"}))
    rows = {row[0]: row[1:] for row in table(document(bare, "proposal")).rows}
    assert not [name for name in rows if name.startswith("Tax")]
    assert amounts(rows["Total"][0]) == [columns(dossier.options)[0].package.price.total]


def test_every_amount_is_one_of_the_answers(dossier: Dossier) -> None:
    offered = columns(dossier.options)
    known = {dossier.job["limits"]["budget"], *(tier.budget for tier in dossier.options.tiers)}
    for column in offered:
        price = column.package.price
        known |= {price.parts, price.labour, price.total}
        known |= {(price.total * rate).quantize(Decimal("0.01")) for rate in (Decimal("0.19"), Decimal("1.19"))}
        known |= {abs(one.price) for one in column.package.tradeoffs if one.price is not None}
        known |= {abs(column.package.price.total - other.package.price.total) for other in offered}
    shown = amounts(told(document(dossier, "proposal")))
    assert len(shown) > 10
    assert [amount for amount in shown if amount not in known] == []


def test_what_is_open_is_named_and_never_promised(dossier: Dossier) -> None:
    shown = told(document(dossier, "proposal"))
    assert "Some figures have to be measured" in shown
    assert "Rear shelf: From the center to the nearest thing beside the magnet" in shown
    assert "Tern & Sons <saloon>, rear: The least the local rules allow" in shown


def test_nothing_cut_is_said_only_where_it_is_true(dossier: Dossier) -> None:
    assert all(column.package.reversible for column in columns(dossier.options))
    shown = told(document(dossier, "proposal"))
    assert "nothing is cut, nothing is drilled" in shown and "Everything can be put back" in shown


def test_what_the_limits_leave_out_says_what_it_would_take(dossier: Dossier) -> None:
    assert dossier.package is not None
    (given_up,) = [one for one in dossier.package.tradeoffs if one.opening_id == "door"]
    assert given_up.gains_db is not None and given_up.price is not None
    shown = told(document(dossier, "proposal"))
    assert f"(by {given_up.gains_db.normalize():f} dB)" in shown
    assert "metal may be cut; opening cut to 165 × 165 mm, sheet steel" in shown


def nothing(dossier: Dossier) -> Dossier:
    """The same dossier with limits that nothing meets."""
    clash = Clash(limits=["budget: 1"], says="these cannot hold together: budget: 1")
    return replace(dossier, package=None, options=replace(dossier.options, packages=[], tiers=[], clash=[clash]))


def test_where_nothing_meets_the_limits_it_says_what_stands_in_the_way(dossier: Dossier) -> None:
    shown = told(document(nothing(dossier), "proposal"))
    assert "Nothing in the catalog meets every one of your limits" in shown
    assert shown.index("What cannot be had together") < shown.index("budget: 1")


def test_where_nothing_meets_the_limits_it_says_what_would_help(bench: Bench, dossier: Dossier) -> None:
    tight = the_job(job_id="tight", limits={"alteration": "bolt_in", "budget": 1200, "must": ["bluetooth"]})
    save_job(bench.con, json.dumps(tight, default=plain), "test")
    why = bench.why("tight")
    assert why.best is None and why.relaxations
    shown = told(document(replace(nothing(dossier), why=why), "proposal"))
    assert shown.index("What would help") > 0
    for one in why.relaxations[:4]:
        assert one.package.price.total in amounts(shown)


def test_each_limit_that_costs_something_is_told_with_its_price(bench: Bench, dossier: Dossier) -> None:
    limits = bench.limits("j1")
    dear = [one for one in limits.limits if one.costs and one.difference is not None]
    assert [one.limit for one in dear] != []
    shown = told(document(replace(dossier, limits=limits), "proposal"))
    assert "What each limit costs" in shown and "What each limit costs" not in told(document(dossier, "proposal"))
    prices = amounts(shown[shown.index("What each limit costs") :])
    assert [one.limit for one in dear if one.difference and abs(one.difference.price) not in prices] == []


def test_limits_that_cost_nothing_are_told_in_a_line(bench: Bench, dossier: Dossier) -> None:
    limits = bench.limits("j1")
    free = replace(limits, limits=[replace(one, costs=False) for one in limits.limits])
    assert "None of your limits costs anything" in told(document(replace(dossier, limits=free), "proposal"))
