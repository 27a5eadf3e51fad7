"""Which drivers go into which boxes at a cargo space: a string of bits for each driver, one for each box of its size.

A rule is asked once for each set of figures that it reads of a driver, against each set that it reads of a box: so
what it costs hangs on how many figures differ, not on how many parts there are. A box of the catalog meets drivers
of its own size alone, for its size is a nominal one: every other is refused by the rule of sizes. A box made to
measure meets the driver it is made for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import Columns, column_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import Codes, worst
from matcher.kernel.verdicts import codes as codes_of
from matcher.rules.bass import BASS, FRONT_MADE
from matcher.rules.cargo import CARGO
from matcher.rules.rule import FITS, MEASURE, NO, Rule, rules_of
from matcher.rules.terms import Figure, read_by, weighed_by
from matcher.search.bass.boxes import PRICED, Made, bass_ctes
from matcher.search.fits.place import BOARD_STEP, DRILLED, LOOSEST, Place
from matcher.search.fits.refusing import refuses
from matcher.search.fits.term_sql import column, figure_tol_sql
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass(frozen=True, slots=True)
class Stood:
    """A box of the catalog that goes into a cargo space."""

    part_id: str
    size_in: Decimal
    drivers: int
    kind: str | None
    net_l: Decimal | None
    tuned_hz: Decimal | None
    step: int
    code: int
    place: int
    """Its bit among the boxes of its size."""
    price: Decimal | None
    pack_of: int | None
    labour_h: Decimal | None


@dataclass(frozen=True, slots=True)
class Met:
    """The boxes that a driver goes into, as bits: all of them, and those where nothing of both is left to measure."""

    driver_id: str
    can: str
    sure: str


@dataclass(frozen=True, slots=True)
class MadePair:
    """Some drivers of one model in a box made for them."""

    driver_id: str
    drivers: int
    step: int
    box_code: int
    code: int


@dataclass(frozen=True, slots=True)
class Mates:
    """All that goes into a cargo space: boxes, drivers in them, and drivers in boxes made to measure."""

    boxes: Sequence[Stood]
    met: Sequence[Met]
    made: Sequence[MadePair]


def read_mates(con: Connection, place: Place, made: Made, settings: Settings) -> Mates:
    """What goes into a cargo space, and who goes into what."""
    read = _Reader(con, place, made, settings)
    opening = read.rows("opening", "opening", (CARGO, BASS)).columns
    boxes = _boxes(read, opening, place.allowed)
    drivers = read.rows("(SELECT * FROM driver ORDER BY part_id) AS part", "part", (BASS,), DRIVER)
    bought = [at for at, box in enumerate(boxes.rows) if not box.made]
    stood = [boxes.rows[at].stood for at in bought]
    met = _met(drivers, boxes, bought, opening, settings)
    return Mates(stood, met, _made(drivers, boxes, opening, settings))


class _Rows(NamedTuple):
    """Rows that were read: cells beside, and what rules read of them."""

    rows: list[tuple[Any, ...]]
    columns: Columns


class _Box(NamedTuple):
    """A box that goes in, bought or made."""

    stood: Stood
    made: bool
    for_part: str | None


class _Boxes(NamedTuple):
    """The boxes that go in, with what the rules of drivers read of them."""

    rows: list[_Box]
    columns: Columns


DRIVER = ("part_id", "size_in")
BOX = ("part_id", "driver_size_in", "drivers", "kind", "net_l", "tuned_hz", *PRICED, "made", "for_part")


@dataclass(frozen=True)
class _Reader:
    """Reads what rules ask of a cargo space, of boxes and of drivers."""

    con: Connection
    place: Place
    made: Made
    settings: Settings

    def rows(self, source: str, subject: str, scopes: Sequence[str], beside: Sequence[str] = ()) -> _Rows:
        """The figures of a subject that the rules of some scopes read, and cells beside."""
        terms = [term for scope in scopes for rule in rules_of(scope) for term in rule.terms]
        figures = [figure for figure in read_by(*terms) if figure.subject == subject]
        weighed = {figure for term in terms for figure in weighed_by(term)}
        tols = [figure_tol_sql(one, self.settings) if one in weighed else "NULL" for one in figures]
        cells = [*(f"{subject}.{name}" for name in beside), *map(column, figures), *tols]
        statement = f"{bass_ctes(self.settings)} SELECT {', '.join(cells)} FROM {source}"
        rows = self.con.execute(statement, [*self.place.key, *self.made.params()]).fetchall()
        told = list(zip(*rows, strict=True)) or [()] * len(cells)
        columns = self._columns(figures, told[len(beside) :])
        return _Rows([row[: len(beside)] for row in rows], columns)

    @staticmethod
    def _columns(figures: Sequence[Figure], told: Sequence[tuple[Any, ...]]) -> Columns:
        named = zip(figures, told[: len(figures)], told[len(figures) :], strict=True)
        return Columns({str(figure): column_of(cells, tols) for figure, cells, tols in named})


def _boxes(read: _Reader, opening: Columns, allowed: int) -> _Boxes:
    """Every box that goes in within a step, by name."""
    source = "(SELECT * FROM boxes ORDER BY part_id, for_part, drivers)"
    outer = read.rows(f"{source} AS part", "part", (CARGO,), BOX)
    inner = read.rows(f"{source} AS box", "box", (BASS,)).columns
    at = Evaluation(outer.columns | opening, read.settings)
    base, bolts = (
        _codes([rule for rule in rules_of(CARGO) if (rule.lifted_at is not None) == lifted], at, len(outer.rows))
        for lifted in (False, True)
    )
    held = np.minimum(base, bolts)
    step = np.where(held != NO, BOARD_STEP, np.where(base != NO, DRILLED, LOOSEST + 1))
    code = np.where(step >= DRILLED, base, held)
    kept = np.flatnonzero(step <= allowed)
    places: Counter[tuple[bool, Decimal]] = Counter()
    boxes = []
    for row in kept.tolist():
        part_id, size, drivers, kind, net, tuned, price, pack_of, labour_h, made, for_part = outer.rows[row]
        cells = (part_id, size, drivers, kind, net, tuned, int(step[row]), int(code[row]), places[made, size])
        places[made, size] += 1
        boxes.append(_Box(Stood(*cells, price, pack_of, labour_h), made, for_part))
    return _Boxes(boxes, inner.take(kept))


def _codes(rules: Sequence[Rule], at: Evaluation, rows: int) -> Codes:
    """The worst that some rules say of each row; at worst to be measured if nothing is to be refused."""
    found = np.broadcast_to(worst(rules, at), (rows,))
    return found if refuses() else np.maximum(found, np.int8(MEASURE))


def _met(drivers: _Rows, boxes: _Boxes, bought: Sequence[int], opening: Columns, settings: Settings) -> list[Met]:
    """The drivers that go into any box of the catalog of their size."""
    by_size: dict[object, list[int]] = {}
    for at in bought:
        by_size.setdefault(boxes.rows[at].stood.size_in, []).append(at)
    found = []
    for size, some in by_size.items():
        rows = np.array([at for at, (_, size_in) in enumerate(drivers.rows) if size_in == size], dtype=np.int64)
        if len(rows):
            codes = _pair_codes(drivers.columns.take(rows), boxes.columns.take(np.array(some)), opening, settings)
            for row, code in zip(rows.tolist(), codes, strict=True):
                if (code != NO).any():
                    found.append(Met(drivers.rows[row][0], _bits(code != NO), _bits(code == FITS)))
    return sorted(found, key=lambda met: met.driver_id)


def _bits(flags: NDArray[np.bool_]) -> str:
    return (flags.astype(np.uint8) + ord("0")).tobytes().decode()


def _pair_codes(drivers: Columns, boxes: Columns, opening: Columns, settings: Settings) -> Codes:
    """What the rules say of each driver in each box, shape (drivers, boxes).

    A rule is asked once for each distinct set of figures that it reads of a driver, against each of a box.
    """
    found: Codes | None = None
    for rule in rules_of(BASS):
        if rule.when is not FRONT_MADE:
            (first, number), (other_first, other_number) = _sets(drivers, rule), _sets(boxes, rule)
            columns = drivers.take(first).down() | boxes.take(other_first).across() | opening
            told = np.broadcast_to(codes_of(rule, Evaluation(columns, settings)), (len(first), len(other_first)))
            spread = told[number][:, other_number]
            found = spread if found is None else np.minimum(found, spread)
    assert found is not None
    return found if refuses() else np.maximum(found, np.int8(MEASURE))


def _sets(columns: Columns, rule: Rule) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Rows that stand for each distinct set of figures that a rule reads, and by row the number of its set."""
    rows = max(len(column.values) for column in columns.values())
    names = [str(figure) for figure in read_by(*rule.terms) if str(figure) in columns]
    if not names:
        return np.zeros(1, np.int64), np.zeros(rows, np.int64)
    told = [np.broadcast_to(each, (rows,)).astype(np.int64) for name in names for each in columns[name]]
    _, first, number = np.unique(np.stack(told, axis=1), axis=0, return_index=True, return_inverse=True)
    return first, number.reshape(-1)


def _made(drivers: _Rows, boxes: _Boxes, opening: Columns, settings: Settings) -> list[MadePair]:
    """The drivers that go into the boxes made for them."""
    row_of = {part_id: at for at, (part_id, _) in enumerate(drivers.rows)}
    some = [at for at, box in enumerate(boxes.rows) if box.made and box.for_part in row_of]
    if not some:
        return []
    mine = np.array([row_of[str(boxes.rows[at].for_part)] for at in some])
    columns = drivers.columns.take(mine) | boxes.columns.take(np.array(some)) | opening
    code = _codes(rules_of(BASS), Evaluation(columns, settings), len(some))
    pairs = [
        MadePair(str(box.for_part), box.stood.drivers, box.stood.step, box.stood.code, int(told))
        for box, told in zip((boxes.rows[at] for at in some), code, strict=True)
        if told != NO
    ]
    return sorted(pairs, key=lambda pair: (pair.driver_id, pair.drivers))
