"""Problem rows: kept whole with their reasons, listed, written out to be mended, cleared when they are."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict

import duckdb

from matcher.store.report import ProblemRow


def keep_problems(con: duckdb.DuckDBPyConnection, rows: Sequence[ProblemRow], version: int) -> int:
    """Keep problem rows; how many of them were not kept already."""
    known = {
        (file, sheet, line, tuple(cells), reason)
        for file, sheet, line, cells, reason in con.execute(
            "select file, sheet, line, cells, faults from problem where mended_in is null"
        ).fetchall()
    }
    fresh = [row for row in rows if (row.file, row.sheet, row.line, row.cells, _faults(row)) not in known]
    for row in fresh:
        first = row.faults[0]
        con.execute(
            "insert into problem (version, family, file, sheet, line, field, found, expected, cure, faults, "
            "headers, cells, fields, part_id) values ($1,$2,$3,$4,$5,$6,$7,$8,$9,$10,$11,$12,$13,$14)",
            [
                version,
                row.family,
                row.file,
                row.sheet,
                row.line,
                first.field,
                first.found,
                first.expected,
                first.cure,
                _faults(row),
                list(row.headers),
                list(row.cells),
                json.dumps(row.fields, ensure_ascii=False),
                row.part_id,
            ],
        )
    return len(fresh)


def _faults(row: ProblemRow) -> str:
    return json.dumps([asdict(fault) for fault in row.faults], ensure_ascii=False)
