"""A drawing read back: its shapes by name, its texts with the room they take, as a checker with a ruler would."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass

from matcher.drawings.svg import ADVANCE, Drawing, columns

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Box:
    """A rectangle on the sheet."""

    x: float
    y: float
    w: float
    h: float

    def meets(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            min(self.x + self.w, other.x + other.w) - max(self.x, other.x) > 0.01
            and min(self.y + self.h, other.y + other.h) - max(self.y, other.y) > 0.01
        )


def tree(drawing: str) -> ET.Element:
    """The document, which has to be well formed."""
    return ET.fromstring(drawing)


def named(drawing: str, name: str) -> list[ET.Element]:
    """The elements of a class."""
    return [element for element in tree(drawing).iter() if element.get("class") == name]


def size_of(element: ET.Element) -> tuple[float, float]:
    """Width and height of a rectangle or an ellipse, in millimeters of the thing."""
    if element.tag == f"{SVG}ellipse":
        return 2 * float(element.get("rx", "nan")), 2 * float(element.get("ry", "nan"))
    return float(element.get("width", "nan")), float(element.get("height", "nan"))


def texts(drawing: str) -> list[tuple[str, Box]]:
    """Every text with the room it takes."""
    found = []
    for element in tree(drawing).iter(f"{SVG}text"):
        text, high = element.text or "", float(element.get("font-size", "nan"))
        wide = columns(text) * high * ADVANCE
        start = (
            float(element.get("x", "nan"))
            - {"start": 0, "middle": wide / 2, "end": wide}[element.get("text-anchor", "start")]
        )
        found.append((text, Box(start, float(element.get("y", "nan")) - 0.36 * high - high / 2, wide, high)))
    return found


def meeting(drawing: str) -> list[tuple[str, str]]:
    """Texts that lie over one another."""
    found = texts(drawing)
    return [(a, b) for i, (a, one) in enumerate(found) for b, other in found[:i] if one.meets(other)]


def per(drawing: Drawing) -> float:
    """Millimeters of the thing on one of paper, read off the document itself."""
    root = tree(drawing)
    width = float(root.get("viewBox", "").split()[2])
    return width / float(root.get("width", "").removesuffix("mm"))
