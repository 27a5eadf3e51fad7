"""A paper as PDF: tagged, with the fonts of the typesetter, byte for byte the same on every machine."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final, Literal

from matcher.papers.model import Document

SHEET = Path(__file__).resolve().parent / "paper.typ"
STANDARD: Final = "ua-1"


def render_pdf(paper: Document) -> tuple[bytes, tuple[str, ...]]:
    """Return the paper's bytes and warnings.

    If no font has a character of a text, the accessibility standard (PDF/UA) cannot be met: the paper is then made
    without it, with a warning.
    """
    import typst

    try:
        return _compiled(paper, STANDARD), ()
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
        told = f"{paper.name}: {str(error).splitlines()[0]}; the PDF is made without the standard {STANDARD}"
    return _compiled(paper, None), (told,)


def _compiled(paper: Document, standard: Literal["ua-1"] | None) -> bytes:
    import typst

    inputs = {"paper": json.dumps(paper.to_dict(), ensure_ascii=False)}
    made = typst.compile(
        SHEET.read_bytes(), format="pdf", ignore_system_fonts=True, sys_inputs=inputs, pdf_standards=standard or []
    )
    assert isinstance(made, bytes)
    return made
