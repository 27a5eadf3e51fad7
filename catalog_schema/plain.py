"""Answers from plain data: what `to_plain` made, made back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import cache, partial
from types import NoneType, UnionType
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

Made = TypeVar("Made")


def from_plain(model: type[Made], data: Any) -> Made:
    """An answer from the plain data that `to_plain` makes of it; what the data lack has its default.

    Raises
    ------
    ValueError
        if the data are not those of such an answer.
    """
    try:
        made: Made = _maker(model)(data)  # type: ignore[arg-type]
    except (TypeError, KeyError, AttributeError, ArithmeticError) as error:
        raise ValueError(f"no {model.__name__}: {error}") from None
    return made


@cache
def _maker(kind: Any) -> Callable[[Any], Any]:
    """Return the function that makes values of a type from plain data."""
    if isinstance(kind, type) and is_dataclass(kind):
        return partial(_answer, kind)
    origin, inner = get_origin(kind), get_args(kind)
    if origin is UnionType:
        make = _maker(next(one for one in inner if one is not NoneType))
        return lambda data: None if data is None and NoneType in inner else make(data)
    if origin in (list, dict):
        make = _maker(inner[-1])
        if origin is list:
            return lambda data: [make(one) for one in data]
        return lambda data: {name: make(one) for name, one in data.items()}
    made: dict[Any, Callable[[Any], Any]] = {Decimal: lambda data: Decimal(str(data)), float: float}
    return made.get(kind, _unchanged)


def _unchanged(data: Any) -> Any:
    return data


def _answer(model: type[Any], data: Any) -> Any:
    makers = _makers(model)  # type: ignore[arg-type]
    strangers = data.keys() - makers.keys()
    if strangers:
        raise TypeError(f"{model.__name__} has no {', '.join(sorted(strangers))}")
    return model(**{name: make(data[plain]) for plain, (name, make) in makers.items() if plain in data})


@cache
def _makers(model: Any) -> dict[str, tuple[str, Callable[[Any], Any]]]:
    """By name in plain data: each field with the function that makes its value."""
    hints = get_type_hints(model)
    return {part.name.rstrip("_"): (part.name, _maker(hints[part.name])) for part in fields(model)}
