"""The catalog's answers as table cells."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from matcher.lengths import shown_length

if TYPE_CHECKING:
    from matcher.store.importing.history import Holding, PartDiff, Version
    from matcher.store.importing.report import FieldChange, LoadReport, ProblemRow, TableRead

Table = tuple[list[str], list[list[str]]]


def figure_text(value: Any, field: str = "") -> str:
    """Format the value of a field, a length in the shop's unit."""
    if field.removesuffix("_tol").endswith("_mm"):
        value = shown_length(value)
    if value is None:
        return "unknown"
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)


def counted(count: int, what: str) -> str:
    """Format a count with its noun: 1 part, 2 parts."""
    return f"{count:,} {what}{'' if count == 1 else 's'}"


def report_cells(report: LoadReport) -> Table:
    """Table of a load's counts: lines per file, and their outcome."""
    would = " would be" if report.dry_run else ""
    skipped = ", ".join(f"{count} {what}" for what, count in report.skipped.items() if count)
    kept = "nothing changed" if report.changes_nothing else f"version {report.version}"
    rows = [
        ["lines", str(report.lines), f"of {len(report.files)} file{'s' * (len(report.files) > 1)}"],
        [f"loaded{would}", str(report.loaded), _loaded(report)],
        [f"problem rows{would}", str(len(report.problems)), _problems(report)],
        ["skipped", str(report.skipped.total()), skipped],
    ]
    if report.withdrawn:
        rows.append([f"withdrawn{would}", str(report.withdrawn), "parts that the list no longer has"])
    if report.mended:
        rows.append([f"mended{would}", str(report.mended), "problem rows of earlier loads"])
    if report.outdated:
        rows.append([f"outdated{would}", str(report.outdated), "problem rows that the list no longer has"])
    return [
        "load" if not report.dry_run else "dry run",
        "count",
        kept if not report.dry_run else "nothing is kept",
    ], rows


def table_cells(table: TableRead) -> Table:
    """Table of how a list was understood: each column, its field, and sample cells."""
    place = f"sheet {table.sheet}" if table.sheet else table.file.replace("\\", "/").rpartition("/")[2]
    kept = f", by the kept map {table.kept_map}" if table.kept_map else ""
    by = f" by {table.family_column}" if table.family_column else ""
    rows = [[one.header, one.fills or "(not read)", " | ".join(one.samples)[:60]] for one in table.columns]
    return [place, f"{table.families}{by}{kept}", "such as"], rows


def _problems(report: LoadReport) -> str:
    if not report.settled:
        return "kept with their reasons" * bool(report.problems)
    return f"{report.open} open, {report.settled} mended or dropped before"


def _loaded(report: LoadReport) -> str:
    counts = {
        "new": report.new,
        "changed": report.changed,
        "unchanged": report.unchanged,
        "repeating an earlier row": report.duplicates,
    }
    return ", ".join(f"{count} {what}" for what, count in counts.items() if count)


def problem_cells(row: ProblemRow) -> list[str]:
    """Cells of a problem row: line, part, field, found, expected, fix; one line per fault."""
    faults = [[fault.column, fault.found, fault.expected, fault.fix] for fault in row.faults]
    return [str(row.line), row.part_id, *("\n".join(column) for column in zip(*faults, strict=True))]


def change_cells(change: FieldChange) -> list[str]:
    """Cells of a changed field: part, field, before, after."""
    return [change.part_id, change.field, *(figure_text(one, change.field) for one in (change.before, change.after))]


def diff_cells(part: PartDiff) -> Iterator[list[str]]:
    """Yield a part's changes between two versions, one line per field."""
    if not part.fields:
        yield [part.part_id, part.family, part.what, "", "", ""]
    for name, (before, after) in part.fields.items():
        yield [part.part_id, part.family, part.what, name, figure_text(before, name), figure_text(after, name)]


def holding_cells(holdings: Sequence[Holding]) -> Table:
    """Table of the catalog's contents, one family per line."""
    rows = [
        [one.family or "no family", str(one.parts), str(one.measured), str(one.problems), ", ".join(one.suppliers)]
        for one in holdings
    ]
    return ["family", "parts", "measured", "problems", "suppliers"], rows


def version_cells(versions: Sequence[Version]) -> Table:
    """Table of the versions, one per line."""
    rows = [
        [
            str(one.version),
            f"{one.made_at:%Y-%m-%d %H:%M}",
            one.what + (f" by {one.by}" if one.by else ""),
            ", ".join(file.replace("\\", "/").rpartition("/")[2] for file in one.files),
            *(str(count) for count in (one.new, one.changed, one.unchanged, one.withdrawn, one.problems)),
        ]
        for one in versions
    ]
    return ["version", "at", "what", "files", "new", "changed", "unchanged", "withdrawn", "problems"], rows
