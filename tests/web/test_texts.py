"""Every text of the page stands in one place, is used, and is there."""

from __future__ import annotations

import re
from pathlib import Path

import matcher.web
from matcher.words import PAGE
from tests.catalogs import forms_of

ROOM = Path(matcher.web.__file__).parent
TEXTS = set(forms_of("en", PAGE))
SOURCES = [*(ROOM / "templates").glob("*.html"), *ROOM.glob("*.py")]
PUT_TOGETHER = (
    "body",
    "material",
    "step",
    "kind",
    "basis",
    "family",
    "slot",
    "verdict",
    "do",
    "cargo",
    "spot",
    "beside",
    "wish",
    "group",
    "paper",
)
"""Kinds of which a template asks for the word of a name: `word("step", name)`, `t("do." ~ what)`."""
ALSO = (
    "busy",
    "chain_gone",
    "lost",
    "refused",
    "tab",
    "chip",
    "back",
    "step_of",
    "note",
    "options.tiers",
    "catalog.search",
    "catalog.problems",
    "catalog.history",
    "history",
    "owned.box",
    "readings.claimed",
    "units",
    "yes",
    "no",
)
OF_PAPERS = ("setup.verdict", "setup.clean", "setup.polarity", "reads")


def test_every_text_that_is_asked_for_is_there() -> None:
    asked = {
        key
        for path in SOURCES
        for key in re.findall(r"""(?:\bt|TEXTS|\btext)\(\s*['"]([a-z_.]+)['"]\s*[,)]""", path.read_text("utf-8"))
    }
    assert asked
    assert asked - TEXTS - set(forms_of("en")) == set()  # a customer's page has the texts of papers


def test_no_text_stands_there_unused() -> None:
    whole = "\n".join(path.read_text("utf-8") for path in SOURCES)
    built = (*PUT_TOGETHER, *ALSO, *OF_PAPERS)
    unused = [key for key in sorted(TEXTS) if f'"{key}"' not in whole and f"'{key}'" not in whole]
    assert [key for key in unused if not key.startswith(built)] == []
