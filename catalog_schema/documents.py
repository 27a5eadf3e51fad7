"""Vehicles and jobs from JSON: read exactly, checked against the published schema, every fault named.

The structure is checked by the published JSON Schema, the figures by their kinds. A document
comes in whole or not at all.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from catalog_schema.columns import _kind_in
from catalog_schema.kinds import FieldError, Kind, shorten
from catalog_schema.schemas import read_schema
from catalog_schema.vehicles import OPENINGS, Opening

Model = TypeVar("Model")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a document: where, what was found, what was expected, what would do."""

    place: str
    found: str
    expected: str
    cure: str = ""


class DocumentError(ValueError):
    """A document that cannot be taken, with every fault found in it."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{fault.place}: {fault.expected}" for fault in faults))


def parse_json(text: str) -> Any:
    """JSON as data, with numbers exact.

    Raises
    ------
    DocumentError
        where the text is no JSON, names a key twice, or holds NaN or an infinity.
    """
    try:
        return json.loads(
            text, parse_float=Decimal, parse_constant=_refuse_constant, object_pairs_hook=_without_twins
        )
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise DocumentError([Fault(place, shorten(error.doc[error.pos :], 20), error.msg)]) from None
    except RecursionError:
        raise DocumentError([Fault("file", "lists within lists", "a plain document")]) from None
    except ValueError as error:
        if isinstance(error, DocumentError):
            raise
        raise DocumentError([Fault("file", shorten(error), "numbers of a sane length")]) from None


def check_document(data: Any, schema: str) -> None:
    """Hold a document against a published schema.

    Raises
    ------
    DocumentError
        with every fault, in the order of their places.
    """
    from jsonschema import Draft202012Validator

    validator = Draft202012Validator(read_schema(schema))
    faults = {(_place(error.absolute_path), _sentence(error)): error for error in validator.iter_errors(data)}
    if faults:
        raise DocumentError(
            [
                Fault(place, shorten(error.instance), sentence)
                for (place, sentence), error in sorted(faults.items(), key=lambda item: item[0])
            ]
        )


def build(model: type[Model], data: Mapping[str, Any]) -> Model:
    """A model from plain data that has its structure.

    Raises
    ------
    DocumentError
        with every field that cannot be read.
    """
    faults: list[Fault] = []
    built = _build(model, data, "", faults)
    if faults:
        raise DocumentError(faults)
    return built  # type: ignore[no-any-return]


def _build(model: Any, data: Mapping[str, Any], place: str, faults: list[Fault]) -> Any:
    values = {}
    for name, hint in _hints(model).items():
        key = name.rstrip("_")
        if key not in data:
            continue
        read = _value(hint, data[key], f"{place}.{key}" if place else key, faults)
        if read is not None or _takes_none(hint):
            values[name] = read
    return None if faults else model(**values)


def _value(hint: Any, cell: Any, place: str, faults: list[Fault]) -> Any:
    kind = _kind_in(hint)
    if kind is not None:
        return _read(kind, cell, place, faults)
    if cell is None:
        return None
    inner = [arg for arg in get_args(hint) if arg not in (type(None), Ellipsis)]
    if get_origin(hint) is tuple:
        return tuple(
            _value(inner[0], item, _item_place(place, item, i), faults) for i, item in enumerate(cell)
        )
    if get_origin(hint) is dict:
        return {key: _value(inner[1], item, f"{place}.{key}", faults) for key, item in cell.items()}
    model = inner[0] if get_origin(hint) in (Union, UnionType) else hint
    if model is Opening:
        model = OPENINGS[cell["kind"]]
    return _build(model, cell, place, faults)


def _read(kind: Kind, cell: Any, place: str, faults: list[Fault]) -> Any:
    try:
        return kind.read(cell)
    except FieldError as error:
        faults.append(Fault(place, error.found, error.expected, error.cure))
        return None


def _item_place(place: str, item: Any, position: int) -> str:
    name = (
        next((item[key] for key in ("opening_id", "name", "pane", "where") if key in item), None)
        if isinstance(item, Mapping)
        else None
    )
    return f"{place}[{position if name is None else name}]"


@cache
def _hints(model: Any) -> dict[str, Any]:
    hints = get_type_hints(model, include_extras=True)
    return {field.name: hints[field.name] for field in dataclasses.fields(model)}


def _takes_none(hint: Any) -> bool:
    """Whether a given null says "unknown"; elsewhere it means "as by default"."""
    return _kind_in(hint) is not None


def _place(path: Iterator[Any]) -> str:
    return (
        "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path).lstrip(".") or "file"
    )


def _sentence(error: Any) -> str:
    match error.validator:
        case "additionalProperties":
            known = ", ".join(sorted(error.schema.get("properties", {})))
            extra = sorted(set(error.instance) - set(error.schema.get("properties", {})))
            return f"no field {', '.join(map(repr, extra))}; the fields are {known}"
        case "required":
            missing = [name for name in error.validator_value if name not in error.instance]
            return f"the field {', '.join(map(repr, missing))} as well"
        case "enum":
            return "one of " + ", ".join(
                str(choice) for choice in error.validator_value if choice is not None
            )
        case "type":
            kinds = error.validator_value
            return "a value of type " + (kinds if isinstance(kinds, str) else " or ".join(kinds))
        case "minimum" | "exclusiveMinimum":
            return (
                f"{error.validator_value} or more"
                if error.validator == "minimum"
                else f"over {error.validator_value}"
            )
        case "maximum":
            return f"{error.validator_value} or less"
        case _:
            return str(error.message)


def _refuse_constant(word: str) -> Any:
    raise DocumentError([Fault("file", word, "a number, or null where it is not known")])


def _without_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twin = next(key for key in keys if keys.count(key) > 1)
        raise DocumentError([Fault(twin, f"{keys.count(twin)} times {twin!r}", "each key once")])
    return found
