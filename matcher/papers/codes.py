"""QR codes with the address of the page's form for a figure."""

from __future__ import annotations

from io import BytesIO
from urllib.parse import urlencode

from matcher.papers.model import Picture

BORDER = 2
"""White modules around a code: the least that readers need around its marks on white paper."""
SIDE_MM = 24.0


def page_address(page: str, screen: str, **asked: str) -> str:
    """Return the address of a screen of the counter's page, with its query.

    >>> page_address("http://counter:8000/", "reading", subject="opening:tern/dash", field="depth_mm")
    'http://counter:8000/reading?subject=opening%3Atern%2Fdash&field=depth_mm'
    """
    return f"{page.rstrip('/')}/{screen}?{urlencode(asked)}"


def code(address: str, alt: str, caption: str) -> Picture:
    """Return an address as a QR code that tolerates one seventh of damage."""
    import segno

    made = BytesIO()
    segno.make_qr(address, error="m").save(
        made, kind="svg", xmldecl=False, svgns=True, border=BORDER, omitsize=True, nl=False
    )
    svg = made.getvalue().decode()
    return Picture(svg=svg, alt=alt, caption=caption, width_mm=SIDE_MM, height_mm=SIDE_MM)
