"""A shop's initial setup: its name, currency, tax and prices, asked one by one or given as options."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, print_table, say, store_path
from matcher.commands.terms import options_for
from matcher.settings import DEFAULTS, FIRST_SETTINGS, WORD_DEFAULTS

if TYPE_CHECKING:
    from pathlib import Path

ASKED = {
    name: f"{meaning[:1].upper()}{meaning[1:]}"
    for name in FIRST_SETTINGS
    for meaning in [(DEFAULTS.get(name) or WORD_DEFAULTS[name]).meaning]
}
"""Explanation of each initial setting."""
UNSET = "not set yet"


@options_for("given", {name.replace("_", "-"): (str | None, "<text>", f"{says}.") for name, says in ASKED.items()})
def init(
    *,
    given: dict[str, str],
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Set up a shop: its name, currency, tax and prices. Missing values are asked for at a terminal."""
    if sys.stdin.isatty() and not as_json and not given:
        given = {name: answer for name, says in ASKED.items() if (answer := _answer(says))}
    shop = open_shop(store)
    shop.set_all({name.replace("-", "_"): value for name, value in given.items()}, by=by)
    settings = shop.settings()
    if as_json:
        held: dict[str, Any] = {name: settings.given(name) for name in ASKED}
        print_json({"store": str(store_path(store)), "settings": held})
        return
    print_table(["setting", "value"], [[says, settings.given(name) or UNSET] for name, says in ASKED.items()])
    say(_next(store_path(store)))


def _answer(says: str) -> str:
    answer: str = typer.prompt(f"{says} (empty: later)", default="", show_default=False, err=True)
    return answer.strip()


def _next(store: Path) -> str:
    return "\n".join(
        [
            f"The shop is in {store}. Next:",
            f"  boltback catalog load LIST --store {store}                      # a supplier's list",
            f"  boltback catalog supplier NAME --price-is cost --markup 40 --store {store}",
            f"  boltback vehicle new CAR --opening door=speaker --store {store}  # then reading add, with a tape",
        ]
    )
