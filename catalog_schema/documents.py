"""Vehicles and jobs from JSON: parsed exactly, checked against the published schema, with every fault reported.

The published JSON Schema checks the structure, the kinds of fields check the figures, and all faults of both are
reported at once by name, not by index: ``openings[dash].w_mm``. A document is accepted whole or not at all.
"""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from functools import cache
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from catalog_schema.kinds import Kind, kind_in
from catalog_schema.notation import EITHER, KEPT, Notation
from catalog_schema.problems import FieldError, Problem, shorten
from catalog_schema.schemas import read_schema

Model = TypeVar("Model")


class DocumentError(ValueError):
    """A rejected document, with every fault found in it."""

    def __init__(self, faults: list[Problem]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{fault.column}: {fault.expected}" for fault in faults))


def parse_json(text: str) -> Any:
    """Parse JSON with exact numbers.

    Raises
    ------
    DocumentError
        if the text is no JSON, repeats a key, or contains NaN or an infinity.
    """
    try:
        return json.loads(text, parse_float=Decimal, parse_constant=_refuse_constant, object_pairs_hook=_without_twins)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        found = shorten(error.doc[error.pos :].split("\n")[0], 20) or "the end of the line"
        expected = "a document in JSON" + (f": {error.msg.lower()}" if error.msg else "")
        raise DocumentError([Problem(expected, column=place, found=found)]) from None
    except RecursionError:
        raise DocumentError([Problem("a plain document", column="file", found="lists within lists")]) from None
    except ArithmeticError:  # an exponent beyond the range of exact numbers
        raise DocumentError(
            [Problem("numbers of a sane size", column="file", found="a number beyond all measure")]
        ) from None
    except ValueError as error:
        if isinstance(error, _ConstantError):
            raise DocumentError([_constant_fault(text, str(error))]) from None
        if isinstance(error, DocumentError):
            raise
        raise DocumentError([Problem("numbers of a sane length", column="file", found=shorten(error))]) from None


def check_document(data: Any, schema: str) -> None:
    """Check a document against a published schema.

    Raises
    ------
    DocumentError
        with every fault, in the order of their places.
    """
    faults = _structure_faults(data, schema)
    if faults:
        raise DocumentError(faults)


def build(model: type[Model], data: Any) -> Model:
    """Build a model from plain data of the right structure: a stored document whose currency was already checked.

    Raises
    ------
    DocumentError
        with every field that cannot be parsed.
    """
    faults: list[Problem] = []
    built = _build(model, data, "", _Reader(KEPT, faults))
    if faults:
        raise DocumentError(faults)
    return built  # type: ignore[no-any-return]


def take(model: type[Model], data: Any, schema: str, notation: Notation = EITHER) -> Model:
    """Build a model from plain data, checked against its published schema.

    Parameters
    ----------
    notation
        The shop's currency and number format: a stored document must not depend on them.

    Raises
    ------
    DocumentError
        with every fault of its structure and every unreadable field, in the order of their places.
    """
    faults: list[Problem] = []
    built = _build(model, data, "", _Reader(notation, faults))
    reported = tuple(f"{fault.column}{mark}" for fault in faults for mark in ("", ".", "["))
    faults += [fault for fault in _structure_faults(data, schema) if not _is_within(fault.column, reported)]
    if faults:
        raise DocumentError(sorted(faults, key=lambda fault: fault.column))
    return built  # type: ignore[no-any-return]


def _is_within(place: str, reported: tuple[str, ...]) -> bool:
    """Return whether a place was already reported, or is inside one that was."""
    return place in reported or place.startswith(tuple(each for each in reported if each.endswith((".", "["))))


def _structure_faults(data: Any, schema: str) -> list[Problem]:
    from jsonschema import Draft202012Validator

    validator = Draft202012Validator(read_schema(schema))
    faults = [fault for error in validator.iter_errors(data) for fault in _faults_of(error, data)]
    return sorted(dict.fromkeys(faults), key=lambda fault: fault.column)


@dataclass(frozen=True, slots=True)
class _Reader:
    """Number format of a document's texts, and the faults found so far."""

    notation: Notation
    faults: list[Problem]


def _build(model: Any, data: Any, place: str, reader: _Reader) -> Any:
    """Build the model as far as the data allow; missing required data is a fault."""
    if not isinstance(data, Mapping):
        reader.faults.append(Problem("fields in braces", column=place or "file", found=_shown(data)))
        return None
    values = {}
    for name, hint in _hints(model).items():
        key = name.rstrip("_")
        read = _value(hint, data[key], inside(place, key), reader) if key in data else None
        if read is not None or (key in data and _takes_none(hint)):
            values[name] = read
        if read is None and name in _required(model) and not _is_reported(reader.faults, inside(place, key)):
            reader.faults.append(Problem("a value: the field is required", column=inside(place, key)))
    return None if reader.faults else model(**values)


def _is_reported(faults: list[Problem], place: str) -> bool:
    return any(fault.column == place for fault in faults)


def _value(hint: Any, cell: Any, place: str, reader: _Reader) -> Any:
    kind = kind_in(hint)
    if kind is not None:
        return _read(kind, cell, place, reader)
    if cell is None:
        return None
    inner = [arg for arg in get_args(hint) if arg not in (type(None), Ellipsis)]
    if get_origin(hint) is tuple:
        return _items(inner[0], cell, place, reader)
    if get_origin(hint) is dict:
        if not isinstance(cell, Mapping):
            reader.faults.append(Problem("fields in braces", column=place, found=_shown(cell)))
            return None
        read = {key: _value(inner[1], item, inside(place, key), reader) for key, item in cell.items()}
        return {key: item for key, item in read.items() if item is not None}
    model = inner[0] if get_origin(hint) in (Union, UnionType) else hint
    return _build(_narrowed(model, cell), cell, place, reader)


def _items(hint: Any, cell: Any, place: str, reader: _Reader) -> Any:
    if not isinstance(cell, list):
        reader.faults.append(Problem("a list in brackets", column=place, found=_shown(cell)))
        return None
    read = [_value(hint, item, item_place(place, item, i), reader) for i, item in enumerate(cell)]
    return tuple(item for item in read if item is not None)


def _narrowed(model: Any, cell: Any) -> Any:
    """Return the model for the stated kind, if the model has kinds."""
    choose = getattr(model, "narrowed", None)
    return choose(cell.get("kind")) if choose is not None and isinstance(cell, Mapping) else model


def _read(kind: Kind, cell: Any, place: str, reader: _Reader) -> Any:
    try:
        return kind.read(cell, reader.notation)
    except FieldError as error:
        reader.faults.append(error.at(place))
        return None


NAMING = ("opening_id", "name", "pane", "where")
"""Fields that name an item of a list."""


def item_place(place: str, item: Any, position: int) -> str:
    names = (item[key] for key in NAMING if key in item) if isinstance(item, Mapping) else ()
    name = next((name for name in names if isinstance(name, str) and name.strip()), None)
    return f"{place}[{position if name is None else shorten(name)}]"


def inside(place: str, key: str) -> str:
    return f"{place}.{shorten(key)}" if place else shorten(key)


@cache
def _hints(model: Any) -> dict[str, Any]:
    hints = get_type_hints(model, include_extras=True)
    return {field.name: hints[field.name] for field in dataclasses.fields(model)}


@cache
def _required(model: Any) -> frozenset[str]:
    missing = dataclasses.MISSING
    return frozenset(
        field.name
        for field in dataclasses.fields(model)
        if field.default is missing and field.default_factory is missing
    )


def _takes_none(hint: Any) -> bool:
    """Return whether an explicit null means unknown; otherwise it means the default."""
    return kind_in(hint) is not None and type(None) in get_args(get_args(hint)[0])


def _place(data: Any, path: Iterable[Any]) -> str:
    """Return a path of keys and positions, with list items by name."""
    place = ""
    for step in path:
        data = data[step]
        place = item_place(place, data, step) if isinstance(step, int) else inside(place, step)
    return place or "file"


TYPES = {
    "object": "fields in braces",
    "array": "a list in brackets",
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "null where it is not known",
}


def _faults_of(error: Any, data: Any) -> Iterator[Problem]:
    """Describe a fault of the structure: its place, the value found, and the expected one."""
    place = _place(data, error.absolute_path)
    within = "" if place == "file" else place
    match error.validator:
        case "additionalProperties":
            known = sorted(error.schema.get("properties", {}))
            for extra in sorted(set(error.instance) - set(known)):
                near = get_close_matches(extra, known, n=1)
                fix = f"did you mean {near[0]}?" if near else ""
                yield Problem(
                    f"a field of {', '.join(known)}", column=inside(within, extra), found=shorten(extra), fix=fix
                )
        case "required":
            for name in error.validator_value:
                if name not in error.instance:
                    yield Problem("a value: the field is required", column=inside(within, name))
        case "anyOf":  # the item itself, or null
            for inner in error.context:
                if inner.validator != "type" or inner.validator_value != "null":
                    yield from _faults_of(inner, data)
        case _:
            yield Problem(_expected(error), column=place, found=_shown(error.instance))


def _expected(error: Any) -> str:
    match error.validator:
        case "enum":
            return "one of " + ", ".join(str(choice) for choice in error.validator_value if choice is not None)
        case "type":
            kinds = error.validator_value
            return " or ".join(TYPES[kind] for kind in ([kinds] if isinstance(kinds, str) else kinds))
        case "minimum":
            return f"{error.validator_value} or more"
        case "exclusiveMinimum":
            return f"over {error.validator_value}"
        case "maximum":
            return f"{error.validator_value} or less"
        case _:
            return shorten(error.message, 200)


def _shown(value: Any) -> str:
    """Return a value as JSON, or the size of a list or an object."""
    if value is None or isinstance(value, bool):
        return "null" if value is None else str(value).lower()
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, Mapping):
        return shorten("the fields " + ", ".join(value)) if value else "empty braces"
    return shorten(value)


class _ConstantError(ValueError):
    """A constant that JSON lacks: NaN, or an infinity."""


def _refuse_constant(word: str) -> Any:
    raise _ConstantError(word)


def _constant_fault(text: str, word: str) -> Problem:
    """Return the fault of a constant such as NaN, with its line."""
    bare = re.sub(r'"(?:[^"\\]|\\.)*"', lambda match: " " * len(match[0]), text)
    line = text.count("\n", 0, bare.find(word)) + 1
    return Problem("a number, or null where it is not known", column=f"line {line}", found=word)


def _without_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twin = next(key for key in keys if keys.count(key) > 1)
        raise DocumentError([Problem("each key once", column=twin, found=f"{keys.count(twin)} times {twin!r}")])
    return found
