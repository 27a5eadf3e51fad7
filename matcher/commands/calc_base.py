"""Shared by the calculator commands: figures from the command line, and the display of answers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import DEFAULT_STORE, open_shop, print_json, print_table, store_path
from matcher.lengths import in_shop_unit, length_text, shown_unit

if TYPE_CHECKING:
    from decimal import Decimal

    from catalog_schema.answers import Answer
    from matcher.calculators import Calculation
    from matcher.calculators.answer import Input
    from matcher.settings import Settings

WRITTEN = {
    "mm2": "mm2 or AWG",
    "l": "L, cu ft",
    "m": "m, ft",
    "mm": "mm, in",
    "n": "a number",
    "pct": "%",
    "ma": "mA",
    "ah": "Ah",
    "db": "dB",
    "h": "h, min",
    "ohm": "ohm",
    "cm2": "cm2, sq in",
    "hz": "Hz",
}
"""Names of units in an option's help; other units are shown by their symbol."""

FOR_CELLS = "; leave the cell empty if the figure is not known"
"""Advice that applies to lists only, not to options."""

OPTION_NAMES = {
    "drains_ma": "--drain",
    "amplifiers": "--amp",
    "hours_h": "--hours",
    "kind": "--kind",
    "film_pct": "--film",
    "glass_pct": "--glass",
    "limit_pct": "--limit",
    "ohm": "--ohm",
    "density": "--density",
}


def figure(unit: str, says: str, *names: str, least: float = 0.0, zero: bool = False) -> Any:
    """An option that takes a figure as text, in its unit or with another one."""
    return typer.Option(
        *names,
        parser=reader(unit, least=least, zero=zero),
        metavar="<figure>",
        help=f"{says} [{WRITTEN.get(unit, unit.upper())}]",
        show_default=False,
    )


def reader(unit: str, *, least: float = 0.0, zero: bool = False) -> Callable[[Any], float | None]:
    """Return a parser from text to a number in a unit; a bare number is in that unit already."""

    def read(text: Any) -> float | None:
        return read_piece(str(text), unit, least=least, zero=zero)

    return read


def read_piece(text: str, unit: str, *, least: float = 0.0, zero: bool = False) -> float | None:
    """Read a figure from a text; None if it is blank."""
    from catalog_schema.problems import FieldError

    try:
        number = _number(text, unit)
    except FieldError as error:
        raise typer.BadParameter(str(error).removesuffix(FOR_CELLS)) from None
    if number is not None and (number < least or (number == least and not zero)):
        bound = f"{least:g} or more" if zero else f"over {least:g}"
        raise typer.BadParameter(f"found {text!r}, expected a figure {bound}; leave the option out if it is not known")
    return None if number is None else float(number)


def _number(text: str, unit: str) -> Decimal | None:
    """Read the number in a text; the shop's settings are loaded only if it can be read in two ways."""
    from catalog_schema.figures import read_number
    from catalog_schema.problems import FieldError

    try:
        return read_number(text, unit)
    except FieldError as error:
        if not error.alternatives:
            raise
        return read_number(text, unit, settings_here(_named.get("store")).notation())


_named: dict[str, Path | None] = {}


def _remember(store: Path | None) -> Path | None:
    """Remember the store named with the command: its settings apply to figures in any order of the options."""
    _named["store"] = store
    return store


CalcStore = Annotated[
    Path | None,
    typer.Option(
        "--store",
        is_eager=True,
        callback=_remember,
        help="The store whose settings count. [default: shop.duckdb, or BOLTBACK_STORE]",
        show_default=False,
    ),
]


def settings_here(store: Path | None) -> Settings:
    """Return the shop's settings; the defaults if no store is named and none is here."""
    from matcher.settings import DEFAULT_SETTINGS

    path = store_path(store)
    if path == DEFAULT_STORE and not path.is_file():
        return DEFAULT_SETTINGS
    held: Settings = open_shop(store).settings()
    return held


def option_of(name: str) -> str:
    """Return the option for a figure."""
    from catalog_schema.units import unit_of_field

    if name in OPTION_NAMES:
        return OPTION_NAMES[name]
    unit = unit_of_field(name) or next((end for end in ("min", "dba", "c") if name.endswith(f"_{end}")), "")
    return "--" + name.removesuffix(f"_{unit}").replace("_", "-")


