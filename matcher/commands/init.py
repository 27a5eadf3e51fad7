"""A shop's first setup: who it is, its currency, tax and prices, asked one by one or given as options."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, print_table, say, store_path

ASKED = {
    "shop_name": "Name of the shop",
    "currency": "Currency, such as EUR",
    "tax_pct": "Tax on parts and labor, in percent",
    "labour_rate": "An hour of fitting, without tax",
    "board_price_m2": "Boards of a box made to measure, a square meter, without tax",
    "made_box_labour_h": "Hours of work on such a box",
    "made_board_price": "A board for amplifiers, without tax",
    "made_board_labour_h": "Hours of work on such a board",
}
"""What is asked, by setting, in this order."""
UNSET = "not set yet: answers count nothing for it"


def init(
    name: Annotated[str | None, typer.Option("--name", help=f"{ASKED['shop_name']}.", show_default=False)] = None,
    currency: Annotated[
        str | None, typer.Option("--currency", help=f"{ASKED['currency']}.", show_default=False)
    ] = None,
    tax: Annotated[str | None, typer.Option("--tax", help=f"{ASKED['tax_pct']}.", show_default=False)] = None,
    rate: Annotated[str | None, typer.Option("--rate", help=f"{ASKED['labour_rate']}.", show_default=False)] = None,
    board_m2: Annotated[
        str | None, typer.Option("--board-m2", help=f"{ASKED['board_price_m2']}.", show_default=False)
    ] = None,
    box_hours: Annotated[
        str | None, typer.Option("--box-hours", help=f"{ASKED['made_box_labour_h']}.", show_default=False)
    ] = None,
    board: Annotated[
        str | None, typer.Option("--board", help=f"{ASKED['made_board_price']}.", show_default=False)
    ] = None,
    board_hours: Annotated[
        str | None, typer.Option("--board-hours", help=f"{ASKED['made_board_labour_h']}.", show_default=False)
    ] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Set up a shop: its name, currency, tax and prices. What is not given is asked at a terminal."""
    given = dict(zip(ASKED, (name, currency, tax, rate, board_m2, box_hours, board, board_hours), strict=True))
    if sys.stdin.isatty() and not as_json and not any(given.values()):
        given = {setting: _answer(setting) for setting in ASKED}
    values = {setting: value for setting, value in given.items() if value}
    shop = open_shop(store)
    shop.set_all(values, by=by)
    own = shop.settings()
    held: dict[str, str | None] = {
        setting: str(own.own.get(setting) or own.own_words.get(setting) or "") or None for setting in ASKED
    }
    if as_json:
        print_json({"store": str(store_path(store)), "settings": held})
        return
    print_table(["setting", "value"], [[says, held[setting] or UNSET] for setting, says in ASKED.items()])
    say(_next(store_path(store)))


def _answer(setting: str) -> str:
    answer: str = typer.prompt(f"{ASKED[setting]} (empty: later)", default="", show_default=False, err=True)
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
