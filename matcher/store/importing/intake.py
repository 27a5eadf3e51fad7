"""Read one file of a load, map it if there is a map, and convert its rows by family."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import duckdb

from catalog_schema.maps import ListMap
from catalog_schema.notation import EITHER, Notation
from catalog_schema.parts import FAMILIES
from catalog_schema.problems import Problem
from matcher.errors import FileRefused
from matcher.store.catalog.overlay import shop_tolerances
from matcher.store.database.connection import Connection, quoted
from matcher.store.importing.report import ProblemRow
from matcher.store.importing.rows import UnderstoodRows, understand, without_doubtful
from matcher.store.lists.files import InspectedFile
from matcher.store.lists.headers import FAMILY_HEADER, Target, family_named, match_headers
from matcher.store.lists.listing import (
    BadCell,
    CleanFile,
    Layout,
    Listing,
    decode_cell,
    encode_cell,
    fold,
    show_cell,
)
from matcher.store.lists.other_lines import is_commented_out, what_line
from matcher.store.lists.reading import read_listing
from matcher.store.mapping.row_maps import MappedRows, mapped_headers

Tell = Callable[[str], None]

MENDS_HEADER = "problem_id"
_NO_FAMILY = "write the family into the column, or delete the row"
_COMMENT_FIX = "drop the row, or take the mark away to keep the part"
BLOCK = 10_000


@dataclass(frozen=True, slots=True)
class Order:
    """One list to load: its file, and the family or map for its rows."""

    path: Path
    family: str | None = None
    map: ListMap | None = None
    encoding: str | None = None
    """Encoding of a text file; by default the map's, or detected."""
    sure: bool = False
    """Whether the user has confirmed its unusual figures."""
    supplier: str | None = None
    """Its supplier, if given; empty for the shop's own."""
    layout: Layout | None = None
    """Position of its rows, if known."""


@dataclass(slots=True)
class Share:
    """Rows of one list for one family."""

    number: int
    listing: Listing
    family: str
    relation: str
    """The relation of canonical cells: ``line``, ``c0``, ``c1``, ..."""
    targets: Sequence[Target]
    understood: UnderstoodRows