def check_usual(inputs: Answer, *, sure: bool) -> None:
    """Refuse unusual figures unless the user has confirmed them.

    Raises
    ------
    DoubtfulFigures
        if a figure is outside its usual range and `sure` is not set.
    """
    from catalog_schema.doubts import document_doubts
    from matcher.errors import DoubtfulFigures

    doubts = [] if sure else list(document_doubts(inputs))
    if doubts:
        problems = [one.problem._replace(column=option_of(one.names[0])) for one in doubts]
        raise DoubtfulFigures("doubtful figures; nothing was computed", problems)


def give(answer: Calculation, *, as_json: bool) -> None:
    """Print the inputs, then the answer, as one document or as tables with notes."""
    if as_json:
        print_json(answer.to_dict())
        return
    print_table(["given", "value"], [[one.label, _given(one)] for one in answer.inputs()])
    print()
    print_table(["figure", "answer"], _figures(answer))
    for title, rows in _tables(answer):
        print(f"\n{title}")
        print_table(*rows)
    print()
    for kind, lines in (("note", answer.notes), ("source", answer.sources()), ("caution", answer.cautions)):
        for line in lines:
            print(f"{kind}: {line}")


def _given(given: Input) -> str:
    """Format an input with all its digits."""
    values = given.value if isinstance(given.value, list) else [given.value]
    shown = (in_shop_unit(one) if given.unit == "mm" else one for one in values)
    return ", ".join("yes" if one is True else f"{_digits(one)} {shown_unit(given.unit)}".strip() for one in shown)


def _digits(value: Any) -> str:
    from decimal import Decimal

    return f"{Decimal(repr(value)).normalize():f}" if isinstance(value, int | float) else str(value)


def written(value: Any, unit: str = "") -> str:
    """Format a value of an answer: four significant digits, at most three decimals, two for decibels.

    >>> written(12345.678, "W"), written(0.60712, "V"), written(-0.001, "dB"), written(True)
    ('12346 W', '0.607 V', '0 dB', 'yes')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, int | float):
        return str(value)
    from decimal import Decimal

    if unit == "mm":
        return f"{length_text(value, to_tenths=True)} {shown_unit(unit)}"
    number = Decimal(repr(float(value)))
    places = min(max(0, 3 - number.adjusted()), 2 if unit == "dB" else 3)
    text = f"{round(number, places):f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{'0' if text == '-0' else text} {unit}".rstrip()


def _figures(answer: Calculation) -> list[list[str]]:
    from matcher.calculators.answer import single_figures

    waiting = {unknown.figure: unknown for unknown in answer.unknown()}
    rows: list[list[str]] = []
    for name, label, value, unit in single_figures(answer):
        if value is not None:
            rows.append([label, written(value, unit)])
        elif name in answer.none:
            rows.append([label, answer.none[name]])
        else:
            _add_unknown(rows, label, _not_known(waiting[name].wants, waiting[name].valid))
    return rows


def _add_unknown(rows: list[list[str]], label: str, why: str) -> None:
    """Add an unknown figure; figures with the same reason share a row."""
    if rows and rows[-1][1] == why:
        rows[-1][0] += f"; {label}"
    else:
        rows.append([label, why])


def _not_known(wants: list[str], valid: str) -> str:
    if wants:
        named = [" or ".join(option_of(one) for one in want.split(" or ")) for want in wants]
        return f"not known: needs {', '.join(named)}"
    return f"not known: holds for {valid}" if valid else "not known"


def _tables(answer: Answer) -> Iterator[tuple[str, tuple[list[str], list[list[str]]]]]:
    for part in fields(answer):  # type: ignore[arg-type]
        value = getattr(answer, part.name)
        if isinstance(value, list) and value and "label" in part.metadata:
            yield part.metadata["label"], _table(value)
        elif hasattr(value, "to_dict") and part.name != "given":
            yield from _tables(value)


def _table(items: list[Any]) -> tuple[list[str], list[list[str]]]:
    from matcher.calculators import unit_for

    columns = [part for part in fields(items[0]) if "label" in part.metadata]
    used = [part for part in columns if any(getattr(item, part.name) is not None for item in items)]
    rows = []
    for item in items:
        cells = ((part, getattr(item, part.name)) for part in used)
        rows.append(
            [part.metadata["blank"] if value is None else written(value, unit_for(part)) for part, value in cells]
        )
    return [part.metadata["label"] for part in used], rows
