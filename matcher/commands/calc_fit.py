"""`calc fit`: a part and an opening typed in, for somebody who walks in; nothing is stored."""

from __future__ import annotations

from typing import Annotated

import typer

from matcher.commands.base import AlterationOption, JsonOption, SureOption, print_item, print_json
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
    alteration: AlterationOption = "bolt_on",
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Check a part at an opening by the figures typed in: five are enough to begin with, and nothing is stored."""
    from matcher.commands.ask import show_checks
    from matcher.explain.quick import quick_fit
    from matcher.explain.wording import alteration_says
    from matcher.shop.base import check_step

    check_step(alteration)
    typed = (_figures("part", part or []), _figures("opening", opening or []))
    answer, _ = quick_fit(family, *typed, settings_here(store), alteration=alteration, sure=sure)
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
    """Figures by field, from ``NAME=VALUE``."""
    found = {}
    for text in texts:
        name, _, value = text.partition("=")
        if not (name.strip() and value.strip()):
            from matcher.errors import InputError

            raise InputError(f"--{option} {text}: expected NAME=VALUE", cure=f"write --{option} depth=60")
        found[name.strip()] = value.strip()
    return found
