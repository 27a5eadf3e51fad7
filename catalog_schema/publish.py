"""Write the published JSON Schemas from the models: ``python -m catalog_schema.publish [--check]``.

Only this module needs pydantic; reading a list or a document does not.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from typing import Any

from catalog_schema import answers
from catalog_schema.jobs import Job
from catalog_schema.maps import ListMap
from catalog_schema.parts import FAMILIES
from catalog_schema.schemas import FOLDER
from catalog_schema.vehicles import OPENINGS, Vehicle

DIALECT = "https://json-schema.org/draft/2020-12/schema"

ANSWERS: dict[str, type[Any]] = {"fit": answers.Fit, "options": answers.Options}
"""The answers of commands that have a schema of their own."""


def schemas() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every published schema, by its name."""
    from pydantic import TypeAdapter

    def of(model: type[Any], mode: str = "validation") -> dict[str, Any]:
        made = TypeAdapter(model).json_schema(mode=mode, by_alias=True)  # type: ignore[arg-type]
        return {"$schema": DIALECT, **_tidy(made)}

    for family, model in FAMILIES.items():
        yield family, of(model)
    vehicle = of(Vehicle)
    vehicle["$defs"] |= {
        model.__name__: _embedded(of(model), vehicle["$defs"]) for model in OPENINGS.values()
    }
    vehicle["$defs"]["Opening"] = _opening_by_kind()
    yield "vehicle", vehicle
    yield "job", of(Job)
    yield "map", of(ListMap)
    for name, answer in ANSWERS.items():
        yield name, _numbers(of(answer, "serialization"))


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
    """``anyOf [X, null]`` as one schema where X is plain, so that a fault is told once."""
    choices = made.get("anyOf")
    if not choices or {"type": "null"} not in choices or len(choices) != 2:
        return made
    (other,) = [choice for choice in choices if choice != {"type": "null"}]
    if "type" not in other or isinstance(other["type"], list):
        return made
    rest = {key: item for key, item in made.items() if key != "anyOf"}
    return {**other, **rest, "type": [other["type"], "null"]}


def _numbers(node: Any) -> Any:
    """Exact numbers are plain JSON numbers in an answer."""
    if isinstance(node, list):
        return [_numbers(item) for item in node]
    if not isinstance(node, dict):
        return node
    if "pattern" in node and node.get("type") in ("string", ["string", "null"]):
        return {key: item for key, item in node.items() if key not in ("pattern", "type")} | {
            "type": ["number", "null"] if isinstance(node["type"], list) else "number"
        }
    return {key: _numbers(item) for key, item in node.items()}


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
    print(
        "\n".join(f"{'stale' if '--check' in arguments else 'written'}: {name}" for name in stale)
        or "all fresh"
    )
    return 1 if stale and "--check" in arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
