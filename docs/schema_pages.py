"""The page of fields: a table for each family, the vehicle with its openings, and the job."""

from __future__ import annotations

from typing import Any

from markdown_text import code, plain, table

from catalog_schema import publish
from catalog_schema.parts import FAMILIES
from catalog_schema.units import UNITS
from catalog_schema.vehicles import OPENINGS

HEADS = ["field", "label", "unit", "usual", "required", "takes", "meaning"]


def schemas_page() -> str:
    """Every field that a list, a vehicle or a job may have."""
    schemas = dict(publish.schemas())
    parts = [
        "# Fields\n",
        "Made from the JSON Schemas in `catalog_schema/schemas/`. A figure is a number in the field's unit, text with "
        'a unit, or `{"value": 61, "tol": 1, "basis": "measured"}`; what is left out is unknown. A figure outside its '
        "usual range (common practice, no published source) is asked about before it is taken.\n",
        "## Catalog lists\n",
    ]
    parts += [_section(f"`{family}`", schemas[family]) for family in FAMILIES]
    parts += ["## Vehicle\n", *_document("vehicle", schemas["vehicle"]), "## Job\n", *_document("job", schemas["job"])]
    parts += ["## Map of a supplier's list\n", *_document("map", schemas["map"])]
    return "\n".join(parts)


def _document(name: str, schema: dict[str, Any]) -> list[str]:
    inner = schema.get("$defs", {})
    kinds = {model.__name__: kind for kind, model in OPENINGS.items()}
    titled = {
        model: f"opening of kind `{kinds[model]}`" if model in kinds else _title(model)
        for model in inner
        if inner[model].get("properties", {}).keys() - {"kind"}
    }
    return [_section(f"`{name}`", schema), *(_section(title, inner[model]) for model, title in titled.items())]


def _title(model: str) -> str:
    return "".join(f" {letter.lower()}" if letter.isupper() else letter for letter in model).strip()


def _section(title: str, schema: dict[str, Any]) -> str:
    required = schema.get("required", [])
    rows = [
        [
            code(name),
            field.get("label", ""),
            _unit(field),
            _usual(field),
            "yes" if name in required else "",
            _takes(field),
            _meaning(field),
        ]
        for name, field in schema["properties"].items()
    ]
    says = f"{plain(schema['description'])}\n\n" if "description" in schema else ""
    return f"### {title}\n\n{says}{table(HEADS, rows)}"


def _unit(field: dict[str, Any]) -> str:
    return UNITS[field["unit"]].symbol if "unit" in field else ""


def _usual(field: dict[str, Any]) -> str:
    return " to ".join(f"{end:.10g}" for end in field.get("usual", ()))


def _meaning(field: dict[str, Any]) -> str:
    default = field.get("default")
    beside = "" if default in (None, [], {}, "") else f" Left out: {code(_word(default))}."
    return plain(field.get("description", "")) + beside


def _word(default: Any) -> str:
    return str(default).lower() if isinstance(default, bool) else f"{default}"


def _takes(field: dict[str, Any]) -> str:
    if "enum" in field:
        return ", ".join(code(str(word)) for word in field["enum"] if word is not None)
    if "anyOf" in field:
        return " or ".join(_takes(choice) for choice in field["anyOf"] if choice != {"type": "null"})
    if "$ref" in field:
        return _title(field["$ref"].rpartition("/")[2])
    return _kind(field) + _bounds(field)


def _kind(field: dict[str, Any]) -> str:
    types = field["type"] if isinstance(field["type"], list) else [field["type"]]
    if "unit" in field:
        return "figure"
    if "boolean" in types:
        return "yes or no" if "number" not in types else "word, number, or yes or no"
    if "array" in types:
        inner = field.get("items", {})
        return f"list of {_takes(inner)}" if "$ref" in inner or "enum" in inner else "list of words"
    if "object" in types:
        return f"{_takes(field['additionalProperties'])} by name" if _is_map(field) else "object"
    words = {"integer": "whole number", "number": "number"}
    # A name may be typed as a number; a number as text: only what has bounds is meant to be a number.
    numeric = "integer" in types or {"minimum", "exclusiveMinimum", "maximum"} & field.keys() or types == ["number"]
    return words["integer" if "integer" in types else "number"] if numeric else "text"


def _is_map(field: dict[str, Any]) -> bool:
    return isinstance(field.get("additionalProperties"), dict)


def _bounds(field: dict[str, Any]) -> str:
    if "exclusiveMinimum" in field:
        return f", over {field['exclusiveMinimum']:g}"
    least, most = field.get("minimum"), field.get("maximum")
    if least is not None and most is not None and most <= 100:
        return f", {least:g} to {most:g}"
    return "" if least is None else f", {least:g} or more"
