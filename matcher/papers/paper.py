"""Kinds of paper and their production: from answers to data, and from data to HTML or PDF."""

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
"""By kind of paper, in the order in which a job needs them: its module here and its builder."""
KINDS = tuple(BUILDERS)
FORMATS = ("html", "pdf")


@dataclass(frozen=True, slots=True)
class Paper:
    """A finished paper."""

    name: str
    """Its file name."""
    data: bytes
    warnings: tuple[str, ...] = ()
    """Failed checks of the output."""


def check_asked(kinds: Sequence[str], formats: Sequence[str]) -> None:
    """Refuse unknown kinds of paper and formats.

    Raises
    ------
    InputError
        with the valid words.
    """
    for words, known, what in ((kinds, KINDS, "kind of paper"), (formats, FORMATS, "format of papers")):
        for word in words:
            if word not in known:
                raise InputError(f"{word!r} is no {what}", fix=f"one of {', '.join(known)}")


def is_needed(dossier: Dossier, kind: str) -> bool:
    """Whether a paper has content: the proposal always, a measuring sheet only if figures are open."""
    return kind == "proposal" or (dossier.package is not None and (kind != "measuring" or bool(dossier.to_measure)))


def check_needed(dossier: Dossier, kind: str) -> None:
    """Refuse a paper without contents.

    Raises
    ------
    InputError
        if no package meets the limits, or every figure is known precisely enough.
    """
    if is_needed(dossier, kind):
        return
    job = dossier.job["job_id"]
    if dossier.package is None:
        raise InputError(f"no package meets the limits of {job}", fix=f"`boltback paper {job} proposal` says why")
    raise InputError(f"nothing has to be measured for {job}", fix="every figure that decides is known closely enough")


def document(dossier: Dossier, kind: str) -> Document:
    """Return a paper as data, before rendering."""
    module, _, name = BUILDERS[kind].partition(":")
    build = cast("Callable[[Writer], Document]", getattr(import_module(f"matcher.papers.{module}"), name))
    return build(Writer(dossier, Words(dossier.settings.word("language"))))


def make(dossier: Dossier, kind: str, form: str) -> Paper:
    """Return one paper in one format."""
    return rendered(document(dossier, kind), form)


def rendered(made: Document, form: str) -> Paper:
    """Return a document in one format."""
    data, warnings = _renderers()[form](made)
    return Paper(f"{made.name}.{form}", data, warnings)


def _renderers() -> Mapping[str, Callable[[Document], tuple[bytes, tuple[str, ...]]]]:
    from matcher.papers.html import render_html
    from matcher.papers.pdf import render_pdf

    return {"html": render_html, "pdf": render_pdf}
