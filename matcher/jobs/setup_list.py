"""Values read at set-up, from a list or one by one; every fault is reported before anything is kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path

from catalog_schema.choices import OutputStep
from catalog_schema.figures import read_number, split_header
from catalog_schema.notation import EITHER, Notation
from catalog_schema.problems import FieldError
from matcher.calculators.setup_log import COLUMNS, read_setup_log
from matcher.errors import FileRefused, InputError, NotKnown, Problem
from matcher.store.lists.files import look_at
from matcher.store.lists.text_lists import Record, open_records
from matcher.store.readings.subjects import ReadingSubject

HEADS = ("what", "where", "step", "value", "clean", "tone_db")
CLEAN_WORDS = {"yes": True, "y": True, "clean": True, "no": False, "n": False, "clipped": False, "": None}
MOST_LINES = 10_000
FIELDS: Mapping[tuple[str, str], str] = {
    ("current", "music"): "music_a",
    ("current", "full"): "full_a",
    ("drain", ""): "rest_ma",
    ("drain", "before"): "rest_before_ma",
    ("drain", "after"): "rest_ma",
}
"""Field of each row that belongs to no opening, by its columns ``what`` and ``where``."""
AT_OPENING = {
    "gain": "gain_v",
    "polarity": "polarity",
    "high pass": "high_pass_hz",
    "low pass": "low_pass_hz",
    "delay": "delay_ms",
}
"""Field of each row that belongs to an opening, by ``what``."""
EXAMPLES = f"output, {', '.join(AT_OPENING)}, current or drain"


@dataclass(frozen=True, slots=True)
class Value:
    """One value and its position in the list."""

    name: str
    """The job's field."""
    text: str
    file: str = ""
    row: int | None = None
    column: str = ""


@dataclass(slots=True)
class SetupRead:
    """Values read: steps of the head unit's volume, and fields of the job."""

    steps: list[OutputStep] = field(default_factory=list)
    values: list[Value] = field(default_factory=list)
    source: str | None = None

    @property
    def is_empty(self) -> bool:
        return not self.steps and not self.values


def read_setup_list(path: Path, notation: Notation) -> SetupRead:
    """Read a set-up list: rows of what, where, step, value, clean, tone_db; or a head unit's log alone.

    Raises
    ------
    FileRefused
        with every row that cannot be read.
    """
    look_at(path)
    _, _, records = open_records(path, None, None)
    filled = [record for record, _ in zip(records, range(MOST_LINES + 1), strict=False) if not record.is_blank]
    heads = [split_header(cell)[0] for cell in filled[0].cells] if filled else []
    if "what" not in heads and set(COLUMNS) <= set(heads):
        return SetupRead([_step_of_log(*step) for step in _log(path, notation)], [], str(path))
    lacking = [name for name in ("what", "value") if name not in heads]
    if lacking or len(filled) < 2:
        raise FileRefused(
            f"{path} is no list of a set-up: {'no column ' + ', '.join(lacking) if lacking else 'no rows in it'}",
            fix=f"head the columns {', '.join(HEADS)}, and give a row for each reading, such as gain, door, , 12.1 V",
        )
    found, problems = SetupRead(source=str(path)), list[Problem]()
    for record in filled[1 : MOST_LINES + 1]:
        cells = {name: record.cells[at].strip() for at, name in enumerate(heads) if at < len(record.cells)}
        _take(found, _Row(path, record, cells), notation, problems)
    if len(filled) > MOST_LINES:
        problems.append(Problem(f"at most {MOST_LINES} rows", file=str(path)))
    if problems:
        raise FileRefused(f"{path}: {len(problems)} readings cannot be taken; none was", problems=problems)
    return found


def _log(path: Path, notation: Notation) -> Iterator[tuple[float, float | None, bool | None]]:
    return ((step.step, step.volts, step.clean) for step in read_setup_log(path, notation))


def _step_of_log(step: float, volts: float | None, clean: bool | None) -> OutputStep:
    return OutputStep(step=Decimal(str(step)), volts=None if volts is None else Decimal(str(volts)), clean=clean)


@dataclass(frozen=True, slots=True)
class _Row:
    path: Path
    record: Record
    cells: Mapping[str, str]

    def cell(self, name: str) -> str:
        return self.cells.get(name, "")

    def problem(self, column: str, expected: str, fix: str = "") -> Problem:
        return Problem(expected, str(self.path), self.record.line, column, self.cell(column), fix)

    def value(self, name: str, column: str = "value") -> Value:
        return Value(name, self.cell(column), str(self.path), self.record.line, column)


