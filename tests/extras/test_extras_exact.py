"""Film and security ranked against plain enumeration: every film with every set of layers, none left out."""

from __future__ import annotations

import json
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations
from random import Random
from typing import Any, NamedTuple

import pytest

from catalog_schema.jobs import Job
from matcher.search.catalog.catalog import Catalog
from matcher.search.options import JobRanking, rank
from matcher.shop.base import shop_settings
from matcher.store.database.kept_documents import stored_job
from matcher.store.documents.saving import save_job
from tests.factories import Bench, Row, job, part, plain, vehicle
from tests.search.shops import every_package
from tests.soak import first

ROUTES = ("forced_ignition", "hot_wire", "tow", "glass", "equipment")
PANES = ("front", "side", "rear")
NAMES = ("a", "a b", "ab", "a!", "b", "ba", "c")
"""Names of which one begins as another, with signs that stand before the letters."""


class Choice(NamedTuple):
    """A film or a set of layers, or both together."""

    points: int
    cents: int
    names: tuple[tuple[str, ...], ...]
    drain: Fraction
    sure: bool

    @property
    def order(self) -> tuple[int, int, tuple[tuple[str, ...], ...]]:
        return (-self.points, self.cents, self.names)


NOTHING = Choice(0, 0, (), Fraction(0), True)


def drawn_town(draw: Random) -> tuple[list[Row], list[Row]]:
    """Panes, and films and layers for sale."""
    panes = [
        {"pane": name, "vlt_pct": draw.choice([None, 70, 80, 80]), "limit_pct": draw.choice([None, 28, 40, 70])}
        for name in PANES[: draw.randint(1, 3)]
    ]
    films = [
        part("film", part_id=name, vlt_pct=draw.choice([None, 20, 35, 50, 90]), price=draw.choice([20, 30, 30]))
        for name in draw.sample(NAMES, draw.randint(1, 4))
    ]
    return panes, films + [drawn_layer(draw, name) for name in draw.sample(NAMES, draw.randint(1, 7))]


def drawn_layer(draw: Random, name: str) -> Row:
    return part(
        "security",
        part_id=f"{name}.",
        price=draw.choice([10, 20, 20, 30.5]),
        covers=draw.choice([None, *[draw.sample(ROUTES, draw.randint(0, 3)) for _ in range(5)]]),
        effort=draw.choice([None, "none", "habit", "chore"]),
        standby_ma=draw.choice([None, 0, 4, 4, 20]),
    )


STOPS, DELAYS, MENDED = 40_000, 15_000, 3_000
"""Lost for what must be measured, by its risk."""


def points_of(wanted: Job, price: Any, look: int, lost: int) -> int:
    """Points by the defaults: 0.1 for a unit of money, by the wishes; what must be measured, whatever they are."""
    money = round(Fraction(str(price)) * 10) * wanted.wishes.price
    return -money - look * 100 * wanted.wishes.original_look - lost


def film_choices(panes: list[Row], parts: list[Row], wanted: Job) -> Iterator[Choice]:
    """Every film that some pane may take; none at all where film is not asked for."""
    if "film" not in (wanted.choose or ()):
        yield NOTHING
        return
    for row in parts:
        left = [found for pane in panes if row["family"] == "film" and (found := verdict(row["vlt_pct"], pane)) != "no"]
        if left:
            unsure = "measure" in left
            points = points_of(wanted, row["price"], 0, STOPS if unsure else 0) - off_wanted(row["vlt_pct"], wanted)
            yield Choice(points, round(row["price"] * 100), ((row["part_id"],),), Fraction(0), not unsure)


def off_wanted(film: int | None, wanted: Job) -> int:
    """Five points for each percent off the wanted film; all that it could be off where that is not known."""
    if wanted.film_vlt_pct is None:
        return 0
    pct = int(wanted.film_vlt_pct.value)
    return 500 * (max(pct, 100 - pct) if film is None else abs(film - pct))


def verdict(film: int | None, pane: Row) -> str:
    if film is None or pane["vlt_pct"] is None or pane["limit_pct"] is None:
        return "measure"
    return "fits" if film * pane["vlt_pct"] >= 100 * pane["limit_pct"] else "no"


