"""A paper as one self-contained HTML file, the same on screen and in print."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from matcher.papers.model import Document

if TYPE_CHECKING:
    from jinja2 import Template
    from markupsafe import Markup

HERE = Path(__file__).resolve().parent
PAGE = "paper.html"


def render_html(paper: Document) -> tuple[bytes, tuple[str, ...]]:
    """Render a paper as HTML; this cannot fail."""
    return _template().render(paper=paper.to_dict()).encode(), ()


@cache
def _template() -> Template:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    # Everything is escaped, also in templates without an HTML file name. Our own drawings are inserted unchanged.
    sheets = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    sheets.filters["css_text"] = _css_text
    return sheets.get_template(PAGE)


def _css_text(text: str) -> Markup:
    """Escape a text for a string in a style sheet: every character that could end it by its code."""
    from markupsafe import Markup

    return Markup("".join(one if one.isalnum() else f"\\{ord(one):06x} " for one in text))
