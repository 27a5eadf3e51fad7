"""A paper as HTML: one file that needs no other, on screen as on paper."""

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
    """The paper's bytes; nothing can fail to come out."""
    return _template().render(paper=paper.to_dict()).encode(), ()


@cache
def _template() -> Template:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    # Everything is escaped, whatever the file is called. Drawings are our own and come in as they are.
    sheets = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    sheets.filters["css_text"] = _css_text
    return sheets.get_template(PAGE)


def _css_text(text: str) -> Markup:
    """A text as it stands in a string of a style sheet: every sign that could end it or the sheet by its number."""
    from markupsafe import Markup

    return Markup("".join(one if one.isalnum() else f"\\{ord(one):06x} " for one in text))
