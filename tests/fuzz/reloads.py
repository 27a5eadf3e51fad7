"""Sequences of loads, mended rows, second suppliers, readings and going back, beside a simple model of the catalog.

`try_reloads` makes some sequences at random and compares, after each step, every figure of every part, the supplier of
each part, and the rows that wait to be mended.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from matcher import Shop

HEADER = "part_id,maker,model,price,vlt_pct"
MAKERS = {"Nord": "Ulvo", "Skerry": "Ulvo", "Holm": "Xand"}
"""Suppliers and the maker of their parts: two of them sell the same one's."""
NUMBERS = ("1", "2", "3", "4")
UNREADABLE = "much"

Cells = tuple[str, str, str, str]
"""Number, model, price and light of a row, as text."""
Key = tuple[str, Cells, int]
"""A row that failed: its supplier, its cells, which of those that are alike."""


@dataclass
class Tally:
    """What was tried, and what came out otherwise than the model says."""

    sequences: int = 0
    steps: int = 0
    compared: int = 0
    wrong: list[str] = field(default_factory=list)


@dataclass(eq=False)
class Part:
    """A row of the catalog."""

    supplier: str
    said: tuple[str, Decimal, Decimal | None]
    """Model, price, light."""
    over: tuple[str, Decimal, Decimal | None] | None = None
    """What the list said before this row was mended by hand."""
    mended: set[Key] = field(default_factory=set)
    is_mended: bool = False

    def again(self) -> Part:
        return Part(self.supplier, self.said, self.over, set(self.mended), self.is_mended)


class Model:
    """What the catalog has to hold."""

    def __init__(self) -> None:
        self.parts: dict[str, Part] = {}
        self.versions: dict[int, dict[str, Part]] = {0: {}}
        self.states: dict[Key, str] = {}
        self.prefixes: dict[str, str] = {}
        self.bare: set[tuple[str, str]] = set()
        self.last: dict[str, str] = {}
        self.readings: dict[str, Decimal] = {}

    def number(self, supplier: str, number: str) -> str:
        prefix = self.prefixes.get(supplier, "")
        if not prefix or number.startswith(prefix) or (supplier, number) in self.bare:
            return number
        return prefix + number

    def is_taken(self, part_id: str, supplier: str) -> bool:
        held = self.parts.get(part_id)
        if held is not None:
            return held.supplier != supplier
        return part_id in self.readings and self.last.get(part_id, supplier) != supplier

    def put(self, part_id: str, part: Part) -> None:
        self.parts[part_id] = part
        self.last[part_id] = part.supplier
        if not part_id.startswith(self.prefixes.get(part.supplier) or "\0"):
            self.bare.add((part.supplier, part_id))

    def load(self, supplier: str, rows: list[Cells], *, complete: bool) -> None:
        met: dict[str, tuple[str, Decimal, Decimal | None]] = {}
        failing: list[Cells] = []
        listed: set[str] = set()
        for row in rows:
            said = read(row)
            part_id = self.number(supplier, row[0])
            listed |= {row[0], part_id} if said is None else {part_id}
            if said is None or self.is_taken(part_id, supplier) or met.setdefault(part_id, said) != said:
                failing.append(row)
        for part_id, said in met.items():
            held = self.parts.get(part_id)
            stays = held is not None and (held.said == said or (held.is_mended and held.over == said))
            if not stays:
                self.put(part_id, Part(supplier, said))
        self.fail(supplier, failing)
        if complete:
            gone = [name for name, one in self.parts.items() if one.supplier == supplier and name not in listed]
            for name in gone:
                del self.parts[name]

    def fail(self, supplier: str, failing: list[Cells]) -> None:
        """Rows that failed are open, unless dropped or mended; open rows that fail no more are settled."""
        alike: Counter[Cells] = Counter()
        keys = []
        for row in failing:
            keys.append((supplier, row, alike[row]))
            alike[row] += 1
        standing = {key for part in self.parts.values() for key in part.mended}
        for key in keys:
            state = self.states.get(key, "open")
            if state == "outdated" or (state == "mended" and key not in standing):
                state = "open"
            self.states[key] = state
        for key, state in self.states.items():
            if key[0] == supplier and state == "open" and key not in keys:
                self.states[key] = "outdated"

    def mend(self, key: Key, row: Cells) -> None:
        said, part_id = read(row), self.number(key[0], row[0])
        if said is None or self.is_taken(part_id, key[0]):
            return
        held = self.parts.get(part_id)
        if held is None or held.said != said:
            over = None if held is None else held.over if held.is_mended else held.said
            self.put(part_id, Part(key[0], said, over, is_mended=True))
        self.parts[part_id].mended.add(key)
        self.states[key] = "mended"

    def restore(self, version: int) -> None:
        then = self.versions[version]
        kept = {name: part for name, part in self.parts.items() if name in then and then[name].said == part.said}
        self.parts = dict(kept)
        for name, part in then.items():
            if name not in kept:
                self.put(name, part.again())

    def figures(self) -> dict[str, tuple[str, str, Decimal, Decimal | None]]:
        return {
            name: (part.supplier, *part.said[:2], self.readings.get(name, part.said[2]))
            for name, part in self.parts.items()
        }

    def open(self) -> Counter[tuple[str, Cells]]:
        return Counter((key[0], key[1]) for key, state in self.states.items() if state == "open")


