"""A job's options on the terminal: tiers first, then packages, each with its reasons."""

from __future__ import annotations

from catalog_schema.answers import Check, Line, Options, Package
from matcher.commands.base import print_item, print_table, say
from matcher.explain.wording import VERDICT_WORDS, amount, covered_says, hearing_says, nothing_says, tradeoff_says
from matcher.explain.wording_bass import bass_says


def show_options(answer: Options) -> None:
    """Tiers side by side, the packages, the best one in full; or why there is none."""
    say(covered_says(answer))
    if answer.packages:
        _show_packages(answer)
        _show_tiers(answer)
        _show_package(answer.packages[0])
    else:
        _show_nothing(answer)
    print("\nCautions")
    for caution in answer.cautions:
        print_item(f"- {caution}")


def _show_packages(answer: Options) -> None:
    print(f"Packages for {answer.job_id}, best first")
    rows = [
        [
            f"{package.rank}\n{package.id}",
            str(package.score),
            VERDICT_WORDS[package.verdict].lower(),
            package.alteration,
            f"{package.price.total:.2f}{'+' if package.price.labour_open else ''}",
            "\n".join(_line_text(line) for line in package.lines),
        ]
        for package in answer.packages
    ]
    print_table(["rank, id", "score", "verdict", "alters", "total", "parts"], rows, right=frozenset({0, 1, 4}))


def _line_text(line: Line) -> str:
    adapter = f" + {line.adapter_id}" if line.adapter_id else ""
    part = f"{line.part_id}{adapter} {line.label}" if line.part_id else line.label
    return f"{line.opening_id or line.slot}: {part}"


def _show_tiers(answer: Options) -> None:
    if not answer.tiers:
        return
    print("\nTiers")
    rows = []
    for tier in answer.tiers:
        package = tier.package
        parts = (
            " / ".join(line.part_id or "original" for line in package.lines) if package else "nothing at this budget"
        )
        total = f"{package.price.total:.2f}" if package else ""
        score = str(package.score) if package else ""
        rows.append([tier.name, total, score, parts, "; ".join(gain.says for gain in tier.gains) or "-"])
    print_table(["tier", "total", "score", "parts", "buys over the tier below"], rows, right=frozenset({1, 2}))


def _show_package(package: Package) -> None:
    print(f"\nPackage {package.rank}: {'can be put back' if package.reversible else 'cannot be wholly put back'}")
    rows = [
        [
            line.opening_id or line.slot,
            line.part_id or "original",
            f"{line.pieces} pc, {line.qty} pk",
            f"{line.price:.2f}",
            line.alteration,
        ]
        for line in package.lines
    ]
    print_table(["where", "part", "quantity", "price", "alters"], rows, right=frozenset({3}))
    for link in package.links:
        feeds = f"{link.from_} feeds {', '.join(link.to)}: {link.channels}"
        print_item(f"{feeds}; {amount(link.load_ohm, 'ohm')}, {amount(link.power_w, 'W')} each")
    if package.bass is not None:
        print_item(bass_says(package.bass))
    print_item("points: " + ", ".join(f"{name} {points}" for name, points in package.criteria.items()))
    if package.hearing is not None:
        print_item(hearing_says(package.hearing))
    for claim in package.claims:
        print_item(f"claim: {claim.says}")
    for check in _tightest(package):
        print_item(f"tightest: {check.rule} at {check.says}")
    for name in package.measure:
        print_item(f"measure first: {name}")
    for tradeoff in package.tradeoffs:
        print_item(tradeoff_says(tradeoff))
    print("  to put it back:")
    for step in package.undo:
        print_item(f"- {step.step}: {step.undo}{f'; keep {step.keeps}' if step.keeps else ''}", "    ")


def _tightest(package: Package) -> list[Check]:
    """The three checks in millimeters with the least margin over their tolerance."""
    known = [
        (check.margin - check.tol, check) for check in package.checks if check.unit == "mm" and check.margin is not None
    ]
    return [check for _, check in sorted(known, key=lambda pair: pair[0])[:3]]


def _show_nothing(answer: Options) -> None:
    print(nothing_says(answer))
    for clash in answer.clash:
        print_item(f"- {clash.says}")
    for slot in answer.slots:
        place = f" at {slot.opening_id}" if slot.opening_id else ""
        print(f"\n{slot.slot}{place}: {slot.fits} fit, {slot.measure} to measure, {slot.no} do not")
        for reason in slot.reasons[:6]:
            print_item(reason)
