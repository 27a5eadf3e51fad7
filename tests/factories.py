"""One factory per thing, complete by default, and a small store to ask.

A part is a dict of its family's columns, a vehicle a document as a shop would write it. Parts are
laid straight into their table, so that a test of a rule does not lean on the loading of lists.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from decimal import Decimal
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory, gettempdir
from typing import Any

import duckdb

import data_demo
from catalog_schema.answers import Check, Fit
from matcher import Shop
from matcher.kernel.columns import Columns, columns_of
from matcher.store.catalog.overlay import lay_over_parts
from matcher.store.database.connection import CONFIG, Connection
from matcher.store.database.indexing import write_index
from matcher.store.database.opening import Store
from matcher.store.database.tables import create_tables
from matcher.store.documents.saving import save_vehicle

Row = dict[str, Any]


def part(family: str, **changes: Any) -> Row:
    common = {
        "part_id": f"{family}-1",
        "maker": "Ulvo",
        "model": "One",
        "price": 100,
        "pack_of": 1,
        "mass_kg": 1,
        "basis": "maker",
    }
    return {"family": family} | common | OWN[family] | changes


OWN: dict[str, Row] = {
    "speaker": {
        "shape": "round",
        "size": "165 mm",
        "kind": "coaxial",
        "cutout_w_mm": 140,
        "depth_mm": 60,
        "flange_w_mm": 165,
        "bolt_circle_mm": 155,
        "bolt_count": 4,
        "magnet_mm": 90,
        "front_mm": 5,
        "xmax_mm": 4,
        "coils": 1,
        "impedance_ohm": 4,
        "rms_w": 34,
    },
    "head_unit": {
        "body_w_mm": 178,
        "body_h_mm": 50,
        "body_d_mm": 100,
        "plugs_d_mm": 50,
        "face_w_mm": 190,
        "face_h_mm": 60,
        "face_d_mm": 15,
        "mount": "body",
        "screen": "none",
        "hp_max_hz": 250,
        "lp_min_hz": 40,
        "lp_max_hz": 160,
    },
    "amplifier": {
        "full_channels": 4,
        "full_w_4ohm": 50,
        "full_min_ohm": 2,
        "power_basis": "rms",
        "class": "d",
        "w_mm": 200,
        "h_mm": 50,
        "d_mm": 150,
        "hp_max_hz": 250,
        "lp_min_hz": 40,
        "lp_max_hz": 160,
    },
    "adapter": {
        "for": "speaker",
        "fits_shape": "round",
        "fits_w_mm": 142,
        "fits_bolt_circle_mm": 155,
        "fits_bolt_count": 4,
        "gives_shape": "round",
        "gives_w_mm": 130,
        "forward_mm": 6,
    },
    "subwoofer": {"size_in": 10, "coils": 1, "coil_ohm": 4, "rms_w": 200},
    "enclosure": {"drivers": 1, "driver_size_in": 10, "w_mm": 400, "h_mm": 350, "d_mm": 300},
    "cable": {"conductor": "copper", "area_mm2": 16, "length_m": 5},
    "install": {"kind": "fuse", "unit": "piece"},
    "film": {"vlt_pct": 35},
    "security": {"effort": "none"},
    "accessory": {"kind": "camera"},
}


def speaker(**changes: Any) -> Row:
    """A round loudspeaker that the round opening takes with room to spare."""
    return part("speaker", **changes)


def oval_speaker(**changes: Any) -> Row:
    own = {
        "part_id": "oval-1",
        "shape": "oval",
        "size": "4x6",
        "cutout_w_mm": 150,
        "cutout_h_mm": 100,
        "flange_w_mm": 170,
        "flange_h_mm": 120,
        "bolt_circle_mm": None,
        "bolt_count": None,
        "bolt_w_mm": 130,
        "bolt_h_mm": 80,
    }
    return speaker(**own | changes)


def head_unit(**changes: Any) -> Row:
    """A head unit that the dash opening takes with room to spare."""
    return part("head_unit", **changes)


def floating_unit(**changes: Any) -> Row:
    """A head unit whose screen hangs in front of the panel."""
    own = {
        "part_id": "floating-1",
        "screen": "floating",
        "screen_in": 8,
        "screen_w_mm": 200,
        "screen_h_mm": 120,
        "screen_d_mm": 10,
        "screen_rise_min_mm": 0,
        "screen_rise_max_mm": 80,
    }
    return head_unit(**own | changes)


def amplifier(**changes: Any) -> Row:
    """An amplifier that the spot takes with its air."""
    return part("amplifier", **changes)


def adapter(**changes: Any) -> Row:
    """A ring for the round opening."""
    return part("adapter", **changes)


def dash_kit(**changes: Any) -> Row:
    """A kit that makes a dash opening smaller."""
    own = {
        "part_id": "kit-1",
        "for": "dash",
        "fits_shape": "rect",
        "fits_w_mm": 182,
        "fits_h_mm": 110,
        "fits_bolt_circle_mm": None,
        "fits_bolt_count": None,
        "gives_shape": "rect",
        "gives_w_mm": 181,
        "gives_h_mm": 53,
        "forward_mm": 2,
    }
    return adapter(**own | changes)


def speaker_opening(**changes: Any) -> Row:
    """A round hole in a door, as measured with a tape."""
    whole = {
        "opening_id": "door",
        "kind": "speaker",
        "label": "Front doors",
        "count": 2,
        "shape": "round",
        "hole_w_mm": 145,
        "bolt_circle_mm": 155,
        "bolt_count": 4,
        "depth_mm": 70,
        "front_mm": 20,
        "flat_w_mm": 180,
        "flat_h_mm": 180,
        "behind": "fixed",
        "beside_mm": 60,
    }
    return whole | changes


def oval_opening(**changes: Any) -> Row:
    """An oval hole in a shelf."""
    own = {
        "shape": "oval",
        "hole_w_mm": 155,
        "hole_h_mm": 105,
        "bolt_circle_mm": None,
        "bolt_count": None,
        "bolt_w_mm": 130,
        "bolt_h_mm": 80,
    }
    return speaker_opening(**own | changes)


def dash_opening(**changes: Any) -> Row:
    """A dash opening of single height."""
    whole = {
        "opening_id": "dash",
        "kind": "dash",
        "label": "Dash",
        "shape": "rect",
        "w_mm": 182,
        "h_mm": 53,
        "depth_mm": 160,
        "proud_max_mm": 40,
        "rear_support": False,
    }
    return whole | changes


def amp_spot(**changes: Any) -> Row:
    """A spot under a seat."""
    whole = {
        "opening_id": "seat",
        "kind": "amp_spot",
        "label": "Under the seat",
        "w_mm": 300,
        "h_mm": 120,
        "d_mm": 250,
        "fasten": "seat bolts",
        "air": True,
    }
    return whole | changes


def thing(name: str = "hazard switch", **changes: Any) -> Row:
    """A thing above the opening that must stay reachable."""
    return {"name": name, "x_mm": -20, "y_mm": 150, "w_mm": 40, "h_mm": 30, "reach": "fingers"} | changes


def electrical(**figures: Any) -> Row:
    """An electrical system of 12 V with the negative pole to ground, and these figures of it."""
    return {"system_v": 12, "ground": "negative"} | figures


def vehicle(*openings: Row, **changes: Any) -> Row:
    """A vehicle of 12 V with the negative pole to ground."""
    whole = {
        "vehicle_id": "tern",
        "label": "Tern",
        "year": 1984,
        "electrical": electrical(),
        "openings": list(openings),
    }
    return whole | changes


def job(**changes: Any) -> Row:
    """A job on that vehicle."""
    return {"job_id": "j1", "vehicle_id": "tern", "limits": {"alteration": "bolt_on"}} | changes


@cache
def index_of_no_parts() -> list[list[Any]]:
    """The columns of the index of a store without parts."""
    with duckdb.connect() as con:
        create_tables(con)
        write_index(con)
        return [list(column) for column in zip(*con.execute("from part_index").fetchall(), strict=True)]


SPILL = Path(gettempdir()) / "boltback-tests"
"""Where a bench spills what it cannot hold."""


class Bench(Shop):
    """A shop whose store lies in memory and stays open from one question to the next."""

    def __init__(self) -> None:
        super().__init__("bench")
        own = {key: CONFIG[key] for key in CONFIG if key.startswith("auto")}
        self.con = duckdb.connect(":memory:", config={**own, "temp_directory": str(SPILL)})
        create_tables(self.con)
        columns = ", ".join(["unnest(?)"] * len(index_of_no_parts()))
        self.con.execute(f"insert into part_index select {columns}", index_of_no_parts())
        self.store = OpenStore(self.con)

    def lay(self, *things: Row) -> None:
        """Take in parts and vehicles in place of those with the same name."""
        for row in things:
            if "openings" in row:
                save_vehicle(self.con, json.dumps(row, default=plain), "bench")
            else:
                lay_part(self.con, row)

    def ask(self, one: Row, opening: Row, through: Row | None = None, step: str = "bolt_on", **car: Any) -> Fit:
        """One part at one opening of an otherwise plain vehicle, through this adapter or through none."""
        self.lay(one, *([through] if through else []), vehicle(opening, **car))
        place = f"tern/{opening['opening_id']}"
        name = through["part_id"] if through else None
        fit = self.fit(one["part_id"], place, adapter=name, alteration=step)
        return fit.without or fit


class OpenStore(Store):
    """A store on one connection, which stays open."""

    def __init__(self, con: Connection) -> None:
        super().__init__(Path("bench"))
        self.con = con

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        yield self.con

    @contextmanager
    def changing(self, *, own: bool = False) -> Iterator[Connection]:
        yield self.con


def lay_part(con: Connection, row: Row) -> None:
    """Put a part into its family's table."""
    table = f"{row['family']}_rows"
    con.execute(f"delete from {table} where part_id = ?", [row["part_id"]])
    filled = {name: cell for name, cell in row.items() if cell is not None and name != "family"}
    filled |= {"since": 1, "patched": False}
    names = ", ".join(f'"{name}"' for name in filled)
    con.execute(f"insert into {table} ({names}) values ({', '.join('?' * len(filled))})", list(filled.values()))
    con.execute("delete from part_index where family = ?", [row["family"]])  # it is read without