def _take(found: SetupRead, row: _Row, notation: Notation, problems: list[Problem]) -> None:
    what, where = row.cell("what").casefold(), row.cell("where")
    if row.record.fault is not None:
        problems.append(row.problem("", row.record.fault.expected, row.record.fault.fix))
    elif what == "output":
        _take_step(found, row, notation, problems)
    elif not row.cell("value"):
        problems.append(row.problem("value", "a value: a row says what was read", "drop the row where nothing was"))
    elif what in AT_OPENING and where:
        found.values.append(row.value(f"{AT_OPENING[what]}.{where}"))
        if what == "gain" and row.cell("tone_db"):
            found.values.append(row.value(f"tone_db.{where}", "tone_db"))
    elif (what, where.casefold()) in FIELDS:
        found.values.append(row.value(FIELDS[what, where.casefold()]))
    elif what in AT_OPENING:
        problems.append(row.problem("where", "the opening that it was read at", "name an opening of the vehicle"))
    elif any(what == known for known, _ in FIELDS):
        words = [word for known, word in FIELDS if known == what]
        problems.append(row.problem("where", f"one of {', '.join(word or 'nothing' for word in words)}"))
    else:
        problems.append(row.problem("what", EXAMPLES))


def _take_step(found: SetupRead, row: _Row, notation: Notation, problems: list[Problem]) -> None:
    try:
        found.steps.append(read_step(row.cell("step"), row.cell("value"), row.cell("clean"), notation))
    except InputError as error:
        problems.extend(row.problem(one.column, one.expected, one.fix) for one in error.problems)


def read_step(step: str, value: str, clean: str, notation: Notation = EITHER) -> OutputStep:
    """Read a step of the head unit's volume from the texts of its three columns.

    >>> read_step("30", "2,2 V", "yes")
    OutputStep(step=Decimal('30'), volts=Decimal('2.2'), clean=True)

    Raises
    ------
    InputError
        with the first column that cannot be read.
    """
    numbers: dict[str, Decimal | None] = {}
    for column, text, unit in (("step", step, "n"), ("value", value, "v")):
        try:
            numbers[column] = read_number(text, unit, notation)
        except FieldError as error:
            raise _unread(error.at(column)) from None
    number, volts, word = numbers["step"], numbers["value"], clean.strip().casefold()
    if number is None:
        raise _unread(Problem("the step of the volume that it was read at", column="step"))
    if volts is not None and volts < 0:
        raise _unread(Problem("a voltage of 0 or more", column="value", found=value))
    if word not in CLEAN_WORDS:
        raise _unread(Problem("yes or no", column="clean", found=clean, fix="leave it blank if it was not judged"))
    return OutputStep(step=number, volts=volts, clean=CLEAN_WORDS[word])


def _unread(problem: Problem) -> InputError:
    return InputError("the volume step cannot be read", problems=[problem])


def check_values(subject: ReadingSubject, values: Sequence[Value], notation: Notation) -> dict[str, str]:
    """Return the values of a job by field, as they are stored; refuse a field that is given twice.

    Raises
    ------
    InputError
        with every value that cannot be read.
    """
    kept: dict[str, str] = {}
    problems: list[Problem] = []
    for value in values:
        try:
            column = subject.column(value.name)
            read = column.kind.read(value.text, notation)
        except NotKnown as error:
            _, _, where = value.name.partition(".")
            at_place = replace(value, column="where" if value.column else "")
            problems.append(_problem(at_place, "an opening of the vehicle with loudspeakers", where, error.fix))
            continue
        except FieldError as error:
            problems.append(error.at(value.column or value.name, value.file, value.row))
            continue
        if value.name in kept:
            problems.append(_problem(value, f"{value.name} once", value.text, "drop the row that was read wrong"))
        kept[value.name] = f"{read.value.normalize():f}" if hasattr(read, "value") else str(read)
    if problems:
        raise InputError(f"the set-up of {subject} cannot be taken; none of it was", problems=problems)
    return kept


def _problem(value: Value, expected: str, found: str, fix: str) -> Problem:
    return Problem(expected, value.file, value.row, value.column or value.name, found, fix)
