"""OpenDocument spreadsheets for tests, written by hand as an office program writes them."""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

NAMES = (
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" '
    'xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
)


def cell(shown: str, value: str = "", kind: str = "float", **attributes: str) -> str:
    """A cell that shows a text; with a value it is a number (or of another kind), else text."""
    more = "".join(
        f" {name.replace('__', ':').replace('_', '-')}={quoteattr(text)}" for name, text in attributes.items()
    )
    typed = f' office:value-type="{kind}" office:value="{value}"' if value else ' office:value-type="string"'
    inner = f"<text:p>{escape(shown)}</text:p>" if shown else ""
    return f"<table:table-cell{typed if shown or value else ''}{more}>{inner}</table:table-cell>"


def row(*cells: str, times: int = 1) -> str:
    """A row of texts and of cells made by `cell`, and the many empty ones that office programs leave behind."""
    made = [one if one.startswith("<") else cell(one) for one in cells]
    return (
        f'<table:table-row table:number-rows-repeated="{times}">{"".join(made)}'
        '<table:table-cell table:number-columns-repeated="16000"/></table:table-row>'
    )


def write_ods(path: Path, sheets: dict[str, Sequence[str]]) -> Path:
    """A spreadsheet of these rows, by sheet."""
    tables = "".join(
        f"<table:table table:name={quoteattr(name)}>{''.join(rows)}{row(times=1_000_000)}</table:table>"
        for name, rows in sheets.items()
    )
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        body = f"<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body>"
        archive.writestr("content.xml", f"<office:document-content {NAMES}>{body}</office:document-content>")
    return path