def withdraw(con: Connection, family: str, part_id: str) -> None:
    """Take a part out of the catalog, as a list that no longer has it."""
    con.execute(f"update {family}_rows set until = 1 where part_id = ?", [part_id])
    lay_over_parts(con, family)


@cache
def _made_once(fill: Callable[[Shop], object]) -> bytes:
    """The file of a store that was filled so, once for all tests of a process."""
    with TemporaryDirectory() as folder:
        shop = Shop(Path(folder) / "shop.duckdb")
        fill(shop)
        with shop.store.still():
            return shop.store.path.read_bytes()


def _fill_demo(shop: Shop) -> None:
    shop.set("currency", data_demo.SETTINGS["currency"])  # some of the lists name it
    shop.catalog.load_families(data_demo.lists())
    shop.set("currency", "")
    shop.vehicles.load_all(*data_demo.vehicles())
    shop.jobs.load_all(*data_demo.jobs())


def demo_shop(path: Path) -> Shop:
    """A shop with the demo's lists, vehicles and jobs, under the house's own settings."""
    path.write_bytes(_made_once(_fill_demo))
    return Shop(path)


def _begin(shop: Shop) -> None:
    with shop.store.changing():
        pass


def empty_store(path: Path) -> Path:
    path.write_bytes(_made_once(_begin))
    return path


