"""Everything that can go wrong, as data: what, where, what was expected, what would do.

    BoltbackError
    ├── InputError        wrong use or wrong input           exit code 2
    │   ├── NotKnown      a part, opening, vehicle, job, rule that the store does not hold
    │   ├── FileRefused   a file that cannot be taken
    │   ├── ListAsks      a list that does not tell all that it takes to read it
    │   ├── StillOpen     a job that cannot be ordered or signed off yet: every open point
    │   ├── DoubtfulFigures   figures to be confirmed before they are taken
    │   └── ChangedMeanwhile  what was to be changed is no longer as it was seen
    ├── StoreBusy         another process holds the store    exit code 2
    ├── RankingLost       the process that ranked has ended  exit code 2
    ├── ChainGone         the chain's database is silent     exit code 2
    └── StoreFault        what is stored is at fault          exit code 3

The texts are made here, from the facts, so that a face only prints them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from catalog_schema.problems import Problem as Problem

if TYPE_CHECKING:
    from catalog_schema.choices import OpenPoint

LONGEST = 2_000
"""Characters of one thing that is said, at most: what somebody sent may be of any length."""


def clipped(text: str, most: int = LONGEST) -> str:
    """A text, cut off where it is longer than can be told."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


class BoltbackError(Exception):
    """The root: every error of ours, with its exit code and its facts."""

    exit_code = 2

    def __init__(self, what: str, *, fix: str = "", problems: Iterable[Problem] = ()) -> None:
        self.what = clipped(what)
        self.fix = clipped(fix)
        self.problems = list(problems)
        super().__init__(self.what)

    def __str__(self) -> str:
        shown = [clipped(str(problem)) for problem in self.problems[:20]]
        if len(self.problems) > len(shown):
            shown.append(f"and {len(self.problems) - len(shown)} more")
        return "\n".join([self.what, *shown, *([f"fix: {self.fix}"] if self.fix else [])])

    def __reduce__(self) -> tuple[Any, ...]:
        """As it is told by one process to another: with its facts, whatever it was made from."""
        return _told_again, (type(self), self.args, self.__dict__)


def _told_again(kind: type[BoltbackError], args: tuple[str, ...], facts: dict[str, Any]) -> BoltbackError:
    error = kind.__new__(kind, *args)
    error.__dict__.update(facts)
    return error


class InputError(BoltbackError):
    """Wrong use or wrong input."""


class NotKnown(InputError):
    """A name that the store does not hold."""

    def __init__(self, kind: str, name: str, known: Sequence[str], fix: str = "") -> None:
        self.kind, self.name = kind, name
        by_folded = {one.casefold(): one for one in known}
        self.meant = by_folded.get(name.casefold())
        """The known name that differs only in case."""
        near = [by_folded[one] for one in get_close_matches(clipped(name, 200).casefold(), by_folded, n=3)]
        if near:
            fix = f"did you mean {' or '.join(near)}?"
        elif known and len(known) <= 12:
            fix = f"known: {', '.join(sorted(known))}"
        elif not fix:
            fix = f"{len(known)} are known, such as {', '.join(sorted(known)[:8])}" if known else "there is none yet"
        super().__init__(f"no {kind} {name!r} in this store", fix=fix)


class FileRefused(InputError):
    """A file that cannot be taken; nothing of it was."""


class ListAsks(InputError):
    """A list that does not tell all that it takes to read it; ``problems`` are the questions, each with its answers."""


class StillOpen(InputError):
    """A job that cannot be ordered or signed off yet: every open point is listed, however many there are."""

    def __init__(self, job_id: str, to_be: str, points: Sequence[OpenPoint]) -> None:
        self.points = list(points)
        count = "1 point is" if len(points) == 1 else f"{len(points)} points are"
        super().__init__(
            f"the job {job_id} cannot be {to_be} yet: {count} open",
            fix="close them, or go on with --anyway --note TEXT: both are logged and stand on the papers",
        )

    def __str__(self) -> str:
        return "\n".join([self.what, *(f"  - {clipped(point.says)}" for point in self.points), f"fix: {self.fix}"])


class DoubtfulFigures(InputError):
    """Figures that are probably not meant; nothing was taken. They are, once somebody says that they are right.

    ``problems`` name each figure. A command says so with ``--sure``, a form with a box to tick.
    """

    def __init__(self, what: str, problems: Iterable[Problem]) -> None:
        super().__init__(what, fix="correct them; if they are right, say so: --sure", problems=problems)


class ChangedMeanwhile(InputError):
    """The thing to change is no longer as it was when it was read."""

    def __init__(self, kind: str, name: str) -> None:
        self.kind, self.name = kind, name
        super().__init__(f"the {kind} {name!r} was changed meanwhile", fix="look at it again, then change it")


class StoreBusy(BoltbackError):
    """Another process holds the store."""


class RankingLost(BoltbackError):
    """The process that worked on an answer has ended; the answer can be asked for again."""


class ChainGone(BoltbackError):
    """The PostgreSQL of the store's chain does not answer."""


class StoreFault(BoltbackError):
    """The store's content is at fault: no question can be answered from it."""

    exit_code = 3
