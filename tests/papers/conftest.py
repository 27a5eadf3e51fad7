"""A small shop whose job has everything that papers tell, and readers for what comes out."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from html.parser import HTMLParser
from typing import Any

import pytest

from matcher.papers.dossier import Dossier
from matcher.papers.model import Document
from tests.factories import Bench
from tests.papers.town import lay_town

DAY = date(2026, 3, 4)


@pytest.fixture(scope="session")
def bench() -> Iterator[Bench]:
    """A store in memory with one vehicle, its parts and its job."""
    made = Bench()
    lay_town(made)
    yield made
    made.con.close()


@pytest.fixture(scope="session")
def dossier(bench: Bench) -> Dossier:
    """What the papers of its job are made from."""
    return bench.papers.dossier("j1", on=DAY)


@pytest.fixture(scope="session")
def poppler() -> Callable[..., bytes]:
    """A tool that reads PDF. Without it a test is skipped by hand and fails in CI, never unseen there."""
    if shutil.which("pdftotext") is None:
        reason = "needs poppler's pdftotext on the PATH"
        if os.environ.get("BOLTBACK_REQUIRE_BROWSER"):
            pytest.fail(reason)
        pytest.skip(reason)

    def run(tool: str, pdf: bytes, *arguments: str) -> bytes:
        return subprocess.run([tool, *arguments], input=pdf, capture_output=True, check=True).stdout

    return run


class Visible(HTMLParser):
    """The text of a page that a reader sees."""

    def __init__(self) -> None:
        super().__init__()
        self.told: list[str] = []
        self.hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.hidden += tag in ("style", "title")

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag in ("style", "title")

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.told.append(data)


def html_text(page: bytes) -> str:
    """What a reader of a page sees, without the space between."""
    reader = Visible()
    reader.feed(page.decode())
    return squeezed("".join(reader.told))


UNSEEN = {"kind", "svg", "alt", "tone", "mark", "name", "language", "page", "page_word", "names"}
"""Fields of a paper whose texts are not printed, or not in its reading order."""


def texts_of(plain: Any) -> Iterator[str]:
    """Every printed text of a paper as plain data, in reading order."""
    if isinstance(plain, str):
        yield plain
    elif isinstance(plain, dict):
        for name, value in plain.items():
            yield from () if name in UNSEEN else texts_of(value)
    elif isinstance(plain, list):
        for value in plain:
            yield from texts_of(value)


def told(paper: Document) -> str:
    """Every text of a paper, a line each, with plain spaces."""
    return "\n".join(texts_of(paper.to_dict())).replace("\u00a0", " ")


def squeezed(text: str) -> str:
    """A text without space, hyphens and the marks of direction: a line may break anywhere."""
    return re.sub(r"[\s\u00ad\u200b\u200e\u200f\u202a-\u202e\u2066-\u2069-]+", "", text)


AMOUNT = re.compile(r"(\d[\d,]*\.\d\d)\sEUR")


def amounts(text: str) -> list[Decimal]:
    """Every amount of money in an English text."""
    return [Decimal(found.replace(",", "")) for found in AMOUNT.findall(text)]
