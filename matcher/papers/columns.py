"""Which packages stand side by side on a proposal, and what they are called."""

from __future__ import annotations

from dataclasses import dataclass
from string import ascii_uppercase

from catalog_schema.answers import Options, Package, Tier

MOST = 4
"""Columns that a sheet has room for."""


@dataclass(frozen=True, slots=True)
class Column:
    """A package on offer: its letter, and where it is the best at an amount, that tier."""

    letter: str
    package: Package
    tier: Tier | None


def columns(options: Options) -> list[Column]:
    """The best package at each amount, the cheapest first; where only one amount buys any, the next ones beside it.

    A package that differs from one already shown by nothing but an adapter is not shown.
    """
    shown: list[tuple[Package, Tier | None]] = []
    for tier in options.tiers:
        if tier.package is not None and _parts(tier.package) not in [_parts(package) for package, _ in shown]:
            shown.append((tier.package, tier))
    for package in options.packages:
        if len(shown) < 2 and _parts(package) not in [_parts(one) for one, _ in shown]:
            shown.append((package, None))
    shown = sorted(shown[-MOST:], key=lambda pair: pair[0].price.total)
    return [Column(ascii_uppercase[place], *pair) for place, pair in enumerate(shown)]


def bought_nothing(options: Options) -> list[Tier]:
    """The amounts at which no package meets every limit."""
    return [tier for tier in options.tiers if tier.package is None]


def _parts(package: Package) -> list[tuple[str, str | None, str | None]]:
    return [(line.slot, line.opening_id, line.part_id) for line in package.lines]
