"""Remarks at the boxes of a form that cannot be saved as it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import FormData

from catalog_schema.problems import shorten
from matcher.errors import DoubtfulFigures, InputError, Problem
from matcher.web.form_edit import BoxProblem, FieldDifference
from matcher.web.pages import single
from matcher.web.wording import text


@dataclass(frozen=True, slots=True)
class BoxRemark:
    """A remark at a box, with buttons that settle it, also without JavaScript."""

    says: str
    picks: tuple[tuple[str, str], ...] = ()
    """Possible readings of the text: value and caption of a button for each."""
    sure: tuple[str, str] | None = None
    """A checkbox that confirms an unusual figure: value and caption."""


def remarks(
    problems: Mapping[str, BoxProblem], typed: Mapping[str, Any], conflicts: Iterable[FieldDifference] = ()
) -> dict[str, BoxRemark]:
    """Return a remark for each box that cannot be saved, by field; ``typed`` are the contents of the boxes."""
    found = {one.field: BoxRemark(text("stale.at_box", theirs=_shown(one.theirs))) for one in conflicts}
    return found | {
        name: _remark(one.problem, name, str(typed.get(name, "")), is_doubtful=one.is_doubtful)
        for name, one in problems.items()
    }


def remark_of(error: InputError, name: str = "", typed: str = "") -> BoxRemark:
    """Return a remark for the only box that an error can be about."""
    if error.problems:
        return _remark(error.problems[0], name, typed, is_doubtful=isinstance(error, DoubtfulFigures))
    return BoxRemark(_with_fix(f"{error.what[:1].upper()}{error.what[1:]}.", error.fix))


def picked(form: FormData) -> dict[str, str]:
    """Return the text chosen for a box, by name."""
    name, mark, chosen = single(form, "pick").partition("=")
    return {name: chosen} if mark else {}


def confirmed(form: FormData) -> dict[str, str]:
    """Return the confirmed texts, by name."""
    pairs = (str(sent).partition("=") for sent in form.getlist("sure"))
    return {name: typed for name, _, typed in pairs}


def _remark(problem: Problem, name: str, typed: str, *, is_doubtful: bool) -> BoxRemark:
    sure = (f"{name}={typed}", text("box.sure", found=problem.found)) if is_doubtful and typed else None
    whole = [(typed.replace(problem.found, one) if problem.found in typed else one) for one in problem.alternatives]
    picks = tuple((f"{name}={text}", one) for text, one in zip(whole, problem.alternatives, strict=True))
    says = text("box.which", found=problem.found) if picks else _says(problem)
    return BoxRemark(says, picks, sure)


def _shown(value: Any) -> str:
    return ", ".join(value) if isinstance(value, list) else value or text("stale.empty")


def _says(problem: Problem) -> str:
    key = "wrong.at_box" if problem.found else "wrong.no_value"
    return _with_fix(text(key, found=shorten(problem.found), expected=problem.expected), problem.fix)


def _with_fix(says: str, fix: str) -> str:
    at_box = fix.replace("leave the cell empty", "leave the box empty")
    return f"{says} {text('wrong.fix', fix=at_box)}" if fix else says
