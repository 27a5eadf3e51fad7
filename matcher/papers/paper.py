"""The kinds of paper, and how one is made: answers to data, data to HTML or PDF."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import cast

from matcher.errors import InputError
from matcher.papers.dossier import Dossier
from matcher.papers.model import Document
from matcher.papers.words import Words
from matcher.papers.writer import Writer

BUILDERS = {
    "proposal": "proposal:proposal",
    "measuring": "measuring:measuring",
    "fitting": "fitting:fitting",
    "setup": "setup:setup",
    "handover-car": "handover:car_copy",
    "handover-owner": "handover:owner_copy",
}
"""By the kind of paper, in the order in which a job needs them: its module here, and what builds it."""
KINDS = tuple(BUILDERS)
FORMATS = ("html", "pdf")


@dataclass(frozen=True, slots=True)
class Paper:
    """A finished paper."""

    name: str
    """The name of its file."""
    data: bytes
    warnings: tuple[str, ...] = ()
    """Checks that did not come out as they should."""


def check_asked(kinds: Sequence[str], formats: Sequence[str]) -> None:
    """Refuse what is no kind of paper, or no format.

    Raises
    ------
    InputError
        with the words that would do.
    """
    for words, known, what in ((kinds, KINDS, "kind of paper"), (formats, FORMATS, "format of papers")):
        for word in words:
            if word not in known:
                raise InputError(f"{word!r} is no {what}", fix=f"one of {', '.join(known)}")


def is_needed(dossier: Dossier, kind: str) -> bool:
    """Whether a paper has anything to tell: without a package only the proposal, a measuring sheet of open figures."""
    return kind == "proposal" or (dossier.package is not None and (kind != "measuring" or bool(dossier.to_measure)))


def check_needed(dossier: Dossier, kind: str) -> None:
    """Refuse a paper that would have nothing to tell.

    Raises
    ------
    InputError
        if no package meets the limits, or every figure is known closely enough.
    """
    if is_needed(dossier, kind):
        return
    job = dossier.job["job_id"]
    if dossier.package is None:
        raise InputError(f"no package meets the limits of {job}", fix=f"`boltback paper {job} proposal` says why")
    raise InputError(f"nothing has to be measured for {job}", fix="every figure that decides is known closely enough")


def document(dossier: Dossier, kind: str) -> Document:
    """A paper as data, before it gets a form."""
    module, _, name = BUILDERS[kind].partition(":")
    build = cast("Callable[[Writer], Document]", getattr(import_module(f"matcher.papers.{module}"), name))
    return build(Writer(dossier, Words(dossier.settings.word("language"))))


def make(dossier: Dossier, kind: str, form: str) -> Paper:
    """One paper in one format."""
    return rendered(document(dossier, kind), form)


def rendered(made: Document, form: str) -> Paper:
    """A document in one format."""
    data, warnings = _renderers()[form](made)
    return Paper(f"{made.name}.{form}", data, warnings)


def _renderers() -> Mapping[str, Callable[[Document], tuple[bytes, tuple[str, ...]]]]:
    from matcher.papers.html import render_html
    from matcher.papers.pdf import render_pdf

    return {"html": render_html, "pdf": render_pdf}
