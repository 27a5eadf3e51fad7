"""Slots beside the sound: film on the glass, layers of security. No link concerns them."""

from __future__ import annotations

from collections.abc import Callable

from matcher.search.candidates.beside import Beside
from matcher.search.candidates.film import films
from matcher.search.candidates.security import layers
from matcher.search.catalog.catalog import Catalog
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring

Filling = Callable[[Catalog, JobQuestion, Scoring, int], Beside]

SLOTS: dict[str, tuple[Callable[[JobQuestion], bool], Filling]] = {
    "film": (lambda question: question.asks_film, films),
    "security": (lambda question: question.asks_security, layers),
}
"""Each slot by its name: whether a job asks for it, and what fills it."""


def beside(catalog: Catalog, question: JobQuestion, scoring: Scoring, k: int) -> list[Beside]:
    """The slots that a job asks for, each with every way to fill it that may stand in one of the k best packages."""
    return [fill(catalog, question, scoring, k) for asked, fill in SLOTS.values() if asked(question)]
