"""The report of a load: every line of every file is in one of its counts."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from catalog_schema.problems import Problem
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import who


@dataclass(frozen=True, slots=True)
class ProblemRow:
    """A row that could not be loaded: its place, its faults, its original cells."""

    file: str
    sheet: str
    line: int
    family: str
    part_id: str
    faults: tuple[Problem, ...]
    headers: tuple[str, ...]
    cells: tuple[str, ...]
    fields: dict[str, str]
    """Fields that were understood, as text, to be mended."""


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One field of one part, before and after."""

    family: str
    part_id: str
    field: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class ColumnRead:
    """Reading of a column of a list."""

    header: str
    fills: str
    """Its fields; empty if it was not read."""
    samples: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TableRead:
    """Reading of a table of a list."""

    file: str
    sheet: str
    families: str
    family_column: str
    """The column with the family; empty if all rows have the same one."""
    kept_map: str
    """Name of the kept map for its headers; empty if the map is new."""
    columns: tuple[ColumnRead, ...]
    remarks: tuple[str, ...]
    """Remarks to check."""


@dataclass(slots=True)
class LoadReport:
    """The counts of one load; ``lines`` is the sum of loaded, problems and skipped."""

    version: int = 0
    families: list[str] = field(default_factory=list)
    files: list[str] = field(default_factory=list)
    lines: int = 0
    new: int = 0
    changed: int = 0
    unchanged: int = 0
    duplicates: int = 0
    """Rows that repeat a row of the same load, cell for cell."""
    withdrawn: int = 0
    skipped: Counter[str] = field(default_factory=Counter)
    problems: list[ProblemRow] = field(default_factory=list)
    noted: list[ProblemRow] = field(default_factory=list)
    """Loaded rows with figures that could not be read: these stay unknown, and are in the part's notes."""
    changes: list[FieldChange] = field(default_factory=list)
    """The first changed fields, prices first; the history has the rest."""
    changed_fields: int = 0
    """Number of changed fields."""
    parts_emptied: int = 0
    """Parts that lose figures they had in the catalog."""
    figures_emptied: int = 0
    suppliers: list[str] = field(default_factory=list)
    """The lists' suppliers; empty text for the shop's own."""
    mended: int = 0
    """Problem rows of earlier loads whose mended row was loaded."""
    outdated: int = 0
    """Problem rows of earlier loads that their list no longer has, or has corrected."""
    settled: int = 0
    """Rows among ``problems`` that fail as before, and were mended or dropped by hand."""
    open_now: int = 0
    """Problem rows in the catalog still to be mended."""
    warnings: list[str] = field(default_factory=list)
    tables: list[TableRead] = field(default_factory=list)
    """Readings of lists without a map."""
    dry_run: bool = False
    seconds: float = 0.0

    @property
    def loaded(self) -> int:
        """Rows whose part is in the catalog as listed."""
        return self.new + self.changed + self.unchanged + self.duplicates

    @property
    def open(self) -> int:
        """Rows among ``problems`` still to be mended."""
        return len(self.problems) - self.settled

    @property
    def changes_nothing(self) -> bool:
        """Whether the catalog is unchanged."""
        return not (self.new or self.changed or self.withdrawn)


def write_version(con: Connection, report: LoadReport, what: str, by: str | None) -> None:
    """Record a version of the catalog, with its origin."""
    con.execute(
        "insert into load (version, made_at, what, by_whom, family, files, new, changed, unchanged, withdrawn, "
        "duplicates, problems, skipped, lines) "
        "values ($1, now(), $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)",
        [
            report.version,
            what,
            who(by),
            ", ".join(report.families),
            report.files,
            report.new,
            report.changed,
            report.unchanged,
            report.withdrawn,
            report.duplicates,
            len(report.problems),
            report.skipped.total(),
            report.lines,
        ],
    )
