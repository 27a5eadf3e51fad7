"""Adapters at an opening, and what a part there mates with: one bit for each mouth.

Adapters that give the same in every hole are alike: a class of them is one bit, the cheapest first,
so that the first bit that is set is the cheapest way to mount a part. A rule is asked once for each
set of figures that it reads, not once for each part; what it says is a string of bits.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from catalog_schema.jobs import step_rank
from matcher.rules.dash import DASH
from matcher.rules.rule import FITS, NO, Rule, rules_of, shared_sql
from matcher.rules.speaker import SPEAKER
from matcher.search.fits.place import Place
from matcher.search.fits.relations import adapter_mouth_sql, bare_mouth_sql, hole_sql, part_sql, worst_of
from matcher.search.scoring import money_sql
from matcher.settings import Settings
from matcher.store.connection import Connection

DRILLED = step_rank("drilled")
JUDGED = ("step", "adapter_base", "adapter_bolts")
"""What a mouth carries of its own: its step, and how its adapter sits there."""


@dataclass(frozen=True, slots=True)
class Mouth:
    """One hole through one class of adapters."""

    cut: bool
    place: int
    """Where its class stands."""
    step: int
    base: int
    bolts: int


@dataclass(frozen=True, slots=True)
class Way:
    """One way in: as found or as cut, at a step of its own, with the existing bolt holes or with new ones."""

    cut: bool
    step: int
    drilled: bool

    @property
    def taken(self) -> int:
        """The step that it takes."""
        return max(self.step, DRILLED) if self.drilled else self.step

    @property
    def order(self) -> tuple[int, int]:
        """Of two ways for one part and adapter the first is taken."""
        return self.taken, self.step


@dataclass(frozen=True)
class Mates:
    """The adapters of an opening by class, and its mouths."""

    allowed: int
    classes: Sequence[Sequence[Any]]
    """Of each class the cheapest adapters: (adapter, price, pack_of, labour_h)."""
    many: Sequence[int]
    """How many adapters each class has."""
    mouths: Sequence[Mouth]

    @property
    def size(self) -> int:
        """Bits of a string: every class in the hole as found, then as cut where that is allowed."""
        return len(self.classes) * (2 if self.is_cut else 1)

    @cached_property
    def is_cut(self) -> bool:
        """Whether the hole may be cut."""
        return any(mouth.cut for mouth in self.mouths)

    def at(self, mouth: Mouth) -> int:
        """The bit of a mouth."""
        return mouth.place + (len(self.classes) if mouth.cut else 0)

    def mask(self, mouths: Iterable[Mouth]) -> str:
        """SQL of the bits of some mouths."""
        bits = ["0"] * self.size
        for mouth in mouths:
            bits[self.at(mouth)] = "1"
        return f"'{''.join(bits)}'::BIT"

    def ways(self) -> list[Way]:
        """The ways in, in the order in which they are taken."""
        found = {
            Way(one.cut, one.step, drilled)
            for one in self.mouths
            for drilled in ((False, True) if self.allowed >= DRILLED > one.step else (False,))
        }
        return sorted(found, key=lambda way: way.order)

    def planes(self) -> Iterator[tuple[int, str]]:
        """Numbers of adapters in binary: for each power of two the bits of the classes that hold it."""
        held = [bin(many)[:1:-1] for many in self.many]
        for power in range(max(map(len, held), default=0)):
            bits = "".join(one[power] if power < len(one) else "0" for one in held)
            yield 1 << power, f"'{bits.ljust(self.size, '0')}'::BIT"

    def cheapest(self, bits: str, k: int) -> list[Any]:
        """The k cheapest adapters of the classes that are set."""
        found: list[Any] = []
        places = (at for at, bit in enumerate(bits) if bit == "1")
        for at, _ in zip(places, range(k), strict=False):
            found += self.classes[at]
        return sorted(found, key=lambda one: (one["cents"], one["adapter_id"] or ""))[:k]


def rules_at(kind: str) -> str:
    """The question asked of a part at a mouth."""
    return DASH if kind == "dash" else SPEAKER


def read_mates(con: Connection, place: Place, pieces: int, k: int, settings: Settings) -> Mates:
    """The mouths of an opening within its step; they stand in the relation ``mouth`` from now on."""
    con.execute(_classes_sql(place, pieces, k, settings), place.key)
    rows = con.execute("SELECT mates, many FROM mate ORDER BY place").fetchall()
    figures = "SELECT place, unnest(gives) AS one FROM mate"
    mouths = con.execute(
        f"SELECT one.hole_is_cut, place, one.step, one.adapter_base, one.adapter_bolts FROM ({figures})"
    ).fetchall()
    mates = Mates(place.allowed, [row[0] for row in rows], [row[1] for row in rows], [Mouth(*row) for row in mouths])
    after = f"CASE WHEN one.hole_is_cut THEN {len(rows)} ELSE 0 END"
    con.execute(
        f"CREATE OR REPLACE TEMP TABLE mouth AS SELECT unnest(one), "
        f"set_bit(bitstring('0', {max(mates.size, 1)}), (place + {after})::INTEGER, 1) AS bit FROM ({figures})"
    )
    return mates


def _classes_sql(place: Place, pieces: int, k: int, settings: Settings) -> str:
    """Adapters by class, the cheapest class first; the opening itself is a class of its own."""
    kind = place.kind
    figures = ", ".join(f'"{name}": "{name}"' for name in (*mouth_columns(kind, settings), "hole_is_cut", *JUDGED))
    mouths = f"{bare_mouth_sql()} UNION ALL BY NAME SELECT * FROM ({adapter_mouth_sql(kind, settings)})"
    goods, work = money_sql("adapter", pieces, settings)
    one = '{"adapter_id": adapter_id, "price": price, "pack_of": pack_of, "labour_h": labour_h, "cents": cents}'
    return (
        f"CREATE OR REPLACE TEMP TABLE mate AS WITH adapter AS ({part_sql('adapter', settings)}), "
        f"opening AS (SELECT * FROM opening_{kind} WHERE vehicle_id = ? AND opening_id = ?), "
        f"hole AS (SELECT * FROM ({hole_sql(kind, settings)}) WHERE step <= {place.allowed}), "
        f"near AS (SELECT * FROM ({mouths}) WHERE adapter_base != {NO} AND step <= {place.allowed} "
        f"AND (adapter_bolts != {NO} OR {place.allowed} >= {DRILLED})), "
        f"alike AS (SELECT adapter_id, list({{{figures}}} ORDER BY hole_is_cut) AS gives "
        "FROM near GROUP BY adapter_id), "
        "priced AS (SELECT gives, adapter_id, adapter.price, adapter.pack_of, adapter.labour_h, "
        f"coalesce({goods} + {work}, 0) AS cents FROM alike LEFT JOIN adapter ON adapter.part_id = adapter_id), "
        f"class AS (SELECT gives, count(*) AS many, (list({one} ORDER BY cents, adapter_id))[:{k}] AS mates "
        "FROM priced GROUP BY gives) SELECT *, "
        "row_number() OVER (ORDER BY mates[1].cents, coalesce(mates[1].adapter_id, '')) - 1 AS place FROM class"
    )


def columns_read(subject: str, sql: str) -> tuple[str, ...]:
    """The columns of a subject that some SQL reads."""
    return tuple(dict.fromkeys(re.findall(rf'\b{subject}\."?(\w+)"?', sql)))


def rules_sql(rules: Sequence[Rule], settings: Settings) -> str:
    """SQL of all that some rules read of a row."""
    return ", ".join([*shared_sql(rules, settings), *(rule.measured_sql(settings) for rule in rules)])


def mouth_columns(kind: str, settings: Settings) -> tuple[str, ...]:
    """All that the rules read of a mouth."""
    return columns_read("mouth", rules_sql(rules_of(rules_at(kind)), settings))


@dataclass(frozen=True)
class Panel:
    """Rules that read the same figures of a part, asked together."""

    rules: tuple[Rule, ...]
    lifted: bool
    """Whether new screw holes lift them."""
    part: tuple[str, ...]
    mouth: tuple[str, ...]
    sql: str

    def said_sql(self, size: int, *, all_kept: bool) -> str:
        """SQL of what they say to each set of figures: the mouths that may do, and those that surely do."""
        columns = ", ".join(f'"{name}"' for name in self.part)
        figures = ", ".join(f'part."{name}"' for name in self.part)
        given = ", ".join(f'"{name}"' for name in self.mouth)
        code = worst_of(self.rules)
        kept = "" if all_kept else " HAVING can IS NOT NULL"
        return (
            f"SELECT {columns}, bit_or(mask) FILTER (code != {NO}) AS can, "
            f"coalesce(bit_or(mask) FILTER (code >= {FITS}), bitstring('0', {size})) AS sure FROM ("
            f"SELECT {columns}, mask, {code} AS code FROM (SELECT {figures}, mask, {self.sql} "
            f"FROM (SELECT DISTINCT {columns} FROM part) AS part, opening, "
            f"(SELECT {given}, bit_or(bit) AS mask FROM mouth GROUP BY ALL) AS mouth)) GROUP BY {columns}{kept}"
        )

    def meets(self, name: str) -> str:
        """SQL of a part's figures being those of a row of ``name``."""
        return " AND ".join(f'part."{column}" IS NOT DISTINCT FROM {name}."{column}"' for column in self.part)


def own_rules(scope: str, settings: Settings, *, lifted: bool) -> list[Rule]:
    """The rules that say the same at every mouth."""
    return [
        rule
        for rule in rules_of(scope)
        if (rule.lifted_at is not None) == lifted and not columns_read("mouth", rules_sql([rule], settings))
    ]


def panels(scope: str, settings: Settings) -> list[Panel]:
    """The other rules, by the figures that they read of a part."""
    groups: dict[object, list[Rule]] = {}
    for rule in rules_of(scope):
        sql = rules_sql([rule], settings)
        if columns_read("mouth", sql):
            measures = frozenset(name.removesuffix("_tol") for name in columns_read("part", sql) if "_mm" in name)
            groups.setdefault((rule.lifted_at is not None, measures), []).append(rule)
    return [_panel(rules, settings) for rules in groups.values()]


def _panel(rules: list[Rule], settings: Settings) -> Panel:
    sql = rules_sql(rules, settings)
    lifted = rules[0].lifted_at is not None
    return Panel(tuple(rules), lifted, columns_read("part", sql), columns_read("mouth", sql), sql)
