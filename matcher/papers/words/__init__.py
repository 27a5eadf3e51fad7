"""The wording of papers by language: a file for each, with the same keys and the same facts in braces.

``en.toml`` holds what papers say themselves. What is declared elsewhere (a caution, a rule's comparison,
a field's description) is English already: another language's file translates it under ``said``, by its template.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from matcher.explain.said import Said, listed

HERE = Path(__file__).resolve().parent
ENGLISH = "en"
SAID = "said"


class Words:
    """The words of one language.

    >>> Words("de")("word.total")
    'Gesamt'
    """

    def __init__(self, language: str = ENGLISH) -> None:
        self.language = language
        self._own, self._said = tables(language)

    def __call__(self, key: str, **facts: str) -> str:
        """What a key says, with its facts in it; a KeyError where there is no such key, or a fact is left out."""
        return self._own[key].format(**facts) if facts else self._own[key]

    def holds(self, key: str) -> bool:
        """Whether there is such a key."""
        return key in self._own

    def again(self, sentence: str, tell: Callable[[str, str], str] = lambda name, fact: fact) -> str:
        """An English sentence in this language; what it does not hold stays as it is.

        ``tell`` says a fact by its name: a place by its label, an amount with the language's comma.
        """
        if not isinstance(sentence, Said):
            return self._said.get(str(sentence), str(sentence))
        facts = {
            name: listed([self._fact(tell, name, one) for one in ([fact] if isinstance(fact, str) else fact)])
            for name, fact in sentence.facts.items()
        }
        return self._said.get(sentence.template, sentence.template).format(**facts)

    def _fact(self, tell: Callable[[str, str], str], name: str, fact: str) -> str:
        if isinstance(fact, Said):
            return self.again(fact, tell)
        told = tell(name, fact)
        return self._said.get(str(fact), fact) if told is fact else told


@cache
def tables(language: str) -> tuple[Mapping[str, str], Mapping[str, str]]:
    """A language's own words by key, and its translations by the English template."""
    document = tomllib.loads((HERE / f"{language}.toml").read_text(encoding="utf-8"))
    said = document.pop(SAID, {})
    return dict(_flat(document)), said


def _flat(table: dict[str, Any], stem: str = "") -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for name, value in table.items():
        key = f"{stem}{name}"
        found += _flat(value, f"{key}.") if isinstance(value, dict) else [(key, value)]
    return found


def languages() -> list[str]:
    """Every language that papers can be written in."""
    return sorted(path.stem for path in HERE.glob("*.toml"))
