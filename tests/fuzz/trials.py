"""Every trial of the program, each a named function with a count: what is thrown, and what has to hold.

`tests/bench/reliability.py` runs them and writes docs/reliability.md. A new trial is a `Trial` in `TRIALS`: a function
that gets an empty folder, a count and a seed, and returns an `Outcome`.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from tests.fuzz.faces import throw_commands, throw_forms
from tests.fuzz.partial import PAPERS
from tests.fuzz.reloads import try_reloads
from tests.fuzz.supplied import compare_lists
from tests.fuzz.targets import TARGETS, Target, throw
from tests.fuzz.written_figures import WAYS


@dataclass
class Outcome:
    """What a trial has come to."""

    tried: int
    """Inputs, sequences or runs."""
    refused: int | None = None
    """Of those, how many were refused with what was wrong and a fix; none if nothing can be refused."""
    compared: int | None = None
    """Figures or cells that were compared with what had to come out; none if nothing was compared."""
    broken: list[str] = field(default_factory=list)
    """A line for each that broke the promise."""


@dataclass(frozen=True)
class Trial:
    """One way of trying the program."""

    name: str
    promise: str
    """What has to hold, for the page."""
    count: int
    """How many inputs, sequences or runs."""
    run: Callable[[Path, int, int], Outcome]
    """Runs so many in an empty folder, drawn from a seed."""


TAKEN_OR_REFUSED = "taken or refused with what was wrong and a fix; never a traceback, never a figure nobody wrote"
SUPPLIED = (
    "a list in any format, unit, encoding or header of two rows brings in the figures it was written from, or none"
)
PRINTED = "a car of which only some figures are known can be printed and drawn if it can be saved, in both languages"
TYPED = "what is typed is what is stored, at any rhythm, by one or two at a form; 'Saved' is said of nothing else"
STANDS = (
    "of lists that change, rows mended and dropped, suppliers with equal numbers, readings and going back, each figure "
    "and each open row is the one of a simple model"
)
AS_WRITTEN = "a figure is taken as it was written, in any format, unit and notation, or refused with what it may be"
COUNTS = {
    "figures": 5_000,
    "maps": 1_500,
    "lists": 60,
    "lists' files": 250,
    "vehicles": 250,
    "jobs": 250,
    "readings": 250,
}


def _thrown(target: Target, folder: Path, count: int, seed: int) -> Outcome:
    """Inputs at one way in; the first that breaks the promise ends it, as Hypothesis has shrunk it by then."""
    del seed  # Hypothesis draws by itself
    try:
        found = throw(target, folder, count)
    except Exception as error:
        return Outcome(count, broken=[f"{type(error).__name__}: {error}"[:500]])
    return Outcome(found.tried, found.tried - found.taken)


def _written(name: str, folder: Path, count: int, seed: int) -> Outcome:
    found = WAYS[name](folder, count, seed)
    return Outcome(count, found.refused, found.tried - found.refused, found.wrong)


def _commands(folder: Path, count: int, seed: int) -> Outcome:
    found, broken = throw_commands(folder, count, seed)
    return Outcome(found.tried, found.tried - found.taken, broken=broken)


def _forms(folder: Path, count: int, seed: int) -> Outcome:
    found, broken = throw_forms(folder, count, seed)
    return Outcome(found.tried, found.tried - found.taken, broken=broken)


def _typing(folder: Path, count: int, seed: int) -> Outcome:
    from tests.web.typists import trials  # a browser is needed for this one alone

    found = trials(folder, count, seed, Path(shutil.which("chromium") or "/usr/bin/chromium"))
    return Outcome(found.runs, compared=found.values + found.looks, broken=found.wrong)


def _reloads(folder: Path, count: int, seed: int) -> Outcome:
    tally = try_reloads(folder, count, seed=seed)
    return Outcome(tally.sequences, compared=tally.compared, broken=tally.wrong)


def _supplied(folder: Path, count: int, seed: int) -> Outcome:
    found = compare_lists(folder, count, seed)
    return Outcome(found.lists, found.asked, found.right + found.out, broken=found.wrong or [])


TRIALS: list[Trial] = [
    *(Trial(target.name, TAKEN_OR_REFUSED, COUNTS[target.name], partial(_thrown, target)) for target in TARGETS),
    Trial("commands", TAKEN_OR_REFUSED, 400, _commands),
    Trial("forms", TAKEN_OR_REFUSED, 400, _forms),
    Trial("typing at the page", TYPED, 200, _typing),
    Trial("suppliers' lists", SUPPLIED, 300, _supplied),
    *(Trial(name, AS_WRITTEN, 500 if name == "rows of lists" else 5_000, partial(_written, name)) for name in WAYS),
    Trial("papers of partial vehicles", PRINTED, 60, partial(_thrown, PAPERS)),
    Trial("lists loaded again and again", STANDS, 60, _reloads),
]
"""In the order of the page."""
