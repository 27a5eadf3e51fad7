"""The catalogs of messages as translators see them."""

from __future__ import annotations

from babel.messages.pofile import read_po

from matcher.words import PAPERS, source_of


def forms_of(language: str, domain: str = PAPERS) -> dict[str, tuple[str, ...]]:
    """The forms of every message: one, or one for each plural."""
    with source_of(language, domain).open("rb") as file:
        return {_listed(one.id)[0]: _listed(one.string) for one in read_po(file) if one.id}


def _listed(text: str | tuple[str, ...]) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else text