@dataclass(slots=True)
class Intake:
    """Inputs of a load, and the rows it has read."""

    con: Connection
    workdir: Path
    tell: Tell
    shares: list[Share] = field(default_factory=list)
    listings: list[Listing] = field(default_factory=list)
    problems: list[ProblemRow] = field(default_factory=list)
    noted: list[ProblemRow] = field(default_factory=list)
    """Valid rows with optional figures that could not be read, and stay unknown."""
    warnings: list[str] = field(default_factory=list)
    sure: bool = False
    """Whether unusual figures of the current list are confirmed."""
    notation: Notation = EITHER
    """Currency of the current list."""

    def take(self, look: InspectedFile, order: Order) -> None:
        """Read one list.

        Raises
        ------
        FileRefused
            if the file, its headers or its map cannot be read.
        """
        self.tell(f"reading {look.path}")
        try:
            self._take(look, order)
        except duckdb.Error as error:
            if look.format != "parquet":  # the database reads plain text only; we convert the other formats
                raise
            reason = str(error).splitlines()[0][:200]
            raise FileRefused(f"{look.path} is no Parquet that can be read: {reason}", fix="save it again") from None

    def _take(self, look: InspectedFile, order: Order) -> None:
        self.sure = order.sure
        listing = read_listing(self.con, look, self._folder(), layout_of(order))
        if mends_place(listing) is not None:
            listing.relation = _without_apostrophes(listing)
        self.listings.append(listing)
        self.warnings += [*look.warnings, *listing.warnings]
        if order.map is not None:
            self._take_mapped(listing, order.map)
        elif any(fold(header) == FAMILY_HEADER for header in listing.headers):
            self._take_by_column(listing, order.family)
        elif order.family is not None:
            targets = match_headers(listing.headers, order.family, str(listing.path))
            self._understand(listing, order.family, listing.relation, targets)
            self._keep_broken(listing, order.family, None)
        else:
            raise FileRefused(
                f"{listing.path}: no family was named, and the list has no column {FAMILY_HEADER}",
                fix="add --family, or load it with a map",
            )

    def mends(self) -> dict[tuple[str, int], int]:
        """Rows (file, line) of this load that were written out for a problem, with the problem's number."""
        found: dict[tuple[str, int], int] = {}
        for listing in self.listings:
            place = mends_place(listing)
            if place is not None:
                number = f"try_cast(c{place} as integer)"
                query = f"select line, {number} from ({listing.relation}) where {number} is not null"
                found |= {(str(listing.path), line): number for line, number in self.con.execute(query).fetchall()}
        return found

    def _folder(self) -> Path:
        folder = self.workdir / str(len(list(self.workdir.iterdir())))
        folder.mkdir()
        return folder

    def _take_by_column(self, listing: Listing, only: str | None) -> None:
        """Read a canonical list with a column for the family of each row, as mended rows have."""
        place = next(place for place, header in enumerate(listing.headers) if fold(header) == FAMILY_HEADER)
        cell = f"coalesce(trim(c{place}), '')"
        for (word,) in self.con.execute(f"select distinct {cell} from ({listing.relation}) order by 1").fetchall():
            relation = f"select * from ({listing.relation}) where {cell} = {quoted(word)}"
            family = family_named(word) or (only if not word else None)
            if family is None or only not in (None, family):
                lines = self.con.execute(f"select line from ({relation})").fetchall()
                fault = Problem(
                    only or f"one of {', '.join(FAMILIES)}", column=FAMILY_HEADER, found=show_cell(word), fix=_NO_FAMILY
                )
                self._keep_rows(listing, {line: [fault] for (line,) in lines}, "")
            else:
                targets = match_headers(listing.headers, family, str(listing.path), self._blank(listing, relation))
                self._understand(listing, family, relation, targets)
        self._keep_broken(listing, only or "", None)

    def _blank(self, listing: Listing, relation: str) -> frozenset[int]:
        used = ", ".join(f"bool_or(c{place} <> '')" for place in range(len(listing.headers)))
        row = self.con.execute(f"select {used} from ({relation})").fetchone()
        return frozenset(place for place, filled in enumerate(row or ()) if not filled)

    def _take_mapped(self, listing: Listing, document: ListMap) -> None:
        mapped = MappedRows(document, listing.headers, str(listing.path), self.notation)
        mapped.settle_units(lambda place: texts_of(self.con, listing, place))
        self.warnings += mapped.warnings
        self._keep_broken(listing, document.family or "", mapped)
        alike = {rows.form: rows for rows in mapped.families}
        files = {form: CleanFile(self._folder() / "rows.csv", len(rows.targets)) for form, rows in alike.items()}
        strangers: dict[int, list[Problem]] = {}
        for line, cells in _rows(self.con, listing):
            if what := mapped.skips(cells):
                listing.skipped[what] += 1
                continue
            found = mapped.family_of(cells)
            if is_commented_out(cells):
                strangers[line] = [
                    Problem("a row that is no comment", found=show_cell(encode_cell(cells[0])), fix=_COMMENT_FIX)
                ]
            elif isinstance(found, BadCell):
                strangers[line] = [Problem(found.expected, column=FAMILY_HEADER, found=found.shown, fix=found.fix)]
            else:
                files[found.form].write(line, found.read(cells))
        for form, rows in alike.items():
            relation = files[form].close()
            self._understand(listing, rows.family, relation, rows.targets, lenient=True)
        self._keep_rows(listing, strangers, "")

    def _understand(
        self,
        listing: Listing,
        family: str,
        relation: str,
        targets: Sequence[Target],
        *,
        lenient: bool = False,
    ) -> None:
        number = len(self.shares)
        understood = understand(
            self.con,
            family,
            relation,
            targets,
            lenient=lenient,
            tolerances=shop_tolerances(self.con),
            notation=self.notation,
            tag=f"{family}_{number}",
        )
        if not self.sure:
            understood = without_doubtful(self.con, family, understood, f"{family}_{number}")
        share = Share(number, listing, family, relation, targets, understood)
        self.shares.append(share)
        for row in self.problem_rows(share, understood.faults):
            self._keep(row)
        self.noted += self.problem_rows(share, understood.noted)

    def _keep(self, row: ProblemRow) -> None:
        """Keep a problem row; count a line that is not a part by its kind."""
        what = what_line(row.cells) if any(cell.strip() for cell in row.cells) else "blank"
        if what is None:
            self.problems.append(row)
        else:
            listing = next(one for one in reversed(self.listings) if str(one.path) == row.file)
            listing.skipped[what] += 1

    def _keep_broken(self, listing: Listing, family: str, mapped: MappedRows | None) -> None:
        for row in listing.broken:
            if mapped and (what := mapped.skips(row.cells)):
                listing.skipped[what] += 1
                continue
            self._keep(_problem(listing, row.line, family, [row.fault], row.cells, {}))

    def _keep_rows(self, listing: Listing, faults: dict[int, list[Problem]], family: str) -> None:
        for line, cells in _cells_at(self.con, listing.relation, faults):
            self._keep(_problem(listing, line, family, faults[line], cells, {}))

    def problem_rows(self, share: Share, faults: dict[int, list[Problem]]) -> list[ProblemRow]:
        """Return problem rows for faults by line, with the original and the converted cells."""
        listing = share.listing
        original = dict(_cells_at(self.con, listing.relation, faults))
        canonical = (
            dict(_cells_at(self.con, share.relation, faults)) if share.relation != listing.relation else original
        )
        return [
            _problem(
                listing,
                line,
                share.family,
                faults[line],
                cells,
                {target.column.name: canonical[line][target.position] for target in share.targets},
            )
            for line, cells in original.items()
        ]


