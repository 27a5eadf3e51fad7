"""What the rules say of the pairs of some places and all parts of their family, as temporary tables.

What no part has a say in is asked of each place once. The rules of the gate are asked of each set of figures of
parts against each set of figures of mouths; only pairs that pass are formed, and asked all the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

from catalog_schema.ladder import step_rank
from matcher.search.mates import columns_read, rules_sql
from matcher.search.matrix.kinds import Asking
from matcher.search.matrix.told import shown_sql, things_sql, way_sql
from matcher.search.matrix.verdicts import codes_sql, first_refusing, told, worst_key
from matcher.search.relations import bare_mouth_sql, hole_sql, part_sql
from matcher.settings import Settings
from matcher.store.connection import Connection

BOARDED = step_rank("bolt_on")


@dataclass(frozen=True)
class Pairs:
    """The pairs of one kind of opening, at one step of the ladder."""

    con: Connection
    asking: Asking
    step: int
    every: bool
    """Whether the pairs that do not go in are told, too, each with its margin."""
    settings: Settings

    def lay(self) -> None:
        """Ask everything: the relations ``seen`` (pairs that were formed) and ``unformed`` (counts) hold the answer.

        The relation ``place`` says which openings are asked about.
        """
        self._lay_openings()
        self._lay_parts()
        self._lay_gate()
        self._table("formed", self._formed_sql())
        self._lay_seen()

    def _table(self, name: str, sql: str) -> None:
        self.con.execute(f"CREATE OR REPLACE TEMP TABLE {name} AS {sql}")

    def _lay_openings(self) -> None:
        """Places with what is said of them alone; their mouths, as found and as far as they may be cut."""
        kind = self.asking.kind
        self._table("opening", self._opening_sql())
        if self.asking.is_standing:
            self._table("mouth", f"SELECT place_no, {BOARDED} AS step FROM opening")
            return
        allowed = "" if self.every else f" WHERE step <= {self.step} OR NOT hole_is_cut"
        self._table(
            "mouth",
            f"WITH hole AS ({hole_sql(kind, self.settings)}) SELECT place_no, mouth.* "
            f"FROM ({bare_mouth_sql()}) AS mouth JOIN opening USING (vehicle_id, opening_id){allowed}",
        )

    def _opening_sql(self) -> str:
        """``closed`` is the rule that refuses every part there."""
        asking, own = self.asking, self.asking.own
        measured = f", {rules_sql(own, self.settings)}" if own else ""
        coded = f", {codes_sql(own)}" if own else ""
        beyond = "0" if asking.is_standing and self.step < BOARDED else "NULL"
        return (
            f"WITH asked AS (SELECT opening.*, place_no{measured} FROM opening_{asking.kind} AS opening "
            "JOIN place USING (vehicle_id, opening_id) JOIN vehicle ON vehicle.vehicle_id = opening.vehicle_id "
            f"WHERE place.kind = '{asking.kind}' AND stands), coded AS (SELECT *{coded} FROM asked), "
            f"keyed AS (SELECT *, {worst_key(asking, own)} AS own_key FROM coded) "
            f"SELECT *, {told(asking, own, 'own_key', 'NULL', 'margin')} AS own_margin, "
            f"{told(asking, own, 'own_key', '0', 'tol')} AS own_tol, "
            f"coalesce({beyond}, {first_refusing(asking, own)}) AS closed FROM keyed"
        )

    def _lay_parts(self) -> None:
        """Parts, and the sets of figures that the gate reads of them."""
        read = columns_read("part", rules_sql(self.asking.gate, self.settings))
        names = ", ".join(f'"{name}"' for name in read)
        same = " AND ".join(f'catalog."{name}" IS NOT DISTINCT FROM fig."{name}"' for name in read)
        catalog = f"SELECT row_number() OVER () AS part_no, * FROM ({part_sql(self.asking.family, self.settings)})"
        self._table("catalog", catalog)
        self._table(
            "fig", f"SELECT row_number() OVER () AS fig_no, count(*) AS many, {names} FROM catalog GROUP BY {names}"
        )
        self._table("part", f"SELECT catalog.*, fig_no FROM catalog JOIN fig ON {same}")

    def _lay_gate(self) -> None:
        """What the gate says, by figures of parts and classes of places, and how many pairs are not formed for it."""
        gate = self.asking.gate
        sql = rules_sql(gate, self.settings)
        gives = ", ".join(f'{one}."{name}"' for one in ("mouth", "opening") for name in columns_read(one, sql))
        self._table(
            "class",
            "SELECT place_no, first_value(place_no) OVER (PARTITION BY gives ORDER BY place_no) AS class_no FROM ("
            f"SELECT place_no, list(row({gives}) ORDER BY mouth.step) AS gives "
            "FROM mouth JOIN opening USING (place_no) WHERE closed IS NULL GROUP BY place_no)",
        )
        asked = (
            f"SELECT fig_no, class_no, mouth.step, {sql} FROM fig AS part, (SELECT DISTINCT class_no FROM class) "
            "JOIN mouth ON mouth.place_no = class_no JOIN opening ON opening.place_no = class_no"
        )
        said = f"SELECT *, {codes_sql(gate)} FROM ({asked})"
        said = f"SELECT fig_no, class_no, step, {first_refusing(self.asking, gate)} AS refused FROM ({said})"
        best = "bool_or(refused IS NULL) AS passes, arg_max(refused, step) AS refused"
        self._table("gate", f"SELECT fig_no, class_no, {best} FROM ({said}) GROUP BY fig_no, class_no")
        self._table("unformed", self._unformed_sql())

    def _unformed_sql(self) -> str:
        """Counts of the pairs that are not formed, by the first rule that refuses them: (place_no, refused, many)."""
        closed = "SELECT place_no, closed, (SELECT count(*) FROM part) FROM opening WHERE closed IS NOT NULL"
        shut = (
            "SELECT place_no, refused, sum(fig.many)::BIGINT AS many FROM gate JOIN fig USING (fig_no) "
            "JOIN class USING (class_no) WHERE NOT passes GROUP BY ALL"
        )
        return f"SELECT * FROM ({shut} UNION ALL {closed}) WHERE {not self.every}"

    def _formed_sql(self) -> str:
        if self.every:
            return "SELECT part_no, place_no FROM part, opening"
        return "SELECT part_no, place_no FROM gate JOIN part USING (fig_no) JOIN class USING (class_no) WHERE passes"

    def _lay_seen(self) -> None:
        """The pairs that were formed: (place_no, part_no, takes, key, margin, tol, refused); takes: the least step."""
        asking, settings = self.asking, self.settings
        beside, joined = "", ""
        if asking.things:
            self._table("things", things_sql(asking, settings))
            beside = ", things.key AS things_key, things.told AS things_told"
            joined = " LEFT JOIN things ON things.part_no = part.part_no AND things.place_no = opening.place_no"
        asked = (
            f"SELECT part.part_no, opening.place_no, mouth.step, own_key, own_margin, own_tol, closed{beside}, "
            f"{rules_sql(asking.mated, settings)} FROM formed JOIN part ON part.part_no = formed.part_no "
            "JOIN opening ON opening.place_no = formed.place_no "
            f"JOIN mouth ON mouth.place_no = formed.place_no{joined}"
        )
        # Ways are laid down before they are compared: the database would work each expression out again and again.
        self._table("ways", way_sql(asking, asked, self.step, every=self.every))
        self.con.execute(f"CREATE OR REPLACE TEMP VIEW seen AS {self._shown()}")

    def _shown(self) -> str:
        many = "SELECT coalesce(max(many), 0) FROM (SELECT count(*) AS many FROM mouth GROUP BY place_no)"
        ((ways,),) = self.con.execute(many).fetchall()
        return shown_sql("ways", self.step) if ways > 1 else "FROM ways"
