"""Rules that read the same figures of a part, asked of each set of its figures at each set of an opening's: once.

Sets of figures go by one that has them: a part by its number, a mouth by its spot, `place_no * 8 + step`.
"""

from __future__ import annotations

from dataclasses import dataclass

from matcher.rules.rule import Rule
from matcher.search.mates import columns_read, rules_sql
from matcher.search.matrix.kinds import Asking
from matcher.search.matrix.verdicts import codes_sql, first_refusing, told, worst_key
from matcher.settings import Settings

SPOT = "place_no * 8 + step"
"""SQL of what a mouth goes by: there are fewer than eight steps."""


@dataclass(frozen=True)
class Sheet:
    """Some rules, and what they read."""

    at: int
    rules: tuple[Rule, ...]
    part: tuple[str, ...]
    """Columns of the part."""
    given: tuple[str, ...]
    """Columns of the mouth and of the opening, with their relation."""
    sql: str

    @property
    def is_lifted(self) -> bool:
        """Whether new screw holes lift them."""
        return self.rules[0].lifted_at is not None

    def figures_sql(self) -> str:
        """SQL of the sets of a part's figures, each with the first part ``p`` that has it."""
        names = ", ".join(f'"{name}"' for name in self.part)
        return f"SELECT {names or 'true AS any_part'}, min(part_no) AS p FROM catalog GROUP BY ALL"

    def same_sql(self) -> str:
        """SQL of a part having a set of figures."""
        pairs = [f'catalog."{name}" IS NOT DISTINCT FROM f{self.at}."{name}"' for name in self.part]
        return " AND ".join(pairs) or "true"

    def given_sql(self) -> str:
        """SQL of the spot that stands for a mouth, over ``mouth`` and ``opening``."""
        return f"min({SPOT}) OVER (PARTITION BY {', '.join(self.given) or 'true'})"

    def said_sql(self, asking: Asking, meetings: str) -> str:
        """SQL of what they say where a set ``p`` meets a set ``g``: (p, g, key, margin, tol, refused)."""
        margin, tol = (told(asking, self.rules, "key", "NULL", which) for which in ("margin", "tol"))
        return (
            f"WITH asked AS (SELECT p, g, {self.sql} FROM ({meetings}) AS met JOIN catalog AS part ON part_no = p "
            f"JOIN mouth ON {SPOT.replace('place_no', 'mouth.place_no')} = g "
            "JOIN opening ON opening.place_no = mouth.place_no), "
            f"coded AS (SELECT *, {codes_sql(self.rules)} FROM asked), "
            f"keyed AS (SELECT *, {worst_key(asking, self.rules)} AS key FROM coded) "
            f"SELECT p, g, key, {margin} AS margin, {tol} AS tol, {first_refusing(asking, self.rules)} AS refused "
            "FROM keyed"
        )


def sheets(asking: Asking, settings: Settings) -> list[Sheet]:
    """The rules of part and opening by the measures that they read of a part; first the gate."""
    groups: dict[object, list[Rule]] = {"gate": list(asking.gate)}
    for rule in asking.mated[len(asking.gate) :]:
        read = columns_read("part", rules_sql([rule], settings))
        measures = frozenset(name.removesuffix("_tol") for name in read if "_mm" in name)
        groups.setdefault((rule.lifted_at is not None, measures), []).append(rule)
    return [_sheet(at, rules, settings) for at, rules in enumerate(groups.values())]


def _sheet(at: int, rules: list[Rule], settings: Settings) -> Sheet:
    sql = rules_sql(rules, settings)
    given = tuple(f'{one}."{name}"' for one in ("mouth", "opening") for name in columns_read(one, sql))
    return Sheet(at, tuple(rules), columns_read("part", sql), given, sql)
