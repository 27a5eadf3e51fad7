"""Options for the terms of a job, shared by several commands: for one question, or to keep."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from typing import Annotated, Any, get_type_hints

import typer

from catalog_schema.ladder import LADDER

ONE = {
    "budget": ("<amount>", "The most it may cost."),
    "tax": ("<included|excluded>", "Whether the budgets include the tax."),
    "alteration": ("<step>", f"The highest alteration: {', '.join(LADDER)}."),
    "screen": ("<inches>", "The smallest screen."),
    "drain": ("<mA>", "The most standby drain."),
    "film": ("<percent>", "Light that the film lets through: 5 is nearly black, 70 hardly shows."),
    "deliver-by": ("<days>", "The most days until every part is there."),
}
SEVERAL = {
    "tier": ("<amount>...", "A budget to compare."),
    "step": ("<opening=step>...", "Another highest alteration at one opening."),
    "must": ("<feature>...", "A feature of the head unit, such as bluetooth."),
    "choose": ("<slot>...", "A slot to fill: an opening, head_unit, bass, film, security."),
    "original": ("<opening>...", "An opening whose original stays."),
    "owned": (
        "<part>...",
        "A part that the customer has: 'S1; opening_id=door; condition=used', or family=FAMILY and its figures.",
    ),
    "route": ("<route>...", "A route of theft to block, such as tow or hot_wire."),
    "without": ("<name>...", "A part, maker or supplier to leave out."),
    "pin": ("<slot=part>...", "The part at an opening or in a slot."),
    "wish": ("<wish=0..5>...", "The weight of a wish: loudness, bass, screen, original_look, price."),
}
NAMED = {"step": "door=drilled", "pin": "dash=PART", "wish": "bass=5"}
"""Terms set name by name, each with an example."""


def options_for(
    parameter: str, options: Mapping[str, tuple[Any, str, str]], read: Callable[[dict[str, Any]], Any] = dict
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Replace one parameter of a command with several options.

    Parameters
    ----------
    parameter
        The parameter, which receives the given options by name.
    options
        Type, value and help of each option, by its name.
    read
        Converts them first.
    """

    def declare(command: Callable[..., None]) -> Callable[..., None]:
        def typed(**given: Any) -> None:
            taken = {name: given.pop(name.replace("-", "_")) for name in options}
            command(**{parameter: read({name: value for name, value in taken.items() if value})}, **given)

        hints = get_type_hints(command, include_extras=True)
        parameters: list[inspect.Parameter] = []
        for one in inspect.signature(command).parameters.values():
            declared = [_option(name, *about) for name, about in options.items()]
            parameters += declared if one.name == parameter else [one.replace(annotation=hints[one.name])]
        typed.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
        typed.__annotations__ = {one.name: one.annotation for one in parameters}
        typed.__name__, typed.__doc__, typed.__module__ = command.__name__, command.__doc__, command.__module__
        return typed

    return declare


def _option(name: str, kind: Any, value: str, says: str) -> inspect.Parameter:
    annotation = Annotated[kind, typer.Option(f"--{name}", metavar=value, help=says, show_default=False)]
    return inspect.Parameter(
        name.replace("-", "_"), inspect.Parameter.KEYWORD_ONLY, default=None, annotation=annotation
    )


def _terms(typed: dict[str, Any]) -> dict[str, Any]:
    """Return the given terms by name.

    Raises
    ------
    InputError
        if a text is not ``NAME=VALUE`` where it should be.
    """
    if "owned" in typed:
        from catalog_schema.terms import NOTHING, owned_part

        typed["owned"] = [text if text == NOTHING else owned_part(text) for text in typed["owned"]]
    return typed | {name: by_name(name, typed[name], NAMED[name]) for name in NAMED if name in typed}


on_terms = options_for(
    "terms",
    {name: (str | None, *about) for name, about in ONE.items()}
    | {name: (list[str] | None, *about) for name, about in SEVERAL.items()},
    _terms,
)
"""Replace a command's parameter ``terms`` with an option for each term of a job."""


def by_name(option: str, texts: list[str], example: str) -> dict[str, str]:
    """Return the values of a ``NAME=VALUE`` option by name.

    Raises
    ------
    InputError
        if a text has another form.
    """
    found = {}
    for text in texts:
        name, _, value = text.partition("=")
        if not (name.strip() and value.strip()):
            from matcher.errors import InputError

            raise InputError(f"--{option} {text}: expected NAME=VALUE", fix=f"write --{option} {example}")
        found[name.strip()] = value.strip()
    return found
