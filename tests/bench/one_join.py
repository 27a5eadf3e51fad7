"""A job as tables, and one SQL join over all of them: every combination, sorted, the best at the top."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import duckdb

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # the tests' own packages, when run by hand

from tests.search.second_model import LOUDEST_CDB, NO, OPEN, YES, Instance, Part


class Join:
    """The tables of an instance."""

    def __init__(self, instance: Instance) -> None:
        self.instance, self.con = instance, duckdb.connect()
        self._numbers: dict[Any, int] = {}
        blocks = [self._number(instance.block(part)) for part in instance.heads]
        self._parts("head", instance.heads, blocks)
        self._parts("amp", [*instance.amplifiers, Part(("", ""), 0, 0, (0,) * len(instance.uses), None)])
        self._lines()
        self._plans()
        for place, (name, parts) in enumerate(instance.places.items()):
            self._parts(f"part{place}", parts)
            self._wires(f"wire{place}", name)
        points = instance.level_points
        assert points is not None
        self._table("level", "cdb INT, earned INT", ((level, points(level)) for level in range(LOUDEST_CDB)))

    def best(self, top: int) -> int | None:
        """The best score."""
        rows = self.con.execute(self._statement(top)).fetchall()
        return rows[0][0] if rows else None

    def _number(self, thing: Any) -> int:
        return self._numbers.setdefault(thing, len(self._numbers))

    def _table(self, name: str, columns: str, rows: Iterable[Sequence[Any]]) -> None:
        self.con.execute(f"CREATE TEMP TABLE {name} ({columns})")
        some = [tuple(row) for row in rows]
        if some:
            columns_of = list(zip(*some, strict=True))
            names = ", ".join(f"unnest(${at + 1})" for at in range(len(columns_of)))
            self.con.execute(f"INSERT INTO {name} SELECT {names}", [list(column) for column in columns_of])

    def _parts(self, name: str, parts: Sequence[Part], blocks: Sequence[int] | None = None) -> None:
        """A slot's parts; `source` is what feeds ask of one."""
        uses = ", ".join(f"use{at} BIGINT" for at in range(len(self.instance.uses)))
        self._table(
            name,
            "id VARCHAR, mate VARCHAR, points INT, cents INT, level INT, most INT, more INT, kind INT, source INT, "
            + uses,
            (
                [
                    *part.name,
                    part.points,
                    part.cents,
                    part.level_cdb,
                    part.most_cdb,
                    part.more,
                    kind,
                    source,
                    *part.uses,
                ]
                for at, part in enumerate(parts)
                for kind in [self._number(part.kind)]
                for source in [kind if blocks is None else blocks[at]]
            ),
        )

    def _lines(self) -> None:
        """By head unit and kind of amplifier: what is said of their line, where it is not no."""
        here = self.instance
        kinds = [*dict.fromkeys(part.kind for part in here.amplifiers), None]
        self._table(
            "line",
            "id VARCHAR, mate VARCHAR, kind INT, code INT",
            (
                (*part.name, self._number(kind), code)
                for part in here.heads
                for kind in kinds
                if (code := here.line(part, kind)) != NO
            ),
        )

    def _plans(self) -> None:
        """The plans with the feed of each place and the channels they take; and what is said of channels."""
        here = self.instance
        columns = ", ".join(f"feed{place} INT, from{place} BOOL" for place in range(len(here.places)))
        rows, taken = [], set()
        for feeds in here.plans:
            of = {place: feed for feed in feeds for place in feed[2]}
            takes = [sum(feed[3] for feed in feeds if feed[0] == source) for source in ("head_unit", "amplifier")]
            taken |= set(zip(("head_unit", "amplifier"), takes, strict=True))
            told = (word for name in here.places for word in (self._number(of[name]), of[name][0] == "head_unit"))
            rows.append((*takes, here.plan_points(feeds), *told))
        self._table("plan", f"head_takes INT, amp_takes INT, points INT, {columns}", rows)
        kinds = {"head_unit": {part.kind for part in here.heads}, "amplifier": {part.kind for part in here.amplifiers}}
        self._table(
            "channel",
            "of_head BOOL, kind INT, takes INT, code INT",
            (
                (source == "head_unit", self._number(kind), takes, code)
                for source, takes in taken
                for kind in kinds[source]
                if (code := here.channels(source, kind, takes) if takes else YES) != NO
            ),
        )

    def _wires(self, name: str, place: str) -> None:
        feeds = dict.fromkeys(feed for plan in self.instance.plans for feed in plan if place in feed[2])
        self._table(
            name,
            "feed INT, kind INT, source INT, load INT, beside INT, code INT, gain INT, points INT",
            (
                [*map(self._number, names), wire.code, wire.gain_cdb, wire.points]
                for feed in feeds
                for wire in self.instance.wires(place, feed)
                if wire.code != NO
                for names in [(feed, wire.kind, wire.source, ("load", wire.load), ("load", wire.beside))]
            ),
        )

    def _statement(self, top: int) -> str:
        here, places = self.instance, range(len(self.instance.places))
        slots = ["head", "amp", *(f"part{at}" for at in places)]
        joins = "plan, head JOIN line USING (id, mate) JOIN amp ON amp.kind = line.kind"
        doubts = [f"{here.unknown} * ({OPEN} IN (line.code, of_head.code, of_amp.code))::INT"]
        wheres = [
            "(amp.id || amp.mate = '') = (plan.amp_takes = 0)",
            "of_head.of_head AND of_head.kind = head.kind AND of_head.takes = plan.head_takes",
            "(amp.id || amp.mate = '' OR "
            "(NOT of_amp.of_head AND of_amp.kind = amp.kind AND of_amp.takes = plan.amp_takes))",
        ]
        points = [f"{slot}.points" for slot in ("plan", *slots)]
        for at in places:
            joins += f", part{at} JOIN wire{at} USING (kind) LEFT JOIN level level{at} "
            joins += f"ON level{at}.cdb = least(part{at}.level + wire{at}.gain, part{at}.most) "
            joins += f"AND part{at}.level + wire{at}.gain IS NOT NULL"  # least passes over what is not known
            wheres.append(f"wire{at}.feed = plan.feed{at}")
            wheres.append(f"wire{at}.source = CASE WHEN plan.from{at} THEN head.source ELSE amp.source END")
            points += [f"wire{at}.points", f"coalesce(level{at}.earned, 0)"]
            doubts.append(f"part{at}.more * (wire{at}.code = {OPEN})::INT")
            wheres += [
                f"(plan.feed{at} != plan.feed{other} OR "
                f"(wire{at}.load = wire{other}.beside AND wire{at}.beside = wire{other}.load))"
                for other in range(at)
            ]
        joins += f", channel of_head, (FROM channel UNION ALL SELECT false, NULL, NULL, {YES}) of_amp"
        wheres.append("(of_amp.kind IS NULL) = (amp.id || amp.mate = '')")
        score = f"{' + '.join(points)} - ({' + '.join(doubts)})"
        money = " + ".join(f"{slot}.cents" for slot in slots)
        for at, most in enumerate([here.cents, *here.uses]):
            spent = money if at == 0 else " + ".join(f"{slot}.use{at - 1}" for slot in slots)
            wheres += [] if most is None else [f"{spent} <= {most}"]
        names = ", ".join(f"{slot}.id, {slot}.mate" for slot in ("head", *slots[2:], "amp"))
        ordered = f"score DESC, {money}, {names} LIMIT {top}"
        return f"SELECT {score} AS score FROM {joins} WHERE {' AND '.join(wheres)} ORDER BY {ordered}"
