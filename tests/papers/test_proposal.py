"""The proposal: a page to sign, every number the answer's and with tax, nothing promised that was not checked."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from catalog_schema.answers import Conflict, StepGain
from matcher.papers.columns import columns
from matcher.papers.days import ready
from matcher.papers.dossier import Dossier
from matcher.papers.gains import gained_and_lost
from matcher.papers.limits import is_sold
from matcher.papers.model import Card, Cards, Document, Section, Table
from matcher.papers.paper import document, make
from matcher.papers.today import sound_today
from matcher.papers.words import Words
from matcher.papers.writer import Writer
from matcher.settings import Settings
from matcher.store.documents.saving import save_job
from tests.factories import Bench, plain
from tests.papers.conftest import amounts, told
from tests.papers.town import the_job

TAX = Decimal("1.19")


def within(total: Decimal) -> Decimal:
    """The tax in an amount."""
    return (total - total / TAX).quantize(Decimal("0.01"))


def cards(paper: Document) -> tuple[Card, ...]:
    return next(block for block in paper.blocks if isinstance(block, Cards)).cards


def parts_table(paper: Document) -> dict[str, tuple[str, ...]]:
    section = next(block for block in paper.blocks if isinstance(block, Section) and block.new_page)
    table = next(block for block in section.blocks if isinstance(block, Table))
    return {row[0]: row[1:] for row in table.rows}


def test_the_first_page_is_enough_to_sign_and_a_second_has_the_rest(
    dossier: Dossier, poppler: Callable[..., bytes]
) -> None:
    pages = poppler("pdftotext", make(dossier, "proposal", "pdf").data, "-layout", "-", "-").decode().split("\f")
    assert len(pages) == 3 and pages[2] == ""
    assert "Name and signature" in pages[0] and "Parts and prices" in pages[1]


def test_packages_stand_side_by_side_from_the_cheapest_on(dossier: Dossier) -> None:
    offered = dossier.offered
    assert [column.letter for column in offered] == ["A", "B", "C"][: len(offered)]
    assert 2 <= len(offered) <= 3
    totals = [column.package.price.total for column in offered]
    assert totals == sorted(totals)
    assert [amounts(card.total)[0] for card in cards(document(dossier, "proposal"))] == totals


@pytest.mark.parametrize(
    ("louder_db", "offered"),
    [("0.5", 1), ("1.99", 1), ("2", 2), ("6", 2)],
)
def test_a_package_that_nobody_tells_from_another_is_not_offered(
    dossier: Dossier, louder_db: str, offered: int
) -> None:
    first = dossier.options.packages[0]
    speaker = next(line for line in first.lines if line.slot == "speaker" and line.level_db is not None)
    assert speaker.level_db is not None
    louder = replace(speaker, level_db=speaker.level_db + Decimal(louder_db), part_id="other")
    lines = [louder if line is speaker else line for line in first.lines]
    other = replace(first, id="other", lines=lines, price=replace(first.price, total=first.price.total + 1))
    options = replace(dossier.options, packages=[first, other], tiers=[])
    assert len(columns(options, {})) == offered


def test_a_dearer_package_that_has_nothing_over_a_cheaper_one_is_not_offered(dossier: Dossier) -> None:
    first = dossier.options.packages[0]
    speaker = next(line for line in first.lines if line.slot == "speaker" and line.level_db is not None)
    assert speaker.level_db is not None
    quieter = replace(speaker, level_db=speaker.level_db - 6)
    lines = [quieter if line is speaker else line for line in first.lines]
    for by, offered in ((Decimal(100), 1), (Decimal(-100), 2)):
        price = replace(first.price, total=first.price.total + by)
        other = replace(first, id="other", lines=lines, price=price)
        options = replace(dossier.options, packages=[first, other], tiers=[])
        assert len(columns(options, {})) == offered


def test_letters_stay_after_a_choice_and_the_chosen_one_is_ticked(bench: Bench, dossier: Dossier) -> None:
    save_job(bench.con, json.dumps(the_job(job_id="fixed"), default=plain), "test")
    bench.choices.choose("fixed", 1, by="Ida")
    fixed = bench.papers.dossier("fixed")
    assert [(one.letter, one.package.id) for one in fixed.offered] == [
        (one.letter, one.package.id) for one in dossier.offered
    ]
    ticked = [card.ticked for card in cards(document(fixed, "proposal"))]
    assert ticked == [one.package.id == fixed.options.packages[0].id for one in fixed.offered]


def test_a_choice_that_is_not_on_offer_comes_last(dossier: Dossier) -> None:
    first = dossier.options.packages[0]
    chosen = replace(first, id="older", price=replace(first.price, total=Decimal(1)))
    letters = [(one.letter, one.package.id) for one in columns(dossier.options, dossier.further, chosen)]
    assert letters[:-1] == [(one.letter, one.package.id) for one in dossier.offered]
    assert letters[-1][1] == "older"


def test_a_package_beyond_a_limit_says_which(dossier: Dossier) -> None:
    for column, card in zip(dossier.offered, cards(document(dossier, "proposal")), strict=True):
        assert ("over the amount you named" in card.under) == (column.lifted == "budget")
        assert ("without the bass" in card.under) == (column.lifted == "choose.bass")


def test_every_amount_is_with_tax_and_they_add_up(dossier: Dossier) -> None:
    rows = parts_table(document(dossier, "proposal"))
    for place, column in enumerate(dossier.offered):
        shown = {name: amounts(cells[place])[0] for name, cells in rows.items() if amounts(cells[place])}
        assert shown["Total"] == column.package.price.total
        assert shown["Parts"] + shown["Installation parts"] + shown["Labor"] == shown["Total"]
        assert shown["Parts"] == column.package.price.parts
        assert shown["Tax included, 19 %"] == within(column.package.price.total)


def test_without_tax_there_is_no_line_for_it(dossier: Dossier) -> None:
    bare = replace(dossier, settings=Settings({}, {"currency": "EUR"}))
    rows = parts_table(document(bare, "proposal"))
    assert not [name for name in rows if "tax" in name]
    assert amounts(rows["Total"][0]) == [dossier.offered[0].package.price.total]


def test_every_amount_is_one_of_the_answers(dossier: Dossier) -> None:
    offered = dossier.offered
    budget = Decimal(dossier.job["limits"]["budget"])
    known = {budget, *(tier.budget for tier in dossier.options.tiers if tier.budget is not None)}
    for column in offered:
        price = column.package.price
        known |= {price.parts, price.kit, price.labour, price.total, within(price.total), price.total - budget}
        known |= {abs(one.price) for one in column.package.tradeoffs if one.price is not None}
    shown = amounts(told(document(dossier, "proposal")))
    assert len(shown) > 10
    assert [amount for amount in shown if amount not in known] == []


def test_no_name_of_the_inside_stands_on_it(dossier: Dossier) -> None:
    paper = document(dossier, "proposal")
    shown = told(replace(paper, footer=""))
    inside = [name for name in ("bolt_on", "opening.", "_mm", "made_board", "j1", "rank") if name in shown]
    assert inside == [] and paper.footer == "Job j1"


@pytest.mark.parametrize(("lows", "marks"), [((150, 90), 1), ((150, None), 0), ((None,), 0), ((), 0)])
def test_bars_mark_the_bass_of_factory_loudspeakers_if_all_are_known(
    dossier: Dossier, lows: tuple[int | None, ...], marks: int
) -> None:
    known = [{"opening_id": str(low), "kind": "speaker", "original_low_hz": low} for low in lows]
    asked = replace(dossier, vehicle={**dossier.vehicle, "openings": known})
    bars = cards(document(asked, "proposal"))[0].bars
    assert len([bar for bar in bars if bar.today is not None]) == marks


@pytest.mark.parametrize(
    ("changes", "loud"),
    [
        ({}, 97.79),  # 12 W at 4 ohm are 6 W at 8: 87 dB + 7.78 dB, and 3.01 dB for two
        ({"original_rms_w": Decimal(3)}, 94.78),
        ({"count": 1}, 94.78),
        # 1 L at 30 Hz gives 107.6 dB (Small 1972); 50 cm2 by 1 mm at 160 Hz 46.02 dB less and 29.08 dB more
        ({"original_xmax_mm": Decimal(1)}, 93.67),
        ({"original_xmax_mm": None}, None),
        ({"original_sens_db": None}, None),
        ({"factory_ohm": None}, None),
    ],
)
def test_the_loudness_of_today_needs_every_figure(changes: dict[str, Any], loud: float | None) -> None:
    speaker = {"kind": "speaker", "count": 2, "factory_ohm": Decimal(8), "original_sens_db": Decimal(87)}
    speaker |= {"original_sens_basis": "1w", "original_rms_w": Decimal(8), "original_low_hz": Decimal(160)}
    speaker |= {"original_sd_cm2": Decimal(50), "original_xmax_mm": Decimal(2)}
    car = {"openings": [{"kind": "dash", "original_amp_w": Decimal(12)}, speaker | changes]}
    assert sound_today(car).get("loud") == (loud and pytest.approx(loud, abs=0.01))
    assert "loud" not in sound_today({"openings": car["openings"][1:]}), "without the radio's power"


def test_what_is_open_is_named_and_never_promised(dossier: Dossier) -> None:
    shown = told(document(dossier, "proposal"))
    assert "we measure once more before we order" in shown
    assert "Rear shelf: Distance from the center to what is beside the magnet" in shown
    assert "Tern & Sons <sedan>, rear: Least transmission the local rules allow" in shown


def test_nothing_cut_is_said_only_where_it_is_true(dossier: Dossier) -> None:
    assert all(column.package.reversible for column in dossier.offered)
    shown = told(document(dossier, "proposal"))
    assert "Nothing is cut or drilled, and everything goes back" in shown
    first = replace(dossier.options.packages[0], reversible=False)
    lost = replace(dossier, package=first, options=replace(dossier.options, packages=[first], tiers=[]), further={})
    assert "not all of them can be undone" in told(document(lost, "proposal"))


def test_what_the_limits_leave_out_says_what_it_would_take(dossier: Dossier) -> None:
    assert dossier.package is not None
    (given_up,) = [one for one in dossier.package.tradeoffs if one.opening_id == "door"]
    assert given_up.gains_db is not None and given_up.price is not None
    shown = told(document(dossier, "proposal"))
    assert f"{given_up.gains_db:.3g}" == "10.2" and "(by 10 dB)" in shown
    assert "metal may be cut; opening cut to 165 × 165 mm, sheet steel" in shown


def gain(criterion: str, before: int | None, after: int | str, unit: str) -> StepGain:
    was = None if before is None else Decimal(before)
    return StepGain(criterion=criterion, where="door", before=was, after=Decimal(after), unit=unit)


CHANGES = {
    "louder": (gain("level_db", 90, 94, "dB"), ["Front doors: a little louder (by 4 dB)"], []),
    "quieter is a loss": (gain("level_db", 94, 88, "dB"), [], ["Front doors: clearly quieter (by 6 dB)"]),
    "hardly quieter is neither": (gain("level_db", 94, "92.2", "dB"), [], []),
    "deeper": (gain("low_hz", 100, 70, "Hz"), ["Front doors: deeper notes (by 30 Hz)"], []),
    "less deep": (gain("low_hz", 70, 100, "Hz"), [], ["Front doors: reaches less deep (by 30 Hz)"]),
    "unknown": (gain("level_db", None, 100, "dB"), [], []),
}


@pytest.mark.parametrize(("change", "gained", "lost"), CHANGES.values(), ids=CHANGES)
def test_gains_stand_apart_from_losses(dossier: Dossier, change: StepGain, gained: list[str], lost: list[str]) -> None:
    found = gained_and_lost(Writer(dossier, Words()), [change])
    assert [[text.replace("\u00a0", " ") for text in texts] for texts in found] == [gained, lost]


@pytest.mark.parametrize(
    ("limit", "sold"),
    [
        ("budget", True),
        ("per_opening.door", True),
        ("security_routes", False),
        ("security_routes.tow", False),
        ("choose.security", False),
        ("keep_clear.hazard switch", False),
    ],
)
def test_nothing_that_keeps_car_or_people_safe_is_offered_away(limit: str, sold: bool) -> None:
    assert is_sold(limit) == sold


READY = {
    "all on the shelf": ({"stock": 5}, 8, (date(2026, 3, 5), True)),
    "more hours than a day": ({"stock": 5}, 9, (date(2026, 3, 6), True)),
    "over a weekend": ({"stock": 0, "lead_days": 2}, 8, (date(2026, 3, 9), True)),
    "lead time not known": ({"stock": 0}, 8, (date(2026, 3, 5), False)),
}


@pytest.mark.parametrize(("figures", "hours", "day"), READY.values(), ids=READY)
def test_the_day_it_is_ready(dossier: Dossier, figures: dict[str, int], hours: int, day: object) -> None:
    package = dossier.options.packages[0]
    price = replace(package.price, labour=hours * Decimal("46.50") * TAX, labour_open=[])
    asked = replace(dossier, parts={"x": figures})  # the paper's day is a Wednesday
    assert ready(asked, replace(package, price=price), [("x", 1)]) == day


def nothing(dossier: Dossier) -> Dossier:
    """The same dossier with limits that nothing meets."""
    conflict = Conflict(
        limits=["budget of 1", "bass wanted"], says="these requirements conflict: budget of 1; bass wanted"
    )
    return replace(dossier, package=None, options=replace(dossier.options, packages=[], tiers=[], conflicts=[conflict]))


def test_where_nothing_meets_the_limits_it_says_what_stands_in_the_way(dossier: Dossier) -> None:
    shown = told(document(nothing(dossier), "proposal"))
    assert "No package meets all your wishes" in shown
    assert shown.index("Wishes that exclude each other") < shown.index("budget of 1 + bass")


def test_where_nothing_meets_the_limits_it_says_what_would_help(bench: Bench, dossier: Dossier) -> None:
    tight = the_job(job_id="tight", limits={"alteration": "bolt_in", "budget": 1200, "must": ["bluetooth"]})
    save_job(bench.con, json.dumps(tight, default=plain), "test")
    why = bench.why("tight")
    assert why.best is None and why.relaxations
    shown = told(document(replace(nothing(dossier), why=why), "proposal"))
    assert shown.index("What would help") > 0
    told_of = sorted(why.relaxations, key=lambda one: (len(one.changes), one.package.price.total))[:3]
    assert [one for one in told_of if one.package.price.total not in amounts(shown)] == []


def test_each_limit_that_buys_something_is_told_with_its_price(bench: Bench, dossier: Dossier) -> None:
    limits = bench.limits("j1")
    writer = Writer(dossier, Words())
    sold = [
        one.difference
        for one in limits.limits
        if one.costs and one.difference and is_sold(one.limit) and gained_and_lost(writer, one.difference.gains)[0]
    ]
    assert sold != []
    shown = told(document(replace(dossier, limits=limits), "proposal"))
    assert "Price of each limit" in shown and "Price of each limit" not in told(document(dossier, "proposal"))
    prices = amounts(shown[shown.index("Price of each limit") :])
    assert [one.price for one in sold if abs(one.price) not in prices] == []
    assert "hardly" not in shown
