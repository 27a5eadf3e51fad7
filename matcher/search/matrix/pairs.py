"""What the rules say of the pairs of some places and all parts of their family, as temporary tables.

What no part has a say in is asked of each place once. The rules of the gate are asked of each set of figures of
parts against each set of figures of mouths; only pairs that pass are formed, and asked all the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from catalog_schema.ladder import step_rank
from matcher.search.mates import rules_sql
from matcher.search.matrix.kinds import Asking
from matcher.search.matrix.sheets import Sheet, sheets
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
    parts: str
    """SQL of which parts are asked."""
    step: int
    every: bool
    """Whether the pairs that do not go in are told, too, each with its margin."""
    settings: Settings

    @cached_property
    def sheets(self) -> list[Sheet]:
        return sheets(self.asking, self.settings)

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
        """Parts with their sets of figures, and mouths with theirs."""
        parts = f"SELECT * FROM ({part_sql(self.asking.family, self.settings)}) WHERE {self.parts}"
        self._table("catalog", f"SELECT (row_number() OVER (ORDER BY part_id))::INTEGER AS part_no, * FROM ({parts})")
        sets = ", ".join(f"f{one.at}.p AS p{one.at}" for one in self.sheets)
        joins = " ".join(f"JOIN ({one.figures_sql()}) AS f{one.at} ON {one.same_sql()}" for one in self.sheets)
        self._table("part", f"SELECT catalog.part_no, {sets} FROM catalog {joins}")
        given = ", ".join(f"{one.given_sql()} AS g{one.at}" for one in self.sheets)
        self._table(
            "spot",
            f"SELECT place_no, mouth.step, own_key, own_margin, own_tol, closed, {given} "
            "FROM mouth JOIN opening USING (place_no)",
        )

    def _lay_gate(self) -> None:
        """What the gate says, by figures of parts and classes of places, and how many pairs are not formed for it."""
        self._table(
            "class",
            "SELECT place_no, min(place_no) OVER (PARTITION BY gives) AS class_no FROM (SELECT place_no, "
            f"list([step, g0] ORDER BY step) AS gives FROM spot WHERE closed IS NULL OR {self.every} "
            "GROUP BY place_no)",
        )
        self._table("fig", "SELECT p0, count(*) AS many FROM part GROUP BY p0")
        at = "(SELECT class_no, step, g0 FROM spot JOIN (SELECT DISTINCT class_no FROM class) ON place_no = class_no)"
        asked = (
            f"SELECT p0, class_no, mouth.step, {self.sheets[0].sql} FROM fig JOIN catalog AS part ON part_no = p0, "
            f"(SELECT DISTINCT class_no FROM class) JOIN mouth ON mouth.place_no = class_no "
            "JOIN opening ON opening.place_no = class_no"
        )
        gate = self.asking.gate
        said = f"SELECT *, {codes_sql(gate)} FROM ({asked})"
        said = f"SELECT p0, class_no, step, {first_refusing(self.asking, gate)} AS refused FROM ({said})"
        best = "bool_or(refused IS NULL) AS passes, arg_max(refused, step) AS refused"
        self._table("gate", f"SELECT p0, class_no, {best} FROM ({said}) GROUP BY p0, class_no")
        self._table("unformed", self._unformed_sql())
        passing = f"SELECT DISTINCT p0 AS p, g0 AS g FROM gate JOIN {at} USING (class_no) WHERE passes OR {self.every}"
        self._table("said_0", self.sheets[0].said_sql(self.asking, passing))

    def _unformed_sql(self) -> str:
        """Counts of the pairs that are not formed, by the first rule that refuses them: (place_no, refused, many)."""
        closed = "SELECT place_no, closed, (SELECT count(*) FROM part) FROM opening WHERE closed IS NOT NULL"
        shut = (
            "SELECT place_no, refused, sum(fig.many)::BIGINT AS many FROM gate JOIN fig USING (p0) "
            "JOIN class USING (class_no) WHERE NOT passes GROUP BY ALL"
        )
        return f"SELECT * FROM ({shut} UNION ALL {closed}) WHERE {not self.every}"

    def _formed_sql(self) -> str:
        passing = f"gate JOIN part USING (p0) JOIN class USING (class_no) WHERE passes OR {self.every}"
        return f"SELECT part.*, place_no FROM {passing}"

    def _lay_seen(self) -> None:
        """The pairs that were formed: (place_no, part_no, takes, key, margin, tol, refused); takes: the least step."""
        asking = self.asking
        beside, joined = "", ""
        if asking.things:
            self._table("things", things_sql(asking, self.settings))
            beside = ", things.key AS things_key, things.told AS things_told"
            joined = " LEFT JOIN things ON things.part_no = formed.part_no AND things.place_no = formed.place_no"
        for one in self.sheets:
            if one.at:
                self._table(f"said_{one.at}", one.said_sql(asking, self._meetings(one)))
            said = f"said_{one.at}"
            told = ", ".join(f"{said}.{name} AS {name}_{one.at}" for name in ("key", "margin", "tol", "refused"))
            beside += f", {told}"
            joined += f" JOIN {said} ON {said}.p = formed.p{one.at} AND {said}.g = spot.g{one.at}"
        asked = (
            f"SELECT formed.part_no, formed.place_no, step, own_key, own_margin, own_tol, closed{beside} "
            f"FROM formed JOIN spot ON spot.place_no = formed.place_no{joined}"
        )
        # The pairs are led past the sheets in this order: each is small beside them.
        self.con.execute("SET disabled_optimizers = 'join_order,build_side_probe_side'")
        # Ways are laid down before they are compared: the database would work each expression out again and again.
        self._table("ways", way_sql(asking, self.sheets, asked, self.step, every=self.every))
        self.con.execute("RESET disabled_optimizers")
        self.con.execute(f"CREATE OR REPLACE TEMP VIEW seen AS {self._shown()}")

    def _meetings(self, sheet: Sheet) -> str:
        """SQL of the sets of figures that meet in some pair: all that could, where these are fewer than the pairs."""
        p, g = f"p{sheet.at}", f"g{sheet.at}"
        counts = f"(SELECT count(DISTINCT {p}) FROM part) * (SELECT count(DISTINCT {g}) FROM spot)"
        ((could, pairs),) = self.con.execute(f"SELECT {counts}, (SELECT count(*) FROM formed)").fetchall()
        if could <= pairs:
            return f"SELECT p, g FROM (SELECT DISTINCT {p} AS p FROM part), (SELECT DISTINCT {g} AS g FROM spot)"
        return f"SELECT DISTINCT {p} AS p, {g} AS g FROM formed JOIN spot USING (place_no)"

    def _shown(self) -> str:
        many = "SELECT coalesce(max(many), 0) FROM (SELECT count(*) AS many FROM mouth GROUP BY place_no)"
        ((ways,),) = self.con.execute(many).fetchall()
        return shown_sql("ways", self.step) if ways > 1 else "FROM ways"
