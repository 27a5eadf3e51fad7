"""What holds for every drawing, whatever words stand in it: well formed, legible, readable aloud, fit for PDF."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from matcher.drawings.svg import Drawing, clean
from matcher.drawings.words import DrawingWords
from matcher.lengths import tell_lengths_in
from tests.drawings.gallery import HOSTILE, drawings
from tests.drawings.read import SVG, meeting, per, texts, tree

NAMES = ("Radio opening in the dash surround", *HOSTILE)
PLAIN_TAGS = {
    "svg", "title", "desc", "defs", "pattern", "g", "rect", "line", "ellipse", "polygon", "polyline", "path", "text",
}  # fmt: skip
A4_W_MM, A4_H_MM = 172.0, 275.0
TEMPLATE_W_MM, TEMPLATE_H_MM = 198.0, 297.0
"""A template is as large as its hole: that of a large oval goes on two sheets of A4 with a narrow edge."""


UNITS = {"en": "mm", "de": "in"}


@pytest.fixture(scope="module", params=UNITS)
def words(request: pytest.FixtureRequest) -> DrawingWords:
    """English, drawn in millimeters, and German, drawn in inches."""
    return DrawingWords(request.param)


@pytest.fixture(scope="module", params=NAMES, ids=range(len(NAMES)))
def gallery(request: pytest.FixtureRequest, words: DrawingWords) -> Iterator[dict[str, Drawing]]:
    tell_lengths_in(UNITS[words.lang])
    yield dict(drawings(request.param, words))
    tell_lengths_in("mm")


def test_it_is_plain_svg_without_script_style_or_reference(gallery: dict[str, Drawing]) -> None:
    for name, drawing in gallery.items():
        root = tree(drawing)
        assert {element.tag.removeprefix(SVG) for element in root.iter()} <= PLAIN_TAGS, name
        attributes = {key for element in root.iter() for key in element.attrib}
        assert not {key for key in attributes if key.startswith("on") or key in ("style", "href")}, name
        assert set(re.findall(r"url\(([^)]*)\)", drawing)) <= {f"#{e.get('id')}" for e in root.iter()}, name
        assert drawing.count("http") == 1, name


def test_its_ids_are_its_own(gallery: dict[str, Drawing]) -> None:
    ids = [element.get("id") for drawing in gallery.values() for element in tree(drawing).iter() if element.get("id")]
    assert len(ids) == len(set(ids))


def test_it_can_be_read_aloud(gallery: dict[str, Drawing]) -> None:
    for name, drawing in gallery.items():
        root = tree(drawing)
        by_id = {element.get("id"): element.text for element in root.iter()}
        said = [by_id[label] for label in str(root.get("aria-labelledby")).split()]
        assert root.get("role") == "img" and said == [drawing.heading, drawing.describes], name
        assert all(said), name


def test_no_text_lies_over_another(gallery: dict[str, Drawing]) -> None:
    assert {name: found for name, drawing in gallery.items() if (found := meeting(drawing))} == {}


def test_every_text_is_legible_and_on_the_paper(gallery: dict[str, Drawing]) -> None:
    for name, drawing in gallery.items():
        left, top, wide, high = map(float, str(tree(drawing).get("viewBox")).split())
        for text, box in texts(drawing):
            assert box.h / per(drawing) >= 2.5 - 1e-9, (name, text)
            assert box.x >= left and box.x + box.w <= left + wide, (name, text)
            assert box.y >= top and box.y + box.h <= top + high, (name, text)


def test_it_goes_on_a_sheet_of_a4(gallery: dict[str, Drawing]) -> None:
    sizes = {name: (drawing.w_mm, drawing.h_mm) for name, drawing in gallery.items()}
    most = {name: TEMPLATE_W_MM if "template" in name else A4_W_MM for name in sizes}
    high = {name: TEMPLATE_H_MM if "template" in name else A4_H_MM for name in sizes}
    assert {name: size for name, size in sizes.items() if size[0] > most[name] or size[1] > high[name]} == {}


def test_it_is_the_same_twice(gallery: dict[str, Drawing], words: DrawingWords, request: pytest.FixtureRequest) -> None:
    tell_lengths_in(UNITS[words.lang])
    name = request.node.callspec.params["gallery"]
    assert dict(drawings(name, words)) == gallery


def test_a_hostile_name_stands_in_it_as_text(words: DrawingWords) -> None:
    # The response names letters alone, a sketch its figure.
    found = {key: one for key, one in drawings(HOSTILE[0], words) if not key.startswith(("response", "measure"))}
    assert all(HOSTILE[0] in f"{drawing.heading} {drawing.describes}" for drawing in found.values())


@pytest.mark.parametrize(
    ("text", "written"),
    [("a\u202eb\x07c\ud800\n d", "abc d"), ("e\u0301x\u0301", "\u00e9x"), ("\ufffe\u200b", ""), ("  ", "")],
)
def test_what_cannot_be_written_is_left_out(text: str, written: str) -> None:
    assert clean(text) == written


IN_NO_FONT = HOSTILE[4]
"""The fonts that typst brings along have no letters of the far east; a paper falls back to a plain PDF there."""


@pytest.mark.parametrize("name", [name for name in HOSTILE if name != IN_NO_FONT], ids=ascii)
def test_pdf_for_screen_readers_takes_every_one(tmp_path: Path, words: DrawingWords, name: str) -> None:
    import typst

    source = ['#set document(title: "Drawings")', f'#set text(lang: "{words.lang}")', "#set page(width: 220mm)"]
    for key, drawing in drawings(name, words):
        (tmp_path / f"{key}.svg").write_text(drawing, encoding="utf-8")
        source.append(f'#image("{key}.svg", alt: "{key}")')
    (tmp_path / "all.typ").write_text("\n".join(source), encoding="utf-8")
    pdf = typst.compile(str(tmp_path / "all.typ"), root=str(tmp_path), ignore_system_fonts=True, pdf_standards="ua-1")
    assert isinstance(pdf, bytes) and pdf.startswith(b"%PDF")
