"""Voice coils joined in series and parallel: load, and the wires to draw.

A net is a small tree: a coil, parts in series (`Series`), or parts in parallel (`Parallel`).
All coils of a net have the same impedance.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.known import positive
from matcher.formulas.register import formula


@dataclass(frozen=True, slots=True, order=True)
class Coil:
    """One voice coil: the driver's number and the coil's, both from 1."""

    driver: int
    coil: int = 1


@dataclass(frozen=True, slots=True)
class Series:
    """Parts in series: the same current through each."""

    parts: tuple[Net, ...]


@dataclass(frozen=True, slots=True)
class Parallel:
    """Parts in parallel: the same voltage across each."""

    parts: tuple[Net, ...]


Net = Coil | Series | Parallel


@dataclass(frozen=True, slots=True)
class Terminal:
    """A terminal of a coil, or of the amplifier if the coil is None."""

    coil: Coil | None
    pole: Literal["+", "-"]

    def __str__(self) -> str:
        if self.coil is None:
            return f"amplifier {self.pole}"
        return f"driver {self.coil.driver} coil {self.coil.coil} {self.pole}"


@dataclass(frozen=True, slots=True)
class CoilWire:
    """One wire between two terminals."""

    start: Terminal
    end: Terminal

    def __str__(self) -> str:
        return f"{self.start} to {self.end}"


@formula(source=published("Kirchhoff's laws"), valid="nets of one coil or more")
def coils_of(net: Net) -> tuple[Coil, ...]:
    """Every coil of a net, in the order in which it is drawn.

    Examples
    --------
    >>> coils_of(Series((Coil(1), Coil(2))))
    (Coil(driver=1, coil=1), Coil(driver=2, coil=1))
    """
    if isinstance(net, Coil):
        return (net,)
    return tuple(coil for part in net.parts for coil in coils_of(part))


@formula(source=published("Kirchhoff's laws"), valid="coils of one impedance; series and parallel only")
def load_ratio(net: Net) -> Fraction:
    """Load of a net as a multiple of one coil's impedance.

    Examples
    --------
    >>> load_ratio(Parallel((Series((Coil(1, 1), Coil(1, 2))), Series((Coil(2, 1), Coil(2, 2))))))
    Fraction(1, 1)
    """
    if isinstance(net, Coil):
        return Fraction(1)
    ratios = [load_ratio(part) for part in net.parts]
    if isinstance(net, Series):
        return sum(ratios, Fraction(0))
    return 1 / sum((1 / ratio for ratio in ratios), Fraction(0))


@formula(source=published("Kirchhoff's laws"), valid="coils of one impedance over 0; nominal, not over frequency")
def load_ohm(net: Net, coil_ohm: float | None) -> float | None:
    """Load of a net on the amplifier.

    Parameters
    ----------
    net
        The tree of coils.
    coil_ohm
        Impedance of each coil, ohm.

    Returns
    -------
    Load in ohm.

    Examples
    --------
    >>> load_ohm(Parallel((Coil(1), Coil(2))), 4)
    2.0
    """
    known, ratio = positive(coil_ohm), load_ratio(net)
    return None if known is None else known[0] * ratio.numerator / ratio.denominator


@formula(source=published("Kirchhoff's laws"), valid="nets of one coil or more")
def keeps_drivers_whole(net: Net) -> bool:
    """Whether every driver's own coils are joined first, so that each driver has two leads left.

    Examples
    --------
    >>> keeps_drivers_whole(Series((Parallel((Coil(1, 1), Coil(1, 2))), Parallel((Coil(2, 1), Coil(2, 2))))))
    True
    >>> keeps_drivers_whole(Series((Parallel((Coil(1, 1), Coil(2, 1))), Parallel((Coil(1, 2), Coil(2, 2))))))
    False
    """
    if isinstance(net, Coil):
        return True
    bare = {part.driver for part in net.parts if isinstance(part, Coil)}
    joined = [part for part in net.parts if not isinstance(part, Coil)]
    met = [bare, *({coil.driver for coil in coils_of(part)} for part in joined)]
    apart = sum(map(len, met)) == len(set().union(*met))
    return apart and all(map(keeps_drivers_whole, joined))


def _ends(net: Net, pole: Literal["+", "-"]) -> tuple[Terminal, ...]:
    if isinstance(net, Coil):
        return (Terminal(net, pole),)
    if isinstance(net, Series):
        return _ends(net.parts[0 if pole == "+" else -1], pole)
    return tuple(terminal for part in net.parts for terminal in _ends(part, pole))


def _inner_junctions(net: Net) -> Iterator[tuple[Terminal, ...]]:
    if isinstance(net, Coil):
        return
    if isinstance(net, Series):
        for before, after in pairwise(net.parts):
            yield (*_ends(before, "-"), *_ends(after, "+"))
    for part in net.parts:
        yield from _inner_junctions(part)


@formula(source=published("Kirchhoff's laws"), valid="nets of one coil or more")
def junctions(net: Net) -> tuple[tuple[Terminal, ...], ...]:
    """The groups of terminals that a net joins: the amplifier's plus first, its minus last.

    Examples
    --------
    >>> [len(joined) for joined in junctions(Series((Coil(1), Coil(2))))]
    [2, 2, 2]
    """
    plus = (Terminal(None, "+"), *_ends(net, "+"))
    minus = (Terminal(None, "-"), *_ends(net, "-"))
    return (plus, *_inner_junctions(net), minus)


@formula(source=published("Kirchhoff's laws"), valid="nets of one coil or more")
def wires(net: Net) -> tuple[CoilWire, ...]:
    """The wires that make a net, terminal to terminal, all coils in phase.

    Returns
    -------
    The fewest wires: a junction of n terminals takes n - 1.

    Examples
    --------
    >>> for wire in wires(Series((Coil(1), Coil(2)))):
    ...     print(wire)
    amplifier + to driver 1 coil 1 +
    driver 1 coil 1 - to driver 2 coil 1 +
    amplifier - to driver 2 coil 1 -
    """
    return tuple(CoilWire(start, end) for joined in junctions(net) for start, end in pairwise(joined))


@formula(source=published("Kirchhoff's laws"), valid="loads over 0")
def carries(load: float | None, least_ohm: float | None) -> bool | None:
    """Whether a channel group with this minimum load can drive a net.

    Parameters
    ----------
    load, least_ohm
        Load of the net, and minimum rated load of the channel group, ohm.

    Returns
    -------
    True at exactly the minimum load.

    Examples
    --------
    >>> carries(2.0, 2), carries(1.0, 2), carries(2.0, None)
    (True, False, None)
    """
    known = positive(load, least_ohm)
    return None if known is None else known[0] >= known[1] or math.isclose(*known, rel_tol=1e-9)


@formula(source=published("Kirchhoff's laws"), valid="nets of one coil or more")
def net_signs(net: Net, *, single: bool = False) -> str:
    """A net in signs: ``+`` in series, ``|`` in parallel; 2.1 is coil 1 of driver 2.

    Parameters
    ----------
    net
        The net.
    single
        Whether every driver has one coil, so that its number suffices.

    Examples
    --------
    >>> net_signs(Parallel((Series((Coil(1, 1), Coil(1, 2))), Series((Coil(2, 1), Coil(2, 2))))))
    '(1.1 + 1.2) | (2.1 + 2.2)'
    """
    if isinstance(net, Coil):
        return str(net.driver) if single else f"{net.driver}.{net.coil}"
    parts = [net_signs(part, single=single) for part in net.parts]
    within = [text if isinstance(part, Coil) else f"({text})" for part, text in zip(net.parts, parts, strict=True)]
    return (" + " if isinstance(net, Series) else " | ").join(within)