def mends_place(listing: Listing) -> int | None:
    """Return the position of the problem column in a list that we wrote to be mended."""
    return next((place for place, header in enumerate(listing.headers) if fold(header) == MENDS_HEADER), None)


def _without_apostrophes(listing: Listing) -> str:
    """Remove the apostrophes that we put before cells a spreadsheet would take for formulas."""
    cells = ", ".join(
        f"case when regexp_matches(c{place}, '^''+[=+@\\t\\r-]') then substr(c{place}, 2) else c{place} end as c{place}"
        for place in range(len(listing.headers))
    )
    return f"select line, {cells} from ({listing.relation})"


def layout_of(order: Order) -> Layout:
    """Return the position of a list's rows from its order and its map."""
    document = order.map
    if order.layout is not None:
        return order.layout
    if document is None:
        return Layout(order.encoding)
    wanted = frozenset(fold(header) for header in mapped_headers(document))
    return Layout(
        order.encoding or document.encoding, document.delimiter, document.sheet, document.header_row, wanted=wanted
    )


def _rows(con: Connection, listing: Listing) -> Iterator[tuple[int, list[object]]]:
    result = con.execute(f"select * from ({listing.relation})")
    while block := result.fetchmany(BLOCK):
        for line, *cells in block:
            yield line, [decode_cell(cell) for cell in cells]


def texts_of(con: Connection, listing: Listing, place: int) -> dict[str, int]:
    """Return the distinct texts of a column with their counts."""
    query = f"select c{place}, count(*) from ({listing.relation}) where c{place} <> '' group by 1 order by min(line)"
    return {show_cell(text).strip(): count for text, count in con.execute(query).fetchall()}


def _cells_at(con: Connection, relation: str, lines: dict[int, list[Problem]]) -> Iterator[tuple[int, list[str]]]:
    if lines:
        query = f"select * from ({relation}) where line in (select unnest($1::integer[])) order by line"
        for line, *cells in con.execute(query, [list(lines)]).fetchall():
            yield line, [show_cell(cell) for cell in cells]


def _problem(
    listing: Listing, line: int, family: str, faults: Sequence[Problem], cells: Sequence[str], fields: dict[str, str]
) -> ProblemRow:
    return ProblemRow(
        file=str(listing.path),
        sheet=listing.sheet,
        line=line,
        family=family,
        part_id=fields.get("part_id", "").strip(),
        faults=tuple(faults),
        headers=tuple(listing.headers),
        cells=tuple(cells),
        fields=fields,
    )
