"""The published JSON Schemas, generated from the models and checked in."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


@cache
def read_schema(name: str) -> dict[str, Any]:
    """A published schema by its name, such as ``vehicle`` or ``fit``."""
    schema: dict[str, Any] = json.loads((FOLDER / f"{name}.schema.json").read_text(encoding="utf-8"))
    return schema
