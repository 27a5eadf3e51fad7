"""The parts of a matrix: numbered once for all shares, with the index of each part's figure sets."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from matcher.kernel.alike import alike, distinguishing_keys
from matcher.kernel.distinct import DistinctSets as FigureSets
from matcher.kernel.distinct import distinct
from matcher.kernel.evaluate import Evaluation
from matcher.search.catalog.parts import Parts, parts_of_rows, stored_field
from matcher.search.catalog.usual import MADE_OF
from matcher.search.fits.feasible import RuleGroup
from matcher.search.matrix.kinds import ASKED, KindRules
from matcher.search.matrix.verdicts import Numbers
from matcher.settings import Settings
from matcher.store.database.connection import Connection, quoted
from matcher.store.database.durable import put_in_place, write_parquet

PARTS, SETS = "parts.parquet", "sets"
"""The file of numbered parts, and the folder with one part per figure set, one file per family."""


def write_parts(con: Connection, out: Path, kinds: Sequence[str], settings: Settings) -> None:
    """Write the parts as (family, part_no, part_id, p0, p1, ...), and one part per figure set.

    Numbers follow the figure sets of the gate, so that parts accepted by a gate are adjacent.
    """
    (out / SETS).mkdir(exist_ok=True)
    for kind in kinds:
        _lay_parts(con, ASKED[kind], settings)
        numbers = f"(SELECT part_id, COLUMNS('^p\\d+$') FROM parts_{kind} WHERE represents)"
        sets = f"SELECT * FROM {ASKED[kind].family} JOIN {numbers} USING (part_id)"
        _write(con, sets, _sets_file(out, ASKED[kind].family))
    every = " UNION ALL BY NAME ".join(f"SELECT * EXCLUDE (represents) FROM parts_{kind}" for kind in kinds)
    _write(con, every, out / PARTS)


def _lay_parts(con: Connection, asking: KindRules, settings: Settings) -> None:
    """The parts of a family with their numbers, as ``parts_KIND``."""
    parts = parts_of_rows(con, asking.family, settings, _needed(asking))
    sets = [_sets(asking, sheet, parts, settings) for sheet in asking.sheets]
    represents = np.zeros(len(parts), np.bool_)
    for one in sets:
        represents[one.first] = True
    found = {f"p{at}": one.number.astype(np.int32) for at, one in enumerate(sets)}
    con.register("numbered", found | {"represents": represents, "row_no": np.arange(len(parts))})
    con.execute(
        f"CREATE TEMP TABLE parts_{asking.kind} AS SELECT '{asking.family}' AS family, "
        "(row_number() OVER (ORDER BY p0, part_id) - 1)::INTEGER AS part_no, part_id, * EXCLUDE (part_id, row_no) "
        f"FROM (SELECT part_id, row_number() OVER (ORDER BY part_id) - 1 AS row_no FROM {asking.family}) "
        "JOIN numbered USING (row_no) ORDER BY part_no"
    )
    con.unregister("numbered")


def _sets(asking: KindRules, sheet: RuleGroup, parts: Parts, settings: Settings) -> FigureSets:
    """Parts that a sheet cannot distinguish; the height of a screen depends on all of its figures."""
    if asking.is_hung(sheet):
        return distinct(
            [each for one in asking.read_of_part(sheet) for each in distinguishing_keys(parts.columns[one])], len(parts)
        )
    return alike(sheet.rules, ["part"], Evaluation(parts.columns, settings), len(parts))


def _needed(asking: KindRules) -> frozenset[str]:
    """Fields that the sheets read of a part, and those that determine its estimates."""
    read = {one.field for sheet in asking.sheets for one in asking.read_of_part(sheet)}
    return frozenset(map(stored_field, {*read, *(other for name in read for other in MADE_OF.get(name, ()))}))


def _write(con: Connection, sql: str, path: Path) -> None:
    put_in_place(path, lambda half: write_parquet(con, sql, half))


def _sets_file(out: Path, family: str) -> Path:
    return out / SETS / f"{family}.parquet"


class PartSets(NamedTuple):
    """Parts covering every figure set, and the index of each part's set by sheet."""

    parts: Parts
    numbers: Sequence[Numbers]


def read_sets(con: Connection, out: Path, asking: KindRules, settings: Settings) -> PartSets:
    """Figure sets of a family."""
    held = quoted(_sets_file(out, asking.family))
    con.execute(f"CREATE OR REPLACE VIEW {asking.family} AS FROM read_parquet({held})")
    parts = parts_of_rows(con, asking.family, settings, _needed(asking))
    numbers = con.execute(f"SELECT COLUMNS('^p\\d+$') FROM {asking.family} ORDER BY part_id").fetchnumpy()
    return PartSets(parts, [np.asarray(numbers[f"p{at}"]) for at in range(len(asking.sheets))])


def parts_sql(out: Path, asking: KindRules, first: int, many: int) -> str:
    """SQL of some numbered parts of a family in order, starting at one: (part_no, p0, p1, ...)."""
    sets = ", ".join(f"p{at}" for at in range(len(asking.sheets)))
    return (
        f"SELECT part_no, {sets} FROM read_parquet({quoted(out / PARTS)}) WHERE family = '{asking.family}' "
        f"AND part_no >= {first} AND part_no < {first + many} ORDER BY part_no"
    )
