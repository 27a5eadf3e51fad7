"""The little Markdown that the generated pages need."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from catalog_schema.sources import Source
from matcher.settings import Setting


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; cells may hold code, line ends in them become spaces."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(cell(one) for one in line)} |" for line in lines) + "\n"


def cell(text: str) -> str:
    """Text as a table's cell takes it: a bar would end the cell, even inside code."""
    return " ".join(text.split()).replace("|", "\\|")


def plain(text: str) -> str:
    """Text in which nothing is Markdown or HTML by chance."""
    for mark in "\\*_<>[]`":
        text = text.replace(mark, f"\\{mark}")
    return text


def code(text: str) -> str:
    """Text as code; nothing for no text."""
    return f"`{text}`" if text else ""


def source_text(source: Source) -> str:
    """Where something comes from, what nobody published or looked up marked as such."""
    match source.standing:
        case "published":
            return plain(source.text)
        case "common practice":
            return "*common practice, no published source*"
        case _:
            return f"{plain(source.text)} (*from memory*)"


def amount(setting: Setting) -> str:
    """A setting's default with its unit."""
    return f"{setting.value:f} {setting.unit}".rstrip()
