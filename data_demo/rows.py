"""Clean rows in the canonical columns, as many as wanted, from the written-down distributions."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable, Iterator
from itertools import chain
from pathlib import Path

from data_demo.distributions import MAY_BE_UNKNOWN, SEED, SHARES, UNKNOWN_SHARE
from data_demo.draw import RandomStream
from data_demo.families import DRAWN
from data_demo.families.common import Row

STREAMS = 10
"""Parts one seed's streams of random numbers from the next one's."""


def rows(family: str, n: int, seed: int = SEED) -> Iterator[Row]:
    """The first ``n`` rows of a family: canonical columns to plain cells, None if a figure is unknown.

    The same family and seed give the same rows, and a longer list begins with the shorter one. Lengths are
    in mm, powers continuous; part numbers are the family's two letters and a running number.
    """
    draw, make = RandomStream(seed * STREAMS + list(DRAWN).index(family)), DRAWN[family]
    may_miss = MAY_BE_UNKNOWN[family]
    for number in range(1, n + 1):
        row = make(draw, number)
        if may_miss and draw.chance(UNKNOWN_SHARE):
            row.update(dict.fromkeys(draw.pick(may_miss).split()))
        yield row


def write_csv(path: Path, table: Iterable[Row]) -> None:
    """Rows of one family as CSV: UTF-8, commas, a header of canonical columns, unknown cells empty."""
    table = iter(table)
    first = next(table)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(first)
        writer.writerows(map(dict.values, chain([first], table)))


def write_million(path: str | os.PathLike[str], n: int = 1_000_000, family: str = "speaker", seed: int = SEED) -> None:
    """A list of ``n`` clean rows of one family as canonical CSV: a million unless said otherwise."""
    write_csv(Path(path), rows(family, n, seed))


def shares_of(n: int) -> dict[str, int]:
    """Division of a catalog of ``n`` parts over the families; the largest family takes the rest."""
    counts = {family: n * share // 1000 for family, share in SHARES.items()}
    counts["speaker"] += n - sum(counts.values())
    return counts


def write_catalog(folder: str | os.PathLike[str], n: int, seed: int = SEED) -> dict[str, Path]:
    """A whole catalog of ``n`` clean parts: one canonical CSV for each family that has any.

    Returns
    -------
    dict
        family to the file written, such as ``speaker`` to ``folder/speaker.csv``.
    """
    Path(folder).mkdir(parents=True, exist_ok=True)
    files = {}
    for family, count in shares_of(n).items():
        if count:
            files[family] = Path(folder) / f"{family}.csv"
            write_csv(files[family], rows(family, count, seed))
    return files
