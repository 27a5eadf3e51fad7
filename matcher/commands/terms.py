"""Options for the terms of a job, shared by several commands: for one question, or to keep."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from typing import Annotated, Any, get_type_hints

import typer

ONE = {
    "budget": "The most it may cost, or none.",
    "tax": "Whether the budgets hold the tax: included or excluded.",
    "alteration": "The highest step of the alteration ladder.",
    "screen": "A screen of at least so many inches, or none.",
    "drain": "The most standby drain in mA, or none.",
    "film": "Light that the film is to let through, in percent, or none: 5 is nearly black, 70 hardly shows.",
    "deliver-by": "The most days until every part is there, or none.",
}
SEVERAL = {
    "tier": "A budget to compare, or none. Repeatable.",
    "step": "Another step of the ladder at one opening: door=drilled. Repeatable.",
    "must": "A feature that the head unit must have, or none. Repeatable.",
    "choose": "What is to be chosen: an opening, head_unit, bass, film, security. Repeatable.",
    "original": "An opening whose original stays, or none. Repeatable.",
    "owned": "A part the customer has, or none: 'S1; opening_id=door; condition=used', a part of no list with "
    "family=FAMILY and its figures. They take the place of the job's. Repeatable.",
    "route": "A route of theft to be covered, or none. Repeatable.",
    "without": "A part, a maker or a supplier that no package may hold, or none. Repeatable.",
    "pin": "The part that has to be at an opening or in a slot: dash=PART; dash=none lifts it. Repeatable.",
    "wish": "The weight of a wish, 0 to 5: bass=5. Repeatable.",
}
NAMED = {"step": "door=drilled", "pin": "dash=PART", "wish": "bass=5"}
"""Terms set name by name, each with an example."""


def options_for(
    parameter: str, options: Mapping[str, tuple[Any, str]], read: Callable[[dict[str, Any]], Any] = dict
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Replace one parameter of a command with several options.

    Parameters
    ----------
    parameter
        The parameter, which receives the given options by name.
    options
        Type and help of each option, by its name.
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


def _option(name: str, kind: Any, says: str) -> inspect.Parameter:
    annotation = Annotated[kind, typer.Option(f"--{name}", help=says, show_default=False)]
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
    {name: (str | None, says) for name, says in ONE.items()}
    | {name: (list[str] | None, says) for name, says in SEVERAL.items()},
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
