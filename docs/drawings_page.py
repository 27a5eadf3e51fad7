"""The page of the drawings, with samples drawn from the demo's data."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

import data_demo
from matcher import Shop
from matcher.drawings.svg import Drawing

JOB, HEARD = "tern-nocut", "skua-work"
"""The job whose package is drawn, and one on a car whose present sound is known."""
HEAD = """# Drawings

Every drawing is SVG by the tool's own code: the same text serves the page, a paper and a PDF. A length in the file is
the figure itself, in millimeters; letters and lines are sized on paper. Each has a title and a description to be read
aloud, a ground of its own, hatchings and line styles beside its colors, and a scale bar where it is to scale. What
nobody has measured is dashed and says so. Names are catalog text: they are escaped and cut to length.

`boltback draw VEHICLE/OPENING [--part P] [--adapter A] [--out DIR]` writes those of an opening. In code they come from
`Shop.drawings`, and below that from the functions of
`matcher/drawings/`, which take openings, parts and answers. To keep its scale a drawing is placed at its own width,
`Drawing.w_mm`; a template is worth nothing at any other.
"""
SAYS = {
    "dash": "A head unit with a floating screen: where it hangs, how far it could, and what stays clear.",
    "side": "The same from the side: body, plugs, and what they leave behind.",
    "today": "On a proposal: the dash as it is.",
    "after": "On a proposal: the same stretch of it, to the same scale, with the unit of a package.",
    "response": "On a proposal: how loud each package gets, and the car today, from the figures of their parts.",
    "back": "On a proposal: what is kept for the day on which the car is put back.",
    "front": "A loudspeaker that would take a cut: what is hatched goes.",
    "section": "The same in section, with what it leaves behind and in front beside what is asked for.",
    "cargo": "A box in a cargo space, on its false floor.",
    "system": "A whole package.",
    "curve": "The most that its bass gives, and what sets that.",
    "coils": "How its coils are joined.",
    "margins": "By how much a part fits, the tightest first.",
    "measuring": "Where to measure a figure that is not known.",
}
"""Description of each sample, by its name."""


def demo_shop(folder: Path) -> Shop:
    """The demo's shop, in a store of its own in a folder."""
    shop = Shop(folder / "demo.duckdb")
    shop.set_all(data_demo.SETTINGS)
    shop.catalog.load_families(data_demo.lists())
    shop.vehicles.load_all(*data_demo.vehicles())
    shop.jobs.load_all(*data_demo.jobs())
    return shop


@cache
def samples() -> dict[str, Drawing]:
    """The samples by their names, on a demo store of their own."""
    with tempfile.TemporaryDirectory() as folder:
        shop = demo_shop(Path(folder))
        package = shop.papers.dossier(JOB).drawings
        cut = shop.drawings.drawing("tern-8/rear-shelf", "SK-SP052", alteration="metal_cut")
        return {
            "dash": package["dash/front"],
            "side": package["dash/side"],
            "today": package["offer/today"],
            "after": package["offer/B"],
            "response": shop.papers.dossier(HEARD, drawn=False).drawings["offer/response"],
            "back": package["offer/back"],
            "front": cut["front"],
            "section": cut["section"],
            "cargo": package["cargo/space"],
            "system": package["system"],
            "curve": package["bass-curve"],
            "coils": package["coils"],
            "margins": cut["margins"],
            "measuring": shop.drawings.measuring("auk-e/door", "depth_mm"),
        }


def drawings_page() -> str:
    """The page: each sample with what it shows."""
    shown = [
        f"## {drawing.heading}\n\n{SAYS[name]}\n\n![{drawing.alt}](pictures/{name}.svg)"
        for name, drawing in samples().items()
    ]
    return "\n\n".join([HEAD.rstrip(), *shown])
