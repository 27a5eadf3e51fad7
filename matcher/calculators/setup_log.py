"""A head unit's set-up log from a CSV file: volume step, voltage, and whether the wave was clean."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from catalog_schema.figures import read_number, split_header
from catalog_schema.notation import EITHER, Notation
from catalog_schema.problems import FieldError
from matcher.errors import FileRefused, Problem
from matcher.formulas.line_level import SetupStep
from matcher.store.lists.files import look_at
from matcher.store.lists.text_lists import Record, open_records

COLUMNS = ("step", "volts", "clean")
CLEAN_WORDS = {"yes": True, "y": True, "true": True, "1": True, "clean": True}
CLIPPED_WORDS = {"no": False, "n": False, "false": False, "0": False, "clipped": False}
MOST_LINES = 10_000


def read_setup_log(path: Path, notation: Notation = EITHER) -> list[SetupStep]:
    """Return the steps of a log; a blank voltage or judgment is not known. ``notation`` is its number format.

    Raises
    ------
    FileRefused
        with every fault: no such file, a missing column, or cells that cannot be read.
    """
    look_at(path)
    _, _, records = open_records(path, None, None)
    filled = [record for record, _ in zip(records, range(MOST_LINES + 1), strict=False) if not record.is_blank]
    places = _places(path, filled)
    problems: list[Problem] = []
    steps = [_step(path, record, places, notation, problems) for record in filled[1:]]
    if len(filled) > MOST_LINES:
        problems.append(Problem(f"at most {MOST_LINES} steps", file=str(path)))
    if problems:
        raise FileRefused(f"{path} cannot be read as a set-up log", problems=problems)
    return [step for step in steps if step is not None]


def _places(path: Path, records: Sequence[Record]) -> dict[str, int]:
    heads = [split_header(cell)[0] for cell in records[0].cells] if records else []
    missing = [name for name in COLUMNS if name not in heads]
    if missing or len(records) < 2:
        raise FileRefused(
            f"{path} is no set-up log: {'no column ' + ', '.join(missing) if missing else 'no steps in it'}",
            fix="head the columns step, volts, clean, and give a row for each step, such as 30, 2.2, yes",
        )
    return {name: heads.index(name) for name in COLUMNS}


def _step(
    path: Path, record: Record, places: dict[str, int], notation: Notation, problems: list[Problem]
) -> SetupStep | None:
    cells = {name: record.cells[at].strip() if at < len(record.cells) else "" for name, at in places.items()}
    found: dict[str, float | None] = {}
    for name, unit in (("step", "n"), ("volts", "v")):
        try:
            number = read_number(cells[name], unit, notation)
        except FieldError as error:
            problems.append(error.at(name, str(path), record.line))
            return None
        found[name] = None if number is None else float(number)
    word = cells["clean"].casefold()
    clean = (CLEAN_WORDS | CLIPPED_WORDS).get(word)
    if (word and clean is None) or found["step"] is None:
        column, expected = ("step", "a step") if found["step"] is None else ("clean", "yes or no")
        problems.append(_problem(path, record, column, cells[column], expected, "blank means not judged"))
        return None
    return SetupStep(found["step"], found["volts"], clean)


def _problem(path: Path, record: Record, column: str, found: str, expected: str, fix: str) -> Problem:
    return Problem(expected, file=str(path), row=record.line, column=column, found=found, fix=fix)