def layer_choices(parts: list[Row], wanted: Job) -> Iterator[Choice]:
    """Every set of which no layer could be left out, by trying them all; without a wanted route each layer alone."""
    rows = [row for row in parts if row["family"] == "security"]
    routes = set(wanted.security_routes or ())
    for size in range(1, len(rows) + 1):
        for some in combinations(rows, size):
            if does(some, routes) and not any(does(fewer, routes) for fewer in combinations(some, size - 1)):
                yield chosen(some, routes, wanted)


def does(some: tuple[Row, ...], routes: set[str]) -> bool:
    """Whether some layers may cover all that is wanted."""
    covered = [routes if row["covers"] is None else set(row["covers"]) for row in some]
    return bool(some) and routes <= set().union(*covered)


def chosen(some: tuple[Row, ...], routes: set[str], wanted: Job) -> Choice:
    effort = {"habit": 10, "chore": 30}
    points, unsure = 0, False
    for row in some:
        risks = [DELAYS] * (row["covers"] is None and bool(routes)) + [MENDED] * (row["standby_ma"] is None)
        points += points_of(wanted, row["price"], effort.get(row["effort"], 0), max(risks, default=0))
        unsure = unsure or bool(risks)
    return Choice(
        points,
        sum(round(row["price"] * 100) for row in some),
        (tuple(sorted(row["part_id"] for row in some)),),
        sum((Fraction(row["standby_ma"] or 0) for row in some), Fraction(0)),
        not unsure,
    )


def whole_choices(panes: list[Row], parts: list[Row], wanted: Job) -> list[Choice]:
    """Every film with every set, within budget and drain, in the total order."""
    limits = wanted.limits
    most = limits.at_rest_ma.value if limits.at_rest_ma else 50
    made = [
        Choice(film.points + some.points, film.cents + some.cents, film.names + some.names, some.drain, both)
        for film in film_choices(panes, parts, wanted)
        for some in layer_choices(parts, wanted)
        for both in [film.sure and some.sure]
    ]
    kept = [one for one in made if one.drain <= most and (limits.budget is None or one.cents <= limits.budget * 100)]
    return sorted(kept, key=lambda one: one.order)


def ranked(bench: Bench, document: Row, top: int) -> tuple[JobRanking, Job]:
    save_job(bench.con, json.dumps(document, default=plain), "test")
    wanted = stored_job(bench.con, document["job_id"])
    return rank(Catalog(bench.con, shop_settings(bench.con)), wanted, top), wanted


def names_of(found: Any) -> tuple[tuple[str, ...], ...]:
    """The parts of each slot beside the sound."""
    slots: dict[str, list[str]] = {}
    for one in found.fitted:
        slots.setdefault(one.candidate.slot, []).append(one.candidate.part_id)
    return tuple(tuple(slots[name]) for name in ("film", "security") if name in slots)


def drawn_job(draw: Random) -> Row:
    limits: Row = {"alteration": "bolt_on", "at_rest_ma": draw.choice([None, 4, 8, 24])}
    limits["budget"] = draw.choice([None, 50, 60.5, 100])
    return job(
        limits={name: value for name, value in limits.items() if value is not None},
        choose=draw.choice([["film", "security"], ["security"]]),
        security_routes=draw.sample(ROUTES, draw.randint(0, 4)),
        wishes={"price": draw.randint(0, 5), "original_look": draw.randint(0, 5)},
        film_vlt_pct=draw.choice([None, 20, 45]),
    )


@pytest.mark.parametrize("seed", first(6, range(40)))
def test_film_and_security_are_those_of_plain_enumeration(bench: Bench, seed: int) -> None:
    draw = Random(seed)
    panes, parts = drawn_town(draw)
    for family in ("film", "security"):
        bench.con.execute(f"delete from {family}_rows")
    bench.lay(vehicle(panes=panes), *parts)
    for _ in range(4):
        document, top = drawn_job(draw), draw.choice([1, 2, 3, 50])
        got, wanted = ranked(bench, document, top)
        want = whole_choices(panes, parts, wanted)
        assert [(one.points, one.cents, names_of(one)) for one in every_package(got, top)] == [
            (one.points, one.cents, one.names) for one in want[:top]
        ], document
        sure = next((one for one in want if one.sure), None)
        assert (got.sure and (got.sure.points, names_of(got.sure))) == (sure and (sure.points, sure.names))
        films, sets = list(film_choices(panes, parts, wanted)), list(layer_choices(parts, wanted))
        assert got.considered == len(films) * len(sets)