def read(row: Cells) -> tuple[str, Decimal, Decimal | None] | None:
    """A row's figures; None if its price cannot be read."""
    _, model, price, light = row
    return None if price == UNREADABLE else (model, Decimal(price), Decimal(light) if light else None)


class Sequence:
    """One store, its model, and lists that change between loads."""

    def __init__(self, folder: Path, seed: int, tally: Tally) -> None:
        self.folder, self.seed, self.tally = folder, seed, tally
        self.shop, self.model, self.chance = Shop(folder / "shop.duckdb"), Model(), random.Random(seed)
        self.lists: dict[str, list[Cells]] = {}
        self.done: list[str] = []

    def step(self) -> None:
        ways = [self.load] * 5 + [self.mend] * 3 + [self.drop, self.measure, self.restore, self.prefix]
        way = ways[0] if not self.lists else self.chance.choice(ways)
        way()
        self.tally.steps += 1
        self.compare()

    def load(self) -> None:
        chance = self.chance
        supplier = chance.choice(list(MAKERS))
        is_known = supplier in self.lists
        rows = self.lists[supplier] = self.changed(self.lists.get(supplier, []))
        path = self.folder / f"{supplier.lower()}-list.csv"
        lines = [",".join((row[0], MAKERS[supplier], *row[1:])) for row in rows]
        path.write_text("\n".join([HEADER, *lines]) + "\n", encoding="utf-8")
        named = None if is_known and chance.random() < 0.5 else supplier
        complete = chance.random() < 0.3
        self.done.append(f"load {supplier} {'by name' if named else 'as last time'} complete={complete} {rows}")
        report = self.shop.catalog.load(path, family="film", supplier=named, complete=complete)
        self.model.load(supplier, rows, complete=complete)
        self.model.versions[report.version] = dict(self.model.parts)
        if report.open_now != sum(self.model.open().values()):
            self.wrong(f"says {report.open_now} rows are open")
        if report.lines != 1 + len(rows) or report.lines != (
            report.loaded + len(report.problems) + report.skipped.total()
        ):
            self.wrong("lines are lost")

    def changed(self, rows: list[Cells]) -> list[Cells]:
        """The list as the supplier sends it next: often the same, else with a row more, less, twice or altered."""
        chance, rows = self.chance, list(rows)
        for _ in range(chance.choice([0, 0, 1, 2] if rows else [3])):
            price = chance.choice(["10.00", "20.50", "99.00", "359.90", UNREADABLE])
            row = (chance.choice(NUMBERS), chance.choice(["A", "B"]), price, chance.choice(["5", "70", ""]))
            place = chance.randrange(len(rows) + 1)
            if rows and chance.random() < 0.6:
                number = chance.choice([row[0], rows[place - 1][0]])
                rows[place - 1] = (number, *row[1:])
            elif rows and chance.random() < 0.3:
                del rows[place - 1]
            else:
                rows.insert(place, row)
        return rows or [("1", "A", "10.00", "5")]

    def mend(self) -> None:
        chance, found = self.chance, self.shop.catalog.problems()
        if not found:
            return
        kept = chance.choice(found)
        cells = kept.row.cells
        row = (cells[0], *cells[2:])
        alike = [one.problem_id for one in found if (one.supplier, one.row.cells) == (kept.supplier, cells)]
        keys = [key for key, state in self.model.states.items() if key[:2] == (kept.supplier, row) and state == "open"]
        key = sorted(keys, key=lambda one: one[2])[alike.index(kept.problem_id)]
        number = chance.choice([row[0], row[0], row[0], "9"])
        price = chance.choice([row[2], "20.50", "359.90", UNREADABLE])
        mended = (number, row[1], price, row[3])
        self.done.append(f"mend {key} as {mended}")
        fields = {"part_id": number, "maker": cells[1], "model": row[1], "price": price, "vlt_pct": row[3]}
        report = self.shop.catalog.mend_problem(kept.problem_id, fields)
        self.model.mend(key, mended)
        self.model.versions[report.version] = dict(self.model.parts)
        if bool(report.mended) is not (self.model.states[key] == "mended"):
            self.wrong(f"says {report.mended} rows are mended")

    def drop(self) -> None:
        found = self.shop.catalog.problems()
        if found:
            kept = self.chance.choice(found)
            alike = {
                one.problem_id for one in found if (one.supplier, one.row.cells) == (kept.supplier, kept.row.cells)
            }
            row = (kept.row.cells[0], *kept.row.cells[2:])
            self.done.append(f"drop {kept.supplier} {row}")
            self.shop.catalog.drop_problems(*alike)
            for key, state in self.model.states.items():
                if key[:2] == (kept.supplier, row) and state == "open":
                    self.model.states[key] = "dropped"

    def measure(self) -> None:
        if self.model.parts:
            name = self.chance.choice(sorted(self.model.parts))
            self.done.append(f"measure {name}")
            self.shop.readings.add(f"part:{name}", "vlt_pct", 33)
            self.model.readings[name] = Decimal(33)

    def restore(self) -> None:
        version = self.chance.choice(sorted(self.model.versions))
        self.done.append(f"restore {version}")
        made = self.shop.catalog.restore(version)
        self.model.restore(version)
        self.model.versions[made.version] = dict(self.model.parts)

    def prefix(self) -> None:
        supplier = self.chance.choice(sorted(self.lists))
        if supplier not in self.model.prefixes:
            self.done.append(f"prefix {supplier}")
            self.shop.catalog.set_supplier(supplier, prefix=f"{supplier[0]}-")
            self.model.prefixes[supplier] = f"{supplier[0]}-"

    def compare(self) -> None:
        """Every figure of the catalog, and every row that waits, beside the model's."""
        with self.shop.store.reading() as con:
            rows = con.execute(
                "select f.part_id, r.supplier, f.model, f.price, f.vlt_pct from film f "
                "join film_rows r on r.part_id = f.part_id and r.until is null"
            ).fetchall()
        found = {name: tuple(rest) for name, *rest in rows}
        expected = self.model.figures()
        self.tally.compared += 4 * len(expected)
        for name in sorted(found.keys() | expected.keys()):
            if found.get(name) != expected.get(name):
                self.wrong(f"{name} is {found.get(name)}, expected {expected.get(name)}")
        waiting = Counter(
            (one.supplier, (one.row.cells[0], *one.row.cells[2:])) for one in self.shop.catalog.problems()
        )
        if waiting != self.model.open():
            self.wrong(f"open are {dict(waiting)}, expected {dict(self.model.open())}")

    def wrong(self, what: str) -> None:
        self.tally.wrong.append(f"sequence {self.seed}: {what} after " + "; ".join(self.done))


def try_reloads(folder: Path, count: int, *, seed: int = 1, steps: int = 14) -> Tally:
    """Some sequences at random; each ends with its first wrong figure.

    Parameters
    ----------
    folder
        An empty folder to work in.
    count
        How many sequences.
    seed
        The first one's number: each has its own, by which it is made again.
    steps
        How many steps each has.
    """
    tally = Tally()
    for number in range(seed, seed + count):
        place = folder / str(number)
        place.mkdir()
        sequence = Sequence(place, number, tally)
        wrong = len(tally.wrong)
        for _ in range(steps):
            sequence.step()
            if len(tally.wrong) > wrong:
                break
        if not sequence.shop.maintenance.check().sound:
            sequence.wrong("the store is not sound")
        tally.sequences += 1
    return tally
