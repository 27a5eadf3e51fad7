"""Codes to scan: the address of the page's form that takes a figure."""

from __future__ import annotations

from io import BytesIO
from urllib.parse import urlencode

from matcher.papers.model import Picture

BORDER = 2
"""Modules of white around a code: what readers want at least around its marks on white paper."""
SIDE_MM = 24.0


def page_address(page: str, screen: str, **asked: str) -> str:
    """A screen of the counter's page, with what it is asked for.

    >>> page_address("http://counter:8000/", "reading", subject="opening:tern/dash", field="depth_mm")
    'http://counter:8000/reading?subject=opening%3Atern%2Fdash&field=depth_mm'
    """
    return f"{page.rstrip('/')}/{screen}?{urlencode(asked)}"


def code(address: str, alt: str, caption: str) -> Picture:
    """An address as a QR code, readable though a seventh of it is smudged."""
    import segno

    made = BytesIO()
    segno.make_qr(address, error="m").save(
        made, kind="svg", xmldecl=False, svgns=True, border=BORDER, omitsize=True, nl=False
    )
    svg = made.getvalue().decode()
    return Picture(svg=svg, alt=alt, caption=caption, width_mm=SIDE_MM, height_mm=SIDE_MM)
