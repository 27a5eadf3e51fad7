"""`calc fit`: a part and an opening typed in, for a walk-in customer; kept on request."""

from __future__ import annotations

from typing import Annotated

import typer

from matcher.commands.base import (
    AlterationOption,
    ByOption,
    JsonOption,
    SureOption,
    open_shop,
    print_item,
    print_json,
    say,
)
from matcher.commands.calc_base import CalcStore, settings_here


def fit(
    family: Annotated[str, typer.Argument(help="speaker, head_unit, amplifier or enclosure.", show_default=False)],
    part: Annotated[
        list[str] | None,
        typer.Option("--part", help="A figure of the part: depth=60, 'cutout_w=5 in'. Repeatable.", show_default=False),
    ] = None,
    opening: Annotated[
        list[str] | None,
        typer.Option("--opening", help="A figure of the opening: depth=70. Repeatable.", show_default=False),
    ] = None,
    keep_part: Annotated[
        list[str] | None,
        typer.Option("--keep-part", help="Keep the part, with what a catalog needs: part_id=S9, price=60. Repeatable."),
    ] = None,
    keep_car: Annotated[
        str | None, typer.Option("--keep-car", help="Keep the opening, as VEHICLE/OPENING; the vehicle may be new.")
    ] = None,
    by: ByOption = None,
    alteration: AlterationOption = "bolt_on",
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Check a part at an opening by the figures typed in: five are enough to begin with.

    Nothing is stored unless you ask to keep the part or the opening.
    """
    from matcher.answers.messages import alteration_says
    from matcher.answers.quick import quick_fit
    from matcher.commands.ask import show_checks
    from matcher.shop.base import check_step, split_place

    check_step(alteration)
    typed = (_figures("part", part or []), _figures("opening", opening or []))
    answer, _ = quick_fit(family, *typed, settings_here(store), alteration=alteration, sure=sure)
    shop = open_shop(store)
    if keep_part:
        number = shop.catalog.keep_part(family, typed[0], _figures("keep-part", keep_part), by=by, sure=sure)
        say(f"part {number} is in the catalog: boltback fit {number} VEHICLE/OPENING")
    if keep_car:
        vehicle_id, opening_id = split_place(keep_car)
        place = {"opening_id": opening_id, "label": opening_id}
        shop.vehicles.keep_opening(
            family, typed[1], {"vehicle_id": vehicle_id, "label": vehicle_id}, place, by=by, sure=sure
        )
        say(f"opening {keep_car} is in the store: boltback vehicle show {vehicle_id}")
    if as_json:
        print_json(answer.to_dict())
        return
    print(answer.says)
    print(alteration_says(answer.fit))
    print()
    show_checks(answer.fit)
    for note in answer.notes:
        print(f"note: {note}")
    if answer.open:
        print_item(f"not known: {', '.join(answer.open)}", indent="")


def _figures(option: str, texts: list[str]) -> dict[str, str]:
    """Return the figures of ``NAME=VALUE`` texts by field."""
    found = {}
    for text in texts:
        name, _, value = text.partition("=")
        if not (name.strip() and value.strip()):
            from matcher.errors import InputError

            raise InputError(f"--{option} {text}: expected NAME=VALUE", fix=f"write --{option} depth=60")
        found[name.strip()] = value.strip()
    return found
