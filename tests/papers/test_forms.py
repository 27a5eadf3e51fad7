"""What both forms of every paper have to hold to: all of the text, none of it read as markup, the same bytes twice."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from matcher.answers import messages_bass, messages_beside
from matcher.answers.messages import amount
from matcher.answers.sentences import Sentence
from matcher.papers.cautions import NOWHERE, ON, cautions_of
from matcher.papers.dossier import Dossier
from matcher.papers.paper import FORMATS, KINDS, document, make
from matcher.settings import Settings
from matcher.words import languages
from tests.papers.conftest import html_text, squeezed, texts_of, told
from tests.papers.town import ARABIC, LONG, TEXT

LANGUAGES = languages()


def spoken(dossier: Dossier, **words: str) -> Dossier:
    """The same dossier with other words in its settings."""
    settings = Settings(dossier.settings.own, {**dossier.settings.own_words, **words})
    return replace(dossier, settings=settings)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_page_shows_every_text_as_it_stands(dossier: Dossier, kind: str, language: str) -> None:
    asked = spoken(dossier, language=language)
    shown = html_text(make(asked, kind, "html").data)
    lost = [text for text in texts_of(document(asked, kind).to_dict()) if squeezed(text) not in shown]
    assert lost == []


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_pdf_shows_every_text_as_it_stands(
    dossier: Dossier, poppler: Callable[..., bytes], kind: str, language: str
) -> None:
    asked = spoken(dossier, language=language)
    shown = squeezed(poppler("pdftotext", make(asked, kind, "pdf").data, "-raw", "-", "-").decode())
    texts = [squeezed(text) for text in texts_of(document(asked, kind).to_dict()) if ARABIC not in text]
    lost = [text for text in texts if text not in shown]
    assert lost == []


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_no_page_of_a_pdf_is_nearly_empty(
    dossier: Dossier, poppler: Callable[..., bytes], kind: str, language: str
) -> None:
    """A page held one row of a table, another a signature alone."""
    text = poppler("pdftotext", make(spoken(dossier, language=language), kind, "pdf").data, "-layout", "-", "-")
    *pages, end = text.decode().split("\f")
    lines = [len([line for line in page.splitlines() if line.strip()]) for page in pages]
    assert end == "" and min(lines) >= 9, lines


@pytest.mark.parametrize("kind", KINDS)
def test_a_paper_is_made_the_same_twice(dossier: Dossier, kind: str) -> None:
    for form in FORMATS:
        assert make(dossier, kind, form) == make(dossier, kind, form)


def test_every_caution_stands_where_it_can_be_heeded(dossier: Dossier) -> None:
    cautions = [one for one in dossier.options.cautions if ON.get(getattr(one, "template", one)) != NOWHERE]
    assert len(cautions) > 7
    assert {one: kinds for one in cautions if not (kinds := [kind for kind in KINDS if cautions_of(kind, [one])])} == {}
    assert all(len(cautions_of(kind, cautions)) < len(cautions) for kind in KINDS)


@pytest.mark.parametrize(("year", "warned"), [(1972, ""), (1973, "A"), (1996, "A"), (1997, "AO"), (None, "AO")])
def test_a_car_is_warned_of_what_its_year_may_have(dossier: Dossier, year: int | None, warned: str) -> None:
    """A car of 1956 was warned of airbags and of orange cables."""
    cautions = cautions_of("fitting", dossier.options.cautions, year=year)
    assert "".join(one[0] for one in cautions if one.startswith(("Airbags", "Orange"))) == warned


@pytest.mark.parametrize("kind", KINDS)
def test_the_cautions_of_a_paper_stand_on_it(dossier: Dossier, kind: str) -> None:
    page = told(document(dossier, kind)).lower()
    packages = [one.package for one in dossier.offered] if kind == "proposal" else dossier.options.packages[:1]
    lines = [package.lines for package in packages]
    cautions = [str(one) for one in cautions_of(kind, dossier.options.cautions, lines, dossier.vehicle["year"])]
    named = {name: f"{part['maker']} {part['model']}" for name, part in dossier.parts.items()}
    shown = [re.sub(r"[\w-]+", lambda word: named.get(word[0], word[0]), caution).lower() for caution in cautions]
    assert shown or kind == "setup"
    assert [caution for caution in shown if caution not in page] == []


@pytest.mark.parametrize(
    ("kind", "caution", "slots"),
    [
        ("fitting", messages_bass.LIFT, {"bass"}),
        ("fitting", Sentence(messages_beside.FUSE_PLACE, within=amount(450, "mm")), {"amplifier"}),
        ("proposal", messages_beside.FILM_LAW, {"film"}),
        ("handover-owner", Sentence(messages_beside.EFFORT, layer="lock", effort="chore"), {"security"}),
    ],
)
def test_cautions_are_those_of_the_package(dossier: Dossier, kind: str, caution: str, slots: set[str]) -> None:
    """A car without an amplifier was told where its main fuse sits, one without film how dark glass may be."""
    lines = dossier.options.packages[0].lines
    others = [line for line in lines if line.slot not in slots]
    assert [caution in cautions_of(kind, dossier.options.cautions, [some]) for some in (lines, others)] == [True, False]


def test_a_page_needs_no_other_file_and_runs_nothing(dossier: Dossier) -> None:
    page = make(dossier, "proposal", "html").data.decode()
    assert re.findall(r"""(?:src|href)=["'](?!data:)""", page) == []
    assert "<script" not in page and "<b>Sons" not in page and "<i>for" not in page
    assert "&lt;b&gt;Sons&lt;/b&gt; {{ 7*7 }}" in page


def test_a_pdf_is_tagged_and_titled(dossier: Dossier, poppler: Callable[..., bytes]) -> None:
    info = poppler("pdfinfo", make(plain_words(dossier), "proposal", "pdf").data, "-").decode()
    assert re.search(r"Tagged:\s+yes", info)
    assert re.search(r"Title:\s+Proposal", info)


def test_a_letter_without_a_font_is_told_and_costs_only_the_standard(dossier: Dossier) -> None:
    made = make(plain_words(dossier, "漢"), "proposal", "pdf")
    assert made.data.startswith(b"%PDF")
    (warning,) = made.warnings
    assert "漢" in warning and "proposal-j1" in warning
    assert make(plain_words(dossier), "proposal", "pdf").warnings == ()


def plain_words(dossier: Dossier, label: str = "Sedan") -> Dossier:
    """The same dossier with texts that every font holds."""
    parts = {name: figures | {"maker": "Ulvo", "model": "One"} for name, figures in dossier.parts.items()}
    packages = [
        replace(each, lines=[replace(one, label="Ulvo One") for one in each.lines]) for each in dossier.options.packages
    ]
    options = replace(dossier.options, packages=packages, tiers=[])
    return replace(dossier, job={**dossier.job, "label": label}, parts=parts, options=options, package=packages[0])


def test_the_hard_texts_are_on_it(dossier: Dossier) -> None:
    """The texts that the tests above lean on are really told."""
    shown = told(document(dossier, "proposal"))
    assert all(text in shown for text in (TEXT.strip(), LONG, ARABIC))
