"""Which drivers go into which boxes at a cargo space: a string of bits for each driver, one for each box of its size.

A rule is asked once for each set of figures that it reads of a driver, against each set that it reads of a box: so
what it costs hangs on how many figures differ, not on how many parts there are. A box of the catalog meets drivers
of its own size alone, for its size is a nominal one: every other is refused by the rule of sizes. A box made to
measure meets the driver it is made for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from matcher.rules.bass import BASS, FRONT_MADE
from matcher.rules.cargo import CARGO
from matcher.rules.rule import NO, Rule, rules_of
from matcher.search.bass.boxes import PRICED, Made, bass_ctes
from matcher.search.fits.figures import columns_read, rules_sql, said_columns
from matcher.search.fits.place import BOARD_STEP, DRILLED, Place
from matcher.search.fits.relations import measured, part_sql, same_sql, worst_code, worst_of
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
    con.execute(_stands_sql(place, settings), [*place.key, *made.params()])
    rows = con.execute(
        "SELECT part_id, driver_size_in, drivers, kind, net_l, tuned_hz, step, box_code, place, "
        f"{', '.join(PRICED)} FROM stands WHERE NOT made ORDER BY part_id"
    ).fetchall()
    boxes = [Stood(*row) for row in rows]
    size = max((one.place for one in boxes), default=-1) + 1
    met = con.execute(_met_sql(size, settings), place.key).fetchall() if boxes else []
    pairs = con.execute(_made_sql(settings), place.key).fetchall() if made.shapes else []
    return Mates(boxes, [Met(*row) for row in met], [MadePair(*row) for row in pairs])


def _stands_sql(place: Place, settings: Settings) -> str:
    """SQL of the boxes that go in, bought and made, as the relation ``stands``."""
    bolts, base = (worst_code(CARGO, lifted=lifted) for lifted in (True, False))
    taken = f"CASE WHEN least(base, bolts) != {NO} THEN {BOARD_STEP} WHEN base != {NO} THEN {DRILLED} END"
    read = columns_read("box", rules_sql(rules_of(BASS), settings))
    carried = dict.fromkeys(("part_id", "for_part", "kind", "net_l", "tuned_hz", *PRICED, *read, "step"))
    return (
        f"CREATE OR REPLACE TEMP TABLE stands AS {bass_ctes(settings)}, "
        f"asked AS (SELECT part.*, {measured(CARGO, settings)} FROM boxes AS part, opening), "
        f"coded AS (SELECT *, {base} AS base, {bolts} AS bolts FROM asked), "
        f"standing AS (SELECT *, {taken} AS step FROM coded) "
        f"SELECT {', '.join(carried)}, "
        f"CASE WHEN step >= {DRILLED} THEN base ELSE least(base, bolts) END AS box_code, "
        "row_number() OVER (PARTITION BY made, driver_size_in ORDER BY part_id) - 1 AS place "
        f"FROM standing WHERE step <= {place.allowed}"
    )


def _opening_and_driver(settings: Settings) -> str:
    return (
        "WITH opening AS (SELECT * FROM opening_cargo WHERE vehicle_id = $1 AND opening_id = $2), "
        f"driver AS ({part_sql('subwoofer', settings)})"
    )


def _met_sql(size: int, settings: Settings) -> str:
    """SQL of the bits of each driver that goes into any box of the catalog."""
    panels = _panels(settings)
    said = ", ".join(f"said_{at} AS ({_said_sql(rules, size, settings)})" for at, rules in enumerate(panels))
    joins = " ".join(
        f"JOIN said_{at} ON {same_sql('driver', f'said_{at}', _figures(rules, settings))}"
        for at, rules in enumerate(panels)
    )
    can, sure = (" & ".join(f"said_{at}.{name}" for at, _ in enumerate(panels)) for name in ("can", "sure"))
    return (
        f"{_opening_and_driver(settings)}, bought AS (SELECT *, "
        f"set_bit(bitstring('0', {size}), place::INTEGER, 1) AS bit FROM stands WHERE NOT made), {said} "
        f"SELECT part_id, can::VARCHAR, sure::VARCHAR FROM (SELECT driver.part_id, {can} AS can, {sure} AS sure "
        f"FROM driver {joins}) WHERE bit_count(can) > 0 ORDER BY part_id"
    )


def _panels(settings: Settings) -> list[list[Rule]]:
    """The rules of a driver in a box of the catalog, by the figures that they read of the driver."""
    groups: dict[frozenset[str], list[Rule]] = {}
    for rule in rules_of(BASS):
        if rule.when is not FRONT_MADE:
            figures = (name for name in _figures([rule], settings) if not name.endswith("_tol"))
            groups.setdefault(frozenset(figures), []).append(rule)
    return list(groups.values())


def _figures(rules: Sequence[Rule], settings: Settings) -> list[str]:
    """The columns of a driver that some rules read, and its size, by which it meets a box at all."""
    return list(dict.fromkeys(("size_in", *columns_read("part", rules_sql(rules, settings)))))


def _said_sql(rules: Sequence[Rule], size: int, settings: Settings) -> str:
    """SQL of what some rules say to each set of a driver's figures: the boxes that may do, and those that surely do."""
    sql = rules_sql(rules, settings)
    own = ", ".join(f'"{name}"' for name in _figures(rules, settings))
    given = ", ".join(f'"{name}"' for name in dict.fromkeys(("driver_size_in", *columns_read("box", sql))))
    read = ", ".join(f'part."{name}"' for name in _figures(rules, settings))
    return (
        f"SELECT {own}, {said_columns('bits', size)} "
        f"FROM (SELECT {own}, bits, {worst_of(rules)} AS code FROM (SELECT {read}, bits, {sql} "
        f"FROM (SELECT DISTINCT {own} FROM driver) AS part JOIN (SELECT {given}, bit_or(bit) AS bits FROM bought "
        "GROUP BY ALL) AS box ON box.driver_size_in = part.size_in, opening)) "
        f"GROUP BY {own} HAVING can IS NOT NULL"
    )


def _made_sql(settings: Settings) -> str:
    """SQL of the drivers that go into the boxes made for them."""
    return (
        f"{_opening_and_driver(settings)}, pair AS (SELECT for_part, box.drivers, box.step, box.box_code, "
        f"{measured(BASS, settings)} FROM driver AS part "
        "JOIN stands AS box ON box.made AND box.for_part = part.part_id, opening), "
        f"judged AS (SELECT *, {worst_code(BASS, lifted=False)} AS code FROM pair) "
        f"SELECT for_part, drivers, step, box_code, code FROM judged WHERE code != {NO} ORDER BY for_part, drivers"
    )
