"""A form for a stored document: three-way merge with changes by others, and errors at their boxes."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass, field
from typing import Any

from matcher.errors import ChangedMeanwhile, DoubtfulFigures, InputError, Problem, StoreBusy
from matcher.store.database.kept_documents import KeptDocument

Fields = dict[str, Any]
"""A document as form fields: text, or a list of texts, by name."""
Document = dict[str, Any]

TRIES = 5


@dataclass(frozen=True, slots=True)
class FieldDifference:
    """A field changed by both sides, or only by the other."""

    field: str
    seen: Any
    theirs: Any
    mine: Any


@dataclass(frozen=True, slots=True)
class Merge:
    """The result of two changes: a field changed by one side has that side's value."""

    fields: Fields
    """Merged fields; mine where both differ."""
    conflicts: list[FieldDifference]
    """Fields that both changed to different values."""
    taken: list[FieldDifference]
    """Fields that only the other changed."""


def merge(seen: Mapping[str, Any], mine: Mapping[str, Any], theirs: Mapping[str, Any]) -> Merge:
    """Merge a form based on an old state with the current state.

    >>> merge({"a": "1", "b": "1"}, {"a": "2", "b": "1"}, {"a": "1", "b": "3"}).fields
    {'a': '2', 'b': '3'}
    >>> merge({"a": "1"}, {"a": "2"}, {"a": "3"}).conflicts
    [FieldDifference(field='a', seen='1', theirs='3', mine='2')]
    """
    fields: Fields = {}
    conflicts, taken = [], []
    for name in dict.fromkeys([*theirs, *mine]):
        was, now, own = seen.get(name, ""), theirs.get(name, ""), mine.get(name, seen.get(name, ""))
        fields[name] = now if own == was else own
        difference = FieldDifference(name, was, now, own)
        if own not in (was, now) and now != was:
            conflicts.append(difference)
        elif own == was and now != was:
            taken.append(difference)
    return Merge(fields, conflicts, taken)


class StaleForm(Exception):
    """Both changed the same field: a person has to choose."""

    def __init__(self, merged: Merge, kept: KeptDocument) -> None:
        self.merged, self.kept = merged, kept
        super().__init__(", ".join(one.field for one in merged.conflicts))


@dataclass(frozen=True, slots=True)
class BoxProblem:
    """An error of one field; a doubtful figure is accepted once confirmed."""

    problem: Problem
    is_doubtful: bool


Problems = dict[str, BoxProblem]
"""Errors by the field that each is about."""
ROUNDS = 4
"""Attempts to save without the fields at fault: first unreadable ones, then doubtful ones."""


@dataclass(frozen=True, slots=True)
class Saved:
    """The document after saving a form, and what to report."""

    kept: KeptDocument
    taken: list[FieldDifference]
    problems: Problems = field(default_factory=dict)
    """Fields that were not saved, with reasons; all others were."""


@dataclass(frozen=True, slots=True)
class FormEdit:
    """Form of one kind of document: lookup, boxes, and saving."""

    look: Callable[[], KeptDocument]
    fields_of: Callable[[Document], Fields]
    document_of: Callable[[Document, Fields], Document]
    """Returns the document with the fields of a form written into it."""
    keep: Callable[[Document, str, bool], KeptDocument]
    """Saves a document in place of the one with the mark; a flag confirms unusual figures."""
    places_of: Callable[[Document], dict[str, str]]
    """Returns the field for each place of the document that errors name."""
    turn: Callable[[], AbstractContextManager[None]]
    """Excludes other forms of this page; a command or another counter may still save in between."""

    def save(self, mine: Fields, seen: Fields, mark: str, confirmed: Mapping[str, str]) -> Saved:
        """Save a form based on the state of ``mark``; fields at fault are left out, the others are saved.

        Parameters
        ----------
        confirmed
            Confirmed unusual texts, by field.

        Raises
        ------
        StaleForm
            if somebody else changed the same field in the meantime.
        InputError
            if an error is about no field of the form.
        """
        with self.turn():
            for _ in range(TRIES):
                with suppress(ChangedMeanwhile):
                    return self._save(mine, seen, mark, confirmed)
        raise StoreBusy("others change it again and again", fix="try again in a minute")

    def _save(self, mine: Fields, seen: Fields, mark: str, confirmed: Mapping[str, str]) -> Saved:
        kept, merged = self.look(), Merge(mine, [], [])
        now = self.fields_of(kept.document)
        if kept.mark != mark:
            merged = merge(seen, mine, now)
        if merged.conflicts:
            raise StaleForm(merged, kept)
        document, problems = self._keep_sound(kept, now, merged.fields, confirmed)
        return Saved(document, merged.taken, problems)

    def _keep_sound(
        self, kept: KeptDocument, now: Fields, fields: Fields, confirmed: Mapping[str, str]
    ) -> tuple[KeptDocument, Problems]:
        """Save the fields that can be saved; the others keep their current value, with their problems."""
        problems: Problems = {}
        is_sure = False
        for _ in range(ROUNDS):
            document = self.document_of(kept.document, fields)
            try:
                return (kept if fields == now else self.keep(document, kept.mark, is_sure)), problems
            except InputError as error:
                is_doubtful = isinstance(error, DoubtfulFigures)
                found = self._at_fields(error, document)
                open_ones = {
                    name: BoxProblem(one, is_doubtful)
                    for name, one in found.items()
                    if not (is_doubtful and name in confirmed and confirmed[name] == fields.get(name))
                }
                sound = fields | {name: now.get(name, "") for name in open_ones}
                if not found or (sound == fields and is_sure >= is_doubtful):
                    raise
                problems, fields, is_sure = problems | open_ones, sound, is_sure or is_doubtful
        raise InputError("the form cannot be saved", fix="correct one box after the other")

    def _at_fields(self, error: InputError, document: Document) -> dict[str, Problem]:
        """The error's problems by field; None if one is about no field."""
        places = self.places_of(document)
        found = {_field_at(places, problem.column): problem for problem in reversed(error.problems)}
        return {} if "" in found else {name: found[name] for name in places.values() if name in found}


def _field_at(places: Mapping[str, str], column: str) -> str:
    """The field of a problem's place; empty if there is none."""
    inside = [place for place in places if column == place or column.startswith((f"{place}.", f"{place}["))]
    return places[max(inside, key=len)] if inside else ""


def seen_text(fields: Fields) -> str:
    """Encode a form's fields as its hidden record of what it showed."""
    return json.dumps(fields, ensure_ascii=False)


def read_seen(memory: str) -> Fields:
    """Decode the fields that a form showed; None if unreadable."""
    try:
        seen = json.loads(memory)
    except ValueError:
        return {}
    return seen if isinstance(seen, dict) else {}
