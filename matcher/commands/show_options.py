"""A job's options on the terminal, one screen: the verdict, the tiers, the best package, how the others differ."""

from __future__ import annotations

from catalog_schema.answers import Check, Line, Options, Package, PartsAt, SlotCount
from matcher.answers.messages import (
    OWNED,
    VERDICT_WORDS,
    amount,
    covered_says,
    hearing_says,
    packages_say,
    paid_in,
    tradeoff_says,
)
from matcher.answers.messages_bass import bass_says
from matcher.answers.messages_kit import kit_in_short, kit_says
from matcher.answers.messages_measure import entry_says
from matcher.commands.base import print_item, print_table, print_text
from matcher.store.readings.subjects import split_figure

CAUTIONS = 3
"""Number of cautions printed without `--full`; those of this car and job come first."""
REASONS, ALL_REASONS = 3, 20
"""Number of reasons printed for a slot without and with `--full`."""


def show_options(answer: Options, *, full: bool = False) -> None:
    """Print the options of a job, or which of its requirements conflict.

    Parameters
    ----------
    full
        Also print points by criterion, tightest checks, how each step is undone, and every caution.
    """
    print_text(packages_say(answer))
    print_item(covered_says(answer), "")
    if answer.packages:
        _show_tiers(answer)
        _show_package(answer.packages[0], full=full)
        _show_others(answer.packages[1:])
        _show_alternatives(answer.alternatives)
    else:
        for conflict in answer.conflicts:
            print_item(f"- {conflict.says}")
        show_slots(answer.slots, ALL_REASONS if full else REASONS)
    _show_cautions(answer.cautions, full=full)
    if answer.packages and not full:
        print(f"\nChecks, points and undoing: boltback options {answer.job_id} --full")


def show_slots(slots: list[SlotCount], most: int = REASONS) -> None:
    """Print how many parts fit in each place, and why the others do not."""
    for slot in slots:
        place = f" at {slot.opening_id}" if slot.opening_id else ""
        print(f"\n{slot.slot}{place}: {slot.fits} fit, {slot.measure} to measure, {slot.no} do not")
        for reason in slot.reasons[:most]:
            print_item(reason)


def _show_tiers(answer: Options) -> None:
    ranks = {package.id: str(package.rank) for package in answer.packages}
    rows, below = [], ""
    for tier in answer.tiers:
        package = tier.package
        if package is None or package.id == below:
            rows.append([tier.name, "", "", "", tier.says])
        else:
            named = ranks.get(package.id, package.id)
            rows.append([tier.name, named, _total(package), str(package.score), tier.says])
            below = package.id
    if rows:
        print()
        heads = ["tier", "package", "total", "points", "what the step buys"]
        print_table(heads, rows, right=frozenset({2, 3}))


def _show_package(package: Package, *, full: bool) -> None:
    goes_back = "everything can be put back" if package.reversible else "not everything can be put back"
    print()
    print_text(f"Package {package.rank} ({package.id}): {VERDICT_WORDS[package.verdict]}, {goes_back}")
    rows = [
        [
            line.opening_id or line.slot,
            _part(line),
            f"{line.label}, {OWNED}" if line.is_owned else line.label,
            f"{line.pieces} in {line.qty} pk" if line.qty not in (0, line.pieces) else str(line.pieces),
            _price(line),
            line.alteration,
        ]
        for line in package.lines
    ]
    if package.kit:
        rows.append(["", "", kit_in_short(package.kit), "", f"{package.price.kit:.2f}", ""])
    heads = ["where", "part", "maker and model", "pieces", "price", "alteration"]
    print_table(
        heads,
        [*rows, ["", "", f"total, {_paid_in(package)}", "", _total(package), package.alteration]],
        right=frozenset({3, 4}),
    )
    for item in package.kit:
        if full or not item.priced:
            print_item(f"kit: {kit_says(item)}")
    for note in package.notes:
        print_item(f"note: {note}")
    for link in package.links:
        feeds = f"{link.from_} feeds {', '.join(link.to)}: {link.channels}"
        print_item(f"{feeds}; {amount(link.load_ohm, 'ohm')}, {amount(link.power_w, 'W')} each")
    for line in (one.says for one in package.filters if one.says):
        print_item(line)
    if package.bass is not None:
        for sentence in (bass_says(package.bass), *package.bass.notes):
            print_item(sentence)
    for claim in package.claims:
        print_item(f"claim: {claim.says}")
    if package.measure:
        print("  measure first, and enter each:")
    for name in package.measure:
        print_item(entry_says(*split_figure(name)), "    ")
    for tradeoff in package.tradeoffs:
        print_item(tradeoff_says(tradeoff))
    if full:
        _show_background(package)


def _show_background(package: Package) -> None:
    """Print points, hearing, tightest checks, and how each step is undone."""
    print_item("points: " + ", ".join(f"{name} {points}" for name, points in package.criteria.items()))
    if package.hearing is not None:
        print_item(hearing_says(package.hearing))
    for check in _tightest(package):
        print_item(f"tightest: {check.rule} at {check.says}")
    print("  to put it back:")
    for step in package.undo:
        print_item(f"- {step.step}: {step.undo}{f'; keep {step.keeps}' if step.keeps else ''}", "    ")


def _show_others(packages: list[Package]) -> None:
    """Print the further packages by their differences from the best."""
    if packages:
        print("\nOther packages, best first: as package 1, but")
        rows = [
            [
                f"{package.rank}",
                package.id,
                VERDICT_WORDS[package.verdict].lower(),
                str(package.score),
                _total(package),
                "\n".join(f"{line.opening_id or line.slot}: {_part(line)} {line.label}" for line in package.differs),
            ]
            for package in packages
        ]
        print_table(["", "id", "verdict", "points", "total", "has"], rows, right=frozenset({0, 3, 4}))


def _show_alternatives(places: list[PartsAt]) -> None:
    """Print the best parts for each opening, with the price and points of the best package with each of them."""
    if places:
        print("\nBest parts for each opening, and the best package with each (--pin OPENING=PART chooses one)")
        rows = [
            [at.opening_id, _part(line), line.label, f"{one.price.total:.2f}", str(one.score)]
            for at in places
            for one in at.best
            for line in one.lines
        ]
        print_table(["opening", "part", "maker and model", "total", "points"], rows, right=frozenset({3, 4}))


def _show_cautions(cautions: list[str], *, full: bool) -> None:
    shown = cautions if full else cautions[:CAUTIONS]
    print("\nCautions")
    for caution in shown:
        print_item(f"- {caution}")
    if more := len(cautions) - len(shown):
        print_item(f"- and {more} more: --full lists them, and every paper carries those that concern it")


def _price(line: Line) -> str:
    """Format the price of a line; open if the shop makes the part and has not priced it."""
    is_open = line.part_id is None and line.slot in ("board", "enclosure") and not line.price
    return "open" if is_open else f"{line.price:.2f}"


def _part(line: Line) -> str:
    return f"{line.part_id or '-'}{f' + {line.adapter_id}' if line.adapter_id else ''}"


def _paid_in(package: Package) -> str:
    return paid_in(package.price.currency, package.price.tax_pct)


def _total(package: Package) -> str:
    price = package.price
    return f"{'from ' if price.from_ else ''}{price.total:.2f}{'+' if price.labour_open else ''}"


def _tightest(package: Package) -> list[Check]:
    """Return the three checks in millimeters with the least margin over their tolerance."""
    known = [
        (check.margin - check.tol, check) for check in package.checks if check.unit == "mm" and check.margin is not None
    ]
    return [check for _, check in sorted(known, key=lambda pair: pair[0])[:3]]
