"""Answers from plain data: what `to_plain` made, made back."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import cache
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
        made: Made = _made(model, data)
    except (TypeError, KeyError, AttributeError, ArithmeticError) as error:
        raise ValueError(f"no {model.__name__}: {error}") from None
    return made


def _made(kind: Any, data: Any) -> Any:
    if is_dataclass(kind) and isinstance(kind, type):
        return _answer(kind, data)
    if get_origin(kind) is UnionType:
        if data is None and NoneType in get_args(kind):
            return None
        return _made(next(one for one in get_args(kind) if one is not NoneType), data)
    if get_origin(kind) is list:
        return [_made(get_args(kind)[0], one) for one in data]
    if get_origin(kind) is dict:
        return {name: _made(get_args(kind)[1], one) for name, one in data.items()}
    return Decimal(str(data)) if kind is Decimal else float(data) if kind is float else data


def _answer(model: type[Any], data: Any) -> Any:
    hints = _hints(model)  # type: ignore[arg-type]
    given = {part.name: part.name.rstrip("_") for part in fields(model)}
    strangers = data.keys() - set(given.values())
    if strangers:
        raise TypeError(f"{model.__name__} has no {', '.join(sorted(strangers))}")
    return model(**{name: _made(hints[name], data[plain]) for name, plain in given.items() if plain in data})


@cache
def _hints(model: Any) -> dict[str, Any]:
    return get_type_hints(model)
