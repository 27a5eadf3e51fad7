"""The words of a paper in one language, and English sentences of answers said again in it."""

from __future__ import annotations

from collections.abc import Callable

from matcher.answers.said import Sentence, listed
from matcher.words import ENGLISH, tables


class Words:
    """The words of one language.

    >>> Words("de")("word.total")
    'Gesamt'
    """

    def __init__(self, language: str = ENGLISH) -> None:
        self.language = language
        self._own, self._said = tables(language)

    def __call__(self, key: str, **facts: str) -> str:
        """Text of a key, with its facts filled in; a KeyError if there is no such key, or a fact is missing."""
        return self._own[key].format(**facts) if facts else self._own[key]

    def holds(self, key: str) -> bool:
        """Whether there is such a key."""
        return key in self._own

    def label(self, name: str) -> str:
        """A name that the shop typed, such as that of a place, in this language where it is a usual one."""
        return self._said.get(name, name)

    def again(self, sentence: str, tell: Callable[[str, str], str] = lambda name, fact: fact) -> str:
        """An English sentence in this language; what it does not hold stays as it is.

        ``tell`` says a fact by its name: a place by its label, an amount with the language's comma.
        """
        if not isinstance(sentence, Sentence):
            return self._said.get(str(sentence), str(sentence))
        facts = {
            name: listed([self._fact(tell, name, one) for one in ([fact] if isinstance(fact, str) else fact)])
            for name, fact in sentence.facts.items()
        }
        return self._said.get(sentence.template, sentence.template).format(**facts)

    def _fact(self, tell: Callable[[str, str], str], name: str, fact: str) -> str:
        if isinstance(fact, Sentence):
            return self.again(fact, tell)
        told = tell(name, fact)
        return self._said.get(str(fact), fact) if told is fact else told
