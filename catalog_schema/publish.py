"""Write the published JSON Schemas from the models: ``python -m catalog_schema.publish [--check]``.

Only this module needs pydantic; reading a list or a document does not.
"""

from __future__ import annotations

import ast
import inspect
import json
import sys
import textwrap
from collections.abc import Iterator
from dataclasses import is_dataclass
from itertools import pairwise
from typing import Any

from catalog_schema import answers, whys
from catalog_schema.fields import Field, fields_of
from catalog_schema.figure_labels import WORD_LABELS, field_label
from catalog_schema.jobs import Job
from catalog_schema.maps import ListMap
from catalog_schema.parts import FAMILIES
from catalog_schema.schemas import FOLDER
from catalog_schema.vehicles import OPENINGS, Vehicle

DIALECT = "https://json-schema.org/draft/2020-12/schema"

ANSWERS: dict[str, type[Any]] = {
    "fit": answers.Fit,
    "options": answers.Options,
    "why": whys.Why,
    "limits": whys.LimitPrices,
    "measure": whys.MeasureFirst,
}
"""The answers of commands that have a schema of their own."""


def schemas() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every published schema, by its name."""
    from pydantic import TypeAdapter
    from pydantic.json_schema import GenerateJsonSchema

    class Plain(GenerateJsonSchema):
        """Exact numbers are plain JSON numbers in an answer."""

        def decimal_schema(self, schema: Any) -> dict[str, Any]:
            return {"type": "number"}

    def of(model: type[Any], mode: str = "validation") -> dict[str, Any]:
        made = TypeAdapter(model).json_schema(mode=mode, by_alias=True, schema_generator=Plain)  # type: ignore[arg-type]
        described = _described(_tidy(made), model)
        return {"$schema": DIALECT, **(_with_labels(described, model) if mode == "validation" else described)}

    for family, model in FAMILIES.items():
        yield family, of(model)
    vehicle = of(Vehicle)
    vehicle["$defs"] |= {model.__name__: _embedded(of(model), vehicle["$defs"]) for model in OPENINGS.values()}
    vehicle["$defs"]["Opening"] = _opening_by_kind()
    yield "vehicle", vehicle
    yield "job", of(Job)
    yield "map", of(ListMap)
    for name, answer in ANSWERS.items():
        yield name, of(answer, "serialization")


def _opening_by_kind() -> dict[str, Any]:
    """An opening's fields follow from its kind: flat conditions, so that a fault names the right field."""
    return {
        "type": "object",
        "required": ["opening_id", "kind"],
        "properties": {"kind": {"enum": list(OPENINGS)}},
        "allOf": [
            {
                "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
                "then": {"$ref": f"#/$defs/{model.__name__}"},
            }
            for kind, model in OPENINGS.items()
        ],
    }


def _embedded(schema: dict[str, Any], definitions: dict[str, Any]) -> dict[str, Any]:
    definitions |= schema.pop("$defs", {})
    schema.pop("$schema")
    return schema


def _described(schema: dict[str, Any], model: type[Any]) -> dict[str, Any]:
    """With the sentences of the fields that the model has from the classes it is made from."""
    for base in model.__mro__[1:]:
        for name, sentence in _sentences(base).items():
            field = schema["properties"].get(name)
            if field is not None and not {"description", "$ref"} & set(field):
                field["description"] = sentence
    return schema


def _with_labels(schema: dict[str, Any], model: type[Any]) -> dict[str, Any]:
    """With the label of each field and the usual range of each figure, those of the models within it too."""
    for name, one, known in (
        (model.__name__, schema, fields_of(model)),
        *((name, inner, fields_of(name)) for name, inner in schema.get("$defs", {}).items()),
    ):
        for field, found in one.get("properties", {}).items():
            if field in known:
                found |= _label(known[field])
            elif "$ref" not in found and {f"{name}.{field}", field} & set(WORD_LABELS):
                found["label"] = field_label(field, [name])
    return schema


def _label(field: Field) -> dict[str, Any]:
    low, high = (int(end) if end == int(end) else float(end) for end in (field.low, field.high))
    return {"label": field.label, "usual": [low, high]}


def _sentences(model: type[Any]) -> dict[str, str]:
    """The sentence under each field of a class."""
    if not is_dataclass(model):
        return {}
    (node,) = ast.parse(textwrap.dedent(inspect.getsource(model))).body
    body = node.body if isinstance(node, ast.ClassDef) else []
    return {
        field.target.id: inspect.cleandoc(below.value.value)
        for field, below in pairwise(body)
        if isinstance(field, ast.AnnAssign)
        and isinstance(field.target, ast.Name)
        and isinstance(below, ast.Expr)
        and isinstance(below.value, ast.Constant)
        and isinstance(below.value.value, str)
    }


def _tidy(node: Any) -> Any:
    """Without titles, with trailing underscores dropped, and null instead of a choice of two schemas."""
    if isinstance(node, list):
        return [_tidy(item) for item in node]
    if not isinstance(node, dict):
        return node
    made = {key: _tidy(item) for key, item in node.items() if key != "title" or isinstance(item, dict)}
    if "properties" in made and isinstance(made["properties"], dict):
        made["properties"] = {name.rstrip("_"): item for name, item in made["properties"].items()}
        made["required"] = [name.rstrip("_") for name in made.get("required", [])]
    return _without_choice(made)


def _without_choice(made: dict[str, Any]) -> dict[str, Any]:
    """``anyOf [X, null]`` as one schema where X is plain, so that a fault is reported once."""
    choices = made.get("anyOf")
    if not choices or {"type": "null"} not in choices or len(choices) != 2:
        return made
    (other,) = [choice for choice in choices if choice != {"type": "null"}]
    if "type" not in other or isinstance(other["type"], list):
        return made
    rest = {key: item for key, item in made.items() if key != "anyOf"}
    return {**other, **rest, "type": [other["type"], "null"]}


def texts() -> Iterator[tuple[str, str]]:
    """File name and text of every published schema."""
    for name, schema in schemas():
        yield f"{name}.schema.json", json.dumps(schema, indent=2, default=_plain, ensure_ascii=False) + "\n"


def _plain(value: Any) -> Any:
    return float(value)


def main(arguments: list[str]) -> int:
    """Write the schemas, or with ``--check`` say which are stale."""
    stale = []
    for name, text in texts():
        path = FOLDER / name
        if path.is_file() and path.read_text(encoding="utf-8") == text:
            continue
        stale.append(name)
        if "--check" not in arguments:
            path.write_text(text, encoding="utf-8")
    print("\n".join(f"{'stale' if '--check' in arguments else 'written'}: {name}" for name in stale) or "all fresh")
    return 1 if stale and "--check" in arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
