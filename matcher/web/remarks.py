"""What is said at a box of a form that cannot be saved as it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from catalog_schema.kinds import shorten
from matcher.errors import InputError, Problem
from matcher.web.form_edit import Difference
from matcher.web.pages import text


@dataclass(frozen=True, slots=True)
class Remark:
    """What is said at a box."""

    says: str


def remarks(problems: Mapping[str, Problem], conflicts: Iterable[Difference] = ()) -> dict[str, Remark]:
    """What is said at each box that cannot be saved as it is, by its field."""
    found = {one.field: Remark(text("stale.at_box", theirs=_shown(one.theirs))) for one in conflicts}
    return found | {name: Remark(_says(problem)) for name, problem in problems.items()}


def remark_of(error: InputError) -> Remark:
    """What is said at the only box that an error can be about."""
    if error.problems:
        return Remark(" ".join(dict.fromkeys(_says(problem) for problem in error.problems)))
    return Remark(_with_fix(f"{error.what[:1].upper()}{error.what[1:]}.", error.cure))


def _shown(value: Any) -> str:
    return ", ".join(value) if isinstance(value, list) else value or text("stale.empty")


def _says(problem: Problem) -> str:
    key = "wrong.at_box" if problem.found else "wrong.no_value"
    return _with_fix(text(key, found=shorten(problem.found), expected=problem.expected), problem.cure)


def _with_fix(says: str, fix: str) -> str:
    return f"{says} {text('wrong.cure', cure=fix)}" if fix else says
