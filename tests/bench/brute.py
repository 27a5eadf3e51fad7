"""Brute force: every combination of a job's plain numbers, one by one, with nothing left out."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import Any

from tests.search.second_model import NO, OPEN, YES, Feed, Instance, Part, Wire


def best(instance: Instance) -> int | None:
    """The best score."""
    return max(_scores(instance), default=None)


def _scores(here: Instance) -> Iterator[int]:
    for feeds in here.plans:
        lost = here.plan_points(feeds)
        takes = {source: sum(feed[3] for feed in feeds if feed[0] == source) for source in ("head_unit", "amplifier")}
        amps: list[Any] = here.amplifiers if takes["amplifier"] else [None]
        ways = [list(_ways(here, name, feeds)) for name in here.places]
        for head, amp in product(here.heads, amps):
            start = min(
                here.line(head, None if amp is None else amp.kind),
                *(here.channels("head_unit", head.kind, takes["head_unit"]) for _ in [0] if takes["head_unit"]),
                *(here.channels("amplifier", amp.kind, takes["amplifier"]) for _ in [0] if amp is not None),
                YES,
            )
            if start == NO:
                continue
            sources = {"head_unit": here.block(head), "amplifier": None if amp is None else amp.kind}
            own = [[way for way in some if way[1].source == sources[way[2][0]]] for some in ways]
            for taken in product(*own):
                parts = [head, *([] if amp is None else [amp]), *(way[0] for way in taken)]
                if _meet(taken) and _within(here, parts):
                    yield lost + _score(here, parts, taken, start)


def _ways(here: Instance, name: str, feeds: list[Feed]) -> Iterator[tuple[Part, Wire, Feed]]:
    feed = next(feed for feed in feeds if name in feed[2])
    by_kind: dict[Any, list[Wire]] = {}
    for wire in here.wires(name, feed):
        if wire.code != NO:
            by_kind.setdefault(wire.kind, []).append(wire)
    for part in here.places[name]:
        yield from ((part, wire, feed) for wire in by_kind.get(part.kind, []))


def _meet(taken: tuple[tuple[Part, Wire, Feed], ...]) -> bool:
    """Whether two places on one block are each the other's load."""
    return all(
        one[1].load == other[1].beside
        for one, other in product(taken, taken)
        if one is not other and one[2] == other[2]
    )


def _within(here: Instance, parts: list[Part]) -> bool:
    money = here.cents is None or sum(part.cents for part in parts) <= here.cents
    return money and all(
        most is None or sum(part.uses[at] for part in parts) <= most for at, most in enumerate(here.uses)
    )


def _score(here: Instance, parts: list[Part], taken: tuple[tuple[Part, Wire, Feed], ...], start: int) -> int:
    points = sum(part.points for part in parts) - here.unknown * (start == OPEN)
    for part, wire, _ in taken:
        points += wire.points - part.more * (wire.code == OPEN)
        if here.level_points is not None and part.level_cdb is not None and wire.gain_cdb is not None:
            points += here.level_points(min(part.level_cdb + wire.gain_cdb, part.most_cdb))
    return points
