"""The register of formulas: the source and range of validity of each, stated once next to the formula."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from catalog_schema.sources import Source

Computation = TypeVar("Computation", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class Formula:
    """One line of the list of sources: result, source, and range of validity."""

    module: str
    name: str
    says: str
    source: Source
    valid: str


_FORMULAS: dict[tuple[str, str], Formula] = {}


def formula(*, source: Source, valid: str) -> Callable[[Computation], Computation]:
    """Enter a computation in the register, and its source and range in its docstring.

    The function itself is handed back untouched, so that a call costs nothing more.

    Parameters
    ----------
    source
        Source of the relation or the table.
    valid
        The range of validity; outside it the formula returns None.

    Raises
    ------
    ValueError
        The function has no docstring, or another one of this name is in the register.
    """

    def enter(function: Computation) -> Computation:
        module, name = function.__module__, function.__name__
        says = inspect.cleandoc(function.__doc__ or "")
        if not says:
            raise ValueError(f"{module}.{name} has no docstring: say what it answers")
        if (module, name) in _FORMULAS:
            raise ValueError(f"{module}.{name} is in the register already: give it another name")
        _FORMULAS[module, name] = Formula(module, name, says.splitlines()[0], source, valid)
        function.__doc__ = f"{says}\n\nValid\n-----\n{valid}\n\nSource\n------\n{source}\n"
        return function

    return enter


def all_formulas() -> tuple[Formula, ...]:
    """Every formula of this package, by module and name.

    Examples
    --------
    >>> "wire" in {formula.module.rpartition(".")[2] for formula in all_formulas()}
    True
    """
    package = importlib.import_module("matcher.formulas")
    for module in pkgutil.iter_modules(package.__path__):
        importlib.import_module(f"{package.__name__}.{module.name}")
    return tuple(entry for _, entry in sorted(_FORMULAS.items()))
