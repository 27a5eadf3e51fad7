"""The words of a paper in one language, and translation of English sentences in answers."""

from __future__ import annotations

from collections.abc import Callable

from matcher.answers.sentences import Sentence, listed
from matcher.words import Messages


class Words(Messages):
    """The words of one language, also for sentences of answers."""

    def again(self, sentence: str, tell: Callable[[str, str], str] = lambda name, fact: fact) -> str:
        """Translate an English sentence; without a translation it stays unchanged.

        ``tell`` formats a fact by name: a place by its label, an amount with the language's decimal mark.
        """
        if not isinstance(sentence, Sentence):
            return self.translated(str(sentence))
        facts = {
            name: listed([self._fact(tell, name, one) for one in ([fact] if isinstance(fact, str) else fact)])
            for name, fact in sentence.facts.items()
        }
        count = int(str(sentence.facts["count"])) if sentence.many else 1
        return self.translated(sentence.template, sentence.many, count).format(**facts)

    def _fact(self, tell: Callable[[str, str], str], name: str, fact: str) -> str:
        if isinstance(fact, Sentence):
            return self.again(fact, tell)
        told = tell(name, fact)
        return self.translated(str(fact)) if told is fact else told
