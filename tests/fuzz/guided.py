"""Fuzzing that is guided by what an input reaches: what comes to a new place in the code is kept, and altered further.

Reached is told by the interpreter's own profiling hook: each call within our packages, by the line that it comes from,
and each line that one of our errors was raised at. That is coarser than branches, and needs no tracing of every line.
Beside it the same number of inputs is drawn from the seeds alone, so that it can be seen what the guidance brings.
"""

from __future__ import annotations

import json
import random
import sys
from collections.abc import Callable, Sequence
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any

from tests.fuzz.hostile import THINGS, WORDS, as_json, places
from tests.fuzz.targets import JOB, MAP, VEHICLES, Counter, take_job, take_map, take_vehicle

OURS = ("/matcher/", "/catalog_schema/")
Place = tuple[str, int, str]


class Reached:
    """The places that some work comes to."""

    def __init__(self) -> None:
        self.places: set[Place] = set()

    def __enter__(self) -> Reached:
        sys.setprofile(self._called)
        return self

    def __exit__(self, *_: object) -> None:
        sys.setprofile(None)

    def _called(self, frame: FrameType, event: str, _: object) -> None:
        if event == "call" and is_ours(frame) and frame.f_back is not None:
            self.places.add((frame.f_back.f_code.co_filename, frame.f_back.f_lineno, frame.f_code.co_qualname))
        elif event == "return" and is_ours(frame):
            self.places.add((frame.f_code.co_filename, frame.f_lineno, "left"))


def is_ours(frame: FrameType) -> bool:
    """Whether it runs code of this house."""
    return any(part in frame.f_code.co_filename for part in OURS)


@dataclass(frozen=True)
class Guided:
    """What came of a run."""

    tried: int
    taken: int
    seeds: int
    kept: int
    """Inputs that came to a new place, the seeds aside."""
    by_seeds: int
    """Places that the seeds come to."""
    unguided: int
    """Places that as many inputs come to which are made of the seeds alone."""
    guided: int
    """Places that the guided inputs come to."""


@dataclass(frozen=True)
class WayIn:
    """A way in that takes text, and what it is begun with."""

    name: str
    take: Callable[[Counter, str], bool]
    seeds: Sequence[Any]


WAYS = [
    WayIn("maps", take_map, [MAP]),
    WayIn("vehicles", take_vehicle, VEHICLES),
    WayIn("jobs", take_job, [JOB]),
]


def alter(text: str, others: Sequence[str], luck: random.Random) -> str:
    """Another text: some of its values replaced, taken out, doubled or taken from another one, or its letters."""
    try:
        document = json.loads(text)
    except ValueError:
        return _alter_letters(text, luck)
    if luck.random() < 0.15 or not isinstance(document, dict):
        return _alter_letters(text, luck)
    held: dict[str, Any] = {"": document}
    for _ in range(luck.randint(1, 3)):
        _alter_value(held, others, luck)
    return as_json(held[""])


def _alter_value(held: dict[str, Any], others: Sequence[str], luck: random.Random) -> None:
    *path, key = ("", *luck.choice(places(held[""])))
    holder: Any = held
    for step in path:
        holder = holder[step]
    way = luck.choice(["thing", "word", "gone", "twice", "strange", "other"])
    if way == "gone" and path:
        del holder[key]
    elif way == "twice" and isinstance(holder[key], list):
        holder[key] = [*holder[key], *holder[key]]
    elif way == "strange" and isinstance(holder[key], dict):
        holder[key][luck.choice(WORDS)] = deepcopy(luck.choice(THINGS))
    elif way == "other":
        holder[key] = _part_of(luck.choice(others), luck)
    else:
        holder[key] = deepcopy(luck.choice(WORDS if way == "word" else THINGS))


def _part_of(text: str, luck: random.Random) -> Any:
    try:
        found = json.loads(text)
        for step in luck.choice(places(found)):
            found = found[step]
    except ValueError:
        return text[:50]
    return found


def _alter_letters(text: str, luck: random.Random) -> str:
    at = luck.randint(0, len(text))
    return text[:at] + luck.choice([*WORDS, "", text[at : at + 40] * 2]) + text[at + luck.randint(0, 9) :]


def guide(way: WayIn, folder: Path, most: int, seed: int) -> Guided:
    """Throw so many inputs, and as many again without guidance."""
    counter = Counter(folder)
    try:
        seeds = [as_json(document) for document in way.seeds]
        by_seeds = _reach(way, counter, seeds)[0]
        blind = random.Random(seed)
        unguided, _ = _reach(way, counter, [alter(blind.choice(seeds), seeds, blind) for _ in range(most)])
        luck, corpus, reached, taken = random.Random(seed), list(seeds), set(by_seeds), 0
        for _ in range(most):
            text = alter(luck.choice(luck.choice([seeds, corpus])), corpus, luck)
            places_, took = _reach(way, counter, [text])
            taken += took
            if places_ - reached:
                reached |= places_
                corpus.append(text)
        kept = len(corpus) - len(seeds)
        return Guided(most, taken, len(seeds), kept, len(by_seeds), len(unguided | by_seeds), len(reached))
    finally:
        counter.con.close()


def _reach(way: WayIn, counter: Counter, inputs: Sequence[str]) -> tuple[set[Place], int]:
    """Where some inputs come to, and how many of them are taken; one that breaks the promise is raised with it."""
    reached, taken = Reached(), 0
    for text in inputs:
        try:
            with reached:
                taken += way.take(counter, text)
        except Exception as error:
            raise AssertionError(
                f"{way.name}: {type(error).__name__}: {error}"[:400] + f" with {text[:400]!r}"
            ) from error
    return reached.places, taken
