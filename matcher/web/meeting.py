"""Two who change one thing: what each changed since they saw it, and what comes of both."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass
from typing import Any

from matcher.errors import ChangedMeanwhile, StoreBusy
from matcher.store.kept_documents import KeptDocument

Fields = dict[str, Any]
"""A document as a form shows it: text, or a list of texts, by the field's name."""

TRIES = 5


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that was changed from two sides, or from the other alone."""

    field: str
    seen: Any
    theirs: Any
    mine: Any


@dataclass(frozen=True, slots=True)
class Meeting:
    """What comes of two changes: fields that one side changed are as that side has them."""

    fields: Fields
    """Both changes; where they differ, mine."""
    clashes: list[Difference]
    """Fields that both changed, differently."""
    taken: list[Difference]
    """Fields that the other changed, and I did not."""


def meet(seen: Mapping[str, Any], mine: Mapping[str, Any], theirs: Mapping[str, Any]) -> Meeting:
    """What comes of a form that was filled in on an old state.

    >>> meet({"a": "1", "b": "1"}, {"a": "2", "b": "1"}, {"a": "1", "b": "3"}).fields
    {'a': '2', 'b': '3'}
    >>> meet({"a": "1"}, {"a": "2"}, {"a": "3"}).clashes
    [Difference(field='a', seen='1', theirs='3', mine='2')]
    """
    fields: Fields = {}
    clashes, taken = [], []
    for name in dict.fromkeys([*theirs, *mine]):
        was, now, own = seen.get(name, ""), theirs.get(name, ""), mine.get(name, seen.get(name, ""))
        fields[name] = now if own == was else own
        difference = Difference(name, was, now, own)
        if own not in (was, now) and now != was:
            clashes.append(difference)
        elif own == was and now != was:
            taken.append(difference)
    return Meeting(fields, clashes, taken)


class StaleForm(Exception):
    """Both changed the same field: a person has to say which it is to be."""

    def __init__(self, meeting: Meeting, kept: KeptDocument) -> None:
        self.meeting, self.kept = meeting, kept
        super().__init__(", ".join(one.field for one in meeting.clashes))


@dataclass(frozen=True, slots=True)
class Saved:
    """What was saved, and what of the other's changes stands beside it."""

    kept: KeptDocument
    taken: list[Difference]


@dataclass(frozen=True, slots=True)
class Desk:
    """How one kind of thing is looked up, shown as a form, and kept."""

    look: Callable[[], KeptDocument]
    fields_of: Callable[[dict[str, Any]], Fields]
    document_of: Callable[[dict[str, Any], Fields], dict[str, Any]]
    """The document with the fields of a form written into it."""
    keep: Callable[[dict[str, Any], str], KeptDocument]
    turn: Callable[[], AbstractContextManager[None]]
    """Keeps this page's others out meanwhile; a command, or another counter of a chain, may still come between."""

    def save(self, mine: Fields, seen: Fields, mark: str) -> Saved:
        """Keep a form that was filled in on the state of ``mark``.

        Raises
        ------
        StaleForm
            where somebody else changed the same field meanwhile.
        """
        with self.turn():
            for _ in range(TRIES):
                with suppress(ChangedMeanwhile):
                    return self._save(mine, seen, mark)
        raise StoreBusy("others change it again and again", cure="try again in a minute")

    def _save(self, mine: Fields, seen: Fields, mark: str) -> Saved:
        kept, meeting = self.look(), Meeting(mine, [], [])
        if kept.mark != mark:
            meeting = meet(seen, mine, self.fields_of(kept.document))
        if meeting.clashes:
            raise StaleForm(meeting, kept)
        if meeting.fields == self.fields_of(kept.document):
            return Saved(kept, meeting.taken)
        return Saved(self.keep(self.document_of(kept.document, meeting.fields), kept.mark), meeting.taken)


def seen_text(fields: Fields) -> str:
    """A form's fields as its hidden memory of what it showed."""
    return json.dumps(fields, ensure_ascii=False)


def read_seen(memory: str) -> Fields:
    """The fields that a form showed; none where its memory cannot be read."""
    try:
        seen = json.loads(memory)
    except ValueError:
        return {}
    return seen if isinstance(seen, dict) else {}
