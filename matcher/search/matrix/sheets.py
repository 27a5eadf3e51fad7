"""Rules that read the same figures of a part: a sheet, asked of each set of its figures at each set of an opening's.

A sheet's sets are numbered on both sides: ``p`` for those of parts, ``g`` for those of spots, which are the mouths of
a place. What is said where they meet fills a table, and a pair only looks it up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matcher.rules.dash import SCREEN
from matcher.rules.rule import Rule
from matcher.search.fits.figures import columns_read, rules_sql
from matcher.search.fits.relations import measured, rise_sql, same_sql
from matcher.search.matrix.kinds import Asking
from matcher.search.matrix.places import things_sql
from matcher.search.matrix.verdicts import codes_sql, first_refusing, told, worst_key
from matcher.settings import Settings


@dataclass(frozen=True)
class Sheet:
    """Some rules, and what they read."""

    at: int
    rules: tuple[Rule, ...]
    part: tuple[str, ...]
    """Columns of the part."""
    given: tuple[str, ...]
    """SQL of what they read of the mouth and of the opening."""
    sql: str

    @property
    def is_lifted(self) -> bool:
        """Whether new screw holes lift them."""
        return self.rules[0].lifted_at is not None

    @property
    def sets(self) -> str:
        """The relation of the sets of a part's figures: (p, *part)."""
        return f"set_{self.at}"

    @property
    def figures(self) -> str:
        """SQL of the columns of a set."""
        return ", ".join(f'"{name}"' for name in self.part)

    def same_sql(self, thing: str) -> str:
        """SQL of a thing having a set of figures."""
        return same_sql(thing, self.sets, self.part) or "true"

    def given_sql(self) -> str:
        """SQL of the number of the set of a spot's figures, over ``mouth`` and ``opening``."""
        return f"dense_rank() OVER (ORDER BY {', '.join(self.given) or 'true'}) - 1"

    def slices(self, parts: int, spots: int) -> list[range]:
        """The sets of the parts' figures in so many slices as are asked one after the other."""
        return [range(parts)]

    def said_sql(self, asking: Asking, parts: int, some: range, *, every: bool) -> str:
        """SQL of what they say where a set meets a set: (cell, refused, key, margin, tol), cell: g * parts + p.

        Of what is refused only the rule is told, unless ``every``.
        """
        margin, tol = (told(asking, self.rules, "key", "NULL", which) for which in ("margin", "tol"))
        kept = "true" if every else "refused IS NULL"
        return (
            f"WITH {self._asked_sql(parts, some)}, coded AS (SELECT *, {codes_sql(self.rules)} FROM asked), "
            f"judged AS (SELECT *, {first_refusing(asking, self.rules)} AS refused FROM coded), "
            f"keyed AS (SELECT *, CASE WHEN {kept} THEN {worst_key(asking, self.rules)} END AS key FROM judged) "
            f"SELECT cell, refused, key, {margin} AS margin, {tol} AS tol FROM keyed"
        )

    def _asked_sql(self, parts: int, some: range) -> str:
        return (
            f"met AS ({self._met_sql()}), asked AS (SELECT g * {parts} + p AS cell, {self.sql} "
            f"FROM {self.sets} AS part, met JOIN mouth ON mouth.spot_no = met.spot_no "
            "JOIN opening ON opening.place_no = mouth.place_no)"
        )

    def _met_sql(self) -> str:
        """SQL of the sets of the spots' figures, each with a spot that has it."""
        return f"SELECT g{self.at}::BIGINT AS g, min(spot_no) AS spot_no FROM spot GROUP BY g{self.at}"


CELLS_AT_ONCE = 200_000
"""So many screens before so many dashes are tried at every height at once: some tens of megabytes."""


@dataclass(frozen=True)
class Around(Sheet):
    """What is said about the things that must stay reachable, where a floating screen hangs as well as it can."""

    rise: str

    def slices(self, parts: int, spots: int) -> list[range]:
        """As many at once as there is room for: each is tried at every height."""
        step = max(1, CELLS_AT_ONCE // max(spots, 1))
        return [range(first, min(first + step, parts)) for first in range(0, parts, step)]

    def said_sql(self, asking: Asking, parts: int, some: range, *, every: bool) -> str:
        """As of any sheet: the worst that is said about any of the things."""
        one = super().said_sql(asking, parts, some, every=True)
        # As a pair: what is unknown counts as well.
        worst = "arg_min({'margin': margin, 'tol': tol}, key)"
        return f"SELECT cell, min(refused) AS refused, min(key) AS key, unnest({worst}) FROM ({one}) GROUP BY cell"

    def _asked_sql(self, parts: int, some: range) -> str:
        return (
            f"met AS (SELECT met.*, mouth.place_no FROM ({self._met_sql()}) AS met JOIN mouth USING (spot_no)), "
            "keep AS (SELECT k.*, opening.place_no FROM keep_clear k JOIN opening USING (vehicle_id, opening_id)), "
            f"hung AS (SELECT part.*, g * {parts} + p AS cell, place_no FROM {self.sets} AS part, met "
            "WHERE (part.screen IS NULL OR part.screen = 'floating') AND place_no IN (SELECT place_no FROM keep) "
            f"AND p >= {some.start} AND p < {some.stop}), "
            f"rise AS ({self.rise}), "
            f"asked AS (SELECT part.cell, {self.sql} FROM hung AS part JOIN rise USING (cell) "
            "JOIN keep USING (place_no))"
        )


def sheets(asking: Asking, settings: Settings) -> list[Sheet]:
    """The rules of part and opening by the measures that they read of a part; first the gate, last the things."""
    groups: dict[object, list[Rule]] = {"gate": list(asking.gate)}
    for rule in asking.mated[len(asking.gate) :]:
        read = columns_read("part", rules_sql([rule], settings))
        measures = frozenset(name.removesuffix("_tol") for name in read if "_mm" in name)
        groups.setdefault((rule.lifted_at is not None, measures), []).append(rule)
    found = [_sheet(at, rules, settings) for at, rules in enumerate(groups.values())]
    return [*found, _around(len(found), asking, settings)] if asking.of_things else found


def _sheet(at: int, rules: Sequence[Rule], settings: Settings) -> Sheet:
    sql = rules_sql(rules, settings)
    given = tuple(f'{one}."{name}"' for one in ("mouth", "opening") for name in columns_read(one, sql))
    part = columns_read("part", sql) or ("basis",)  # a set has a column at least
    return Sheet(at, tuple(rules), part, given, sql)


def _around(at: int, asking: Asking, settings: Settings) -> Sheet:
    sql, rise = measured(SCREEN, settings), rise_sql(settings)
    part = ("screen", *(name for name in columns_read("part", f"{sql} {rise}") if name != "screen"))
    return Around(at, tuple(asking.things), part, (things_sql(),), sql, rise)
