"""The catalog of messages by language: a file for each, with the same keys and the same facts in braces.

``en.toml`` holds what papers and drawings say themselves. What is declared elsewhere (a caution, a rule's comparison,
a field's description) is English already: another language's file translates it under ``said``, by its template.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
ENGLISH = "en"
SAID = "said"


@cache
def tables(language: str) -> tuple[Mapping[str, str], Mapping[str, str]]:
    """A language's own words by key, and its translations by the English template."""
    document = tomllib.loads((HERE / f"{language}.toml").read_text(encoding="utf-8"))
    said = document.pop(SAID, {})
    return dict(_flat(document)), said


def _flat(table: dict[str, Any], stem: str = "") -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for name, value in table.items():
        key = f"{stem}{name}"
        found += _flat(value, f"{key}.") if isinstance(value, dict) else [(key, value)]
    return found


@cache
def languages() -> list[str]:
    """Every language that papers can be written in."""
    return sorted(path.stem for path in HERE.glob("*.toml"))