def store_file(path: Path, *things: Row) -> Path:
    with Shop(empty_store(path)).store.changing() as con:
        for row in things:
            if "openings" in row:
                save_vehicle(con, json.dumps(row, default=plain), "test", sure=True)
            else:
                lay_part(con, row)
        write_index(con, {row["family"] for row in things if "family" in row})
    return path


def plain(value: Any) -> Any:
    """An exact number as JSON writes it."""
    if isinstance(value, Decimal):
        return int(value) if value == int(value) else float(value)
    raise TypeError(type(value))


def every_command() -> Iterator[tuple[str, Any]]:
    """Every command by all the words that name it."""
    import typer

    from matcher.commands.main import app

    def walk(group: Any, path: tuple[str, ...]) -> Iterator[tuple[str, Any]]:
        context = typer.Context(group)
        for name in group.list_commands(context):
            command = group.get_command(context, name)
            if hasattr(command, "list_commands"):
                yield from walk(command, (*path, name))
            else:
                yield " ".join((*path, name)), command

    yield from walk(typer.main.get_command(app), ())


def check_of(fit: Fit, rule: str, about: str = "") -> Check:
    """The one check of a rule."""
    (found,) = [check for check in fit.checks if check.rule == rule and (not about or check.about == about)]
    return found


def columns_from(subjects: Mapping[str, Row]) -> Columns:
    """One row of each subject as rules read it; a pair is a figure with its tolerance."""
    found = Columns({})
    for subject, figures in subjects.items():
        row: Row = {}
        for name, figure in figures.items():
            value, tol = figure if isinstance(figure, tuple) else (figure, figures.get(f"{name}_tol"))
            row |= {name: exact(value), f"{name}_tol": exact(tol)}
        found |= columns_of(subject, [row])
    return found


def exact(value: Any) -> Any:
    """A plain number as an exact one."""
    return Decimal(str(value)) if isinstance(value, float) else value


def numbers(check: Check) -> tuple[str, float | None, float | None, float | None, float, list[str]]:
    """A check as a table's row shows it: verdict, have, need, margin, tolerance, missing."""
    have, need, margin = (
        None if number is None else float(number) for number in (check.have, check.need, check.margin)
    )
    return check.verdict, have, need, margin, float(check.tol), check.missing
