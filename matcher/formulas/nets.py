"""All the series and parallel nets of some drivers in which every coil gets the same power."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import permutations, product
from typing import Any

from catalog_schema.sources import published
from matcher.formulas.coils import (
    Coil,
    Net,
    Parallel,
    Series,
    carries,
    coils_of,
    keeps_drivers_whole,
    load_ohm,
    load_ratio,
)
from matcher.formulas.known import positive, whole
from matcher.formulas.register import formula

MOST_DRIVERS = 4
_KIRCHHOFF = published("Kirchhoff's laws")
_VALID = "1 to 4 like drivers with 1 or 2 coils each"


@dataclass(frozen=True, slots=True)
class CoilNet:
    """A net of like drivers with an equal share for every coil, before the impedance is known."""

    drivers: int
    coils: int
    net: Net
    ratio: Fraction
    whole_drivers: bool


@dataclass(frozen=True, slots=True)
class LoadedNet:
    """A net with its load, and whether a block carries it."""

    coil_net: CoilNet
    load_ohm: float
    carried: bool | None


# A shape is a net without names: None for a coil, or (joint, parts).
_Shape = tuple[str, tuple["_Shape", ...]] | None


def _splits(total: int, most: int) -> Iterator[tuple[int, ...]]:
    """Ways to write a total as parts no larger than `most`, largest first."""
    if total == 0:
        yield ()
    for part in range(min(total, most), 0, -1):
        for rest in _splits(total - part, part):
            yield (part, *rest)


@cache
def _shapes(wide: int, tall: int) -> tuple[_Shape, ...]:
    """Yield the nets of `wide` coil currents at `tall` coil voltages, one of each per coil.

    Equal power in like coils means one current through all of them. In a row the current is shared and
    the voltages add, side by side the other way round: so every part is again such a net.
    """
    if wide == tall == 1:
        return (None,)
    return (*_joined("series", wide, tall), *_joined("parallel", wide, tall))


def _joined(joint: str, wide: int, tall: int) -> Iterator[_Shape]:
    length = tall if joint == "series" else wide
    for split in _splits(length, length - 1):
        sizes = [(wide, part) if joint == "series" else (part, tall) for part in split]
        # Series within series is one series, so parts must be joined the other way. For equal parts of up to eight
        # coils this leaves no choice, so that no net occurs twice.
        choices = [[shape for shape in _shapes(*size) if shape is None or shape[0] != joint] for size in sizes]
        for parts in product(*choices):
            yield joint, parts


def _labelings(drivers: int, coils: int) -> Iterator[tuple[int, ...]]:
    """Yield the orders of driver numbers over the places, numbering new drivers consecutively."""

    def extend(start: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        if len(start) == drivers * coils:
            yield start
            return
        newest = max(start, default=0)
        for driver in range(1, min(newest + 1, drivers) + 1):
            if start.count(driver) < coils:
                yield from extend((*start, driver))

    return extend(())


def _key(shape: _Shape, drivers: Iterator[int]) -> tuple[Any, ...]:
    """A shape with drivers in its places, the order among like parts leveled out."""
    if shape is None:
        return (0, next(drivers))
    return (1 if shape[0] == "series" else 2, *sorted(_key(part, drivers) for part in shape[1]))


def _distinct_labelings(shape: _Shape, drivers: int, coils: int) -> Iterator[tuple[int, ...]]:
    """Yield one order of the drivers for each net that is distinct under renaming of drivers."""
    seen: set[tuple[Any, ...]] = set()
    for labels in _labelings(drivers, coils):
        if _key(shape, iter(labels)) in seen:
            continue
        yield labels
        for order in permutations(range(1, drivers + 1)):
            seen.add(_key(shape, iter([order[label - 1] for label in labels])))


def _tree(shape: _Shape, labels: Iterator[int], used: dict[int, int]) -> Net:
    if shape is None:
        driver = next(labels)
        used[driver] = used.get(driver, 0) + 1
        return Coil(driver, used[driver])
    parts = tuple(_tree(part, labels, used) for part in shape[1])
    return Series(parts) if shape[0] == "series" else Parallel(parts)


@cache
def _all_nets(drivers: int, coils: int) -> tuple[CoilNet, ...]:
    count = drivers * coils
    found = []
    for wide in (width for width in range(1, count + 1) if count % width == 0):
        for shape in _shapes(wide, count // wide):
            for labels in _distinct_labelings(shape, drivers, coils):
                net = _tree(shape, iter(labels), {})
                found.append(CoilNet(drivers, coils, net, load_ratio(net), keeps_drivers_whole(net)))
    return tuple(sorted(found, key=lambda each: (each.ratio, not each.whole_drivers)))


@formula(source=_KIRCHHOFF, valid=_VALID)
def equal_power_nets(drivers: float | None, coils: float | None = 1) -> tuple[CoilNet, ...] | None:
    """Every series and parallel net of equal drivers with the same power in every coil.

    Parameters
    ----------
    drivers
        Number of drivers.
    coils
        Coils of each driver.

    Returns
    -------
    The nets, lowest load first; at the same load those first whose drivers keep their coils together.
    Nets that differ only in which of the like drivers or coils is called which count once.

    Examples
    --------
    >>> [str(each.ratio) for each in equal_power_nets(2, 2) if each.whole_drivers]
    ['1/4', '1', '1', '4']
    """
    number, each = whole(drivers, 1, MOST_DRIVERS), whole(coils, 1, 2)
    return None if number is None or each is None else _all_nets(number, each)


@formula(source=_KIRCHHOFF, valid=_VALID + "; coils of one impedance over 0")
def nets_for_block(
    drivers: float | None,
    coils: float | None,
    coil_ohm: float | None,
    least_ohm: float | None = None,
) -> tuple[LoadedNet, ...] | None:
    """Every equal-power net with its load, and whether a channel group with this minimum load can drive it.

    Parameters
    ----------
    drivers, coils
        Number of drivers, and coils of each.
    coil_ohm
        Impedance of each coil, ohm.
    least_ohm
        Minimum rated load of the channel group, ohm (that of bridging if bridged).

    Returns
    -------
    The nets, lowest load first; ``carried`` is None while the block's least load is unknown.

    Examples
    --------
    >>> nets = nets_for_block(1, 2, 4, least_ohm=4)
    >>> [(each.load_ohm, each.carried) for each in nets]
    [(2.0, False), (8.0, True)]
    """
    found, known = equal_power_nets(drivers, coils), positive(coil_ohm)
    if found is None or known is None:
        return None
    loads = [(each, load_ohm(each.net, known[0]) or 0.0) for each in found]
    return tuple(LoadedNet(each, load, carries(load, least_ohm)) for each, load in loads)


@formula(source=_KIRCHHOFF, valid=_VALID + "; power over 0")
def power_per_coil_w(coil_net: CoilNet, power_w: float | None) -> float | None:
    """Power of each coil in an equal-power net.

    Examples
    --------
    >>> power_per_coil_w(equal_power_nets(2, 2)[0], 400)
    100.0
    """
    known = positive(power_w)
    return None if known is None else known[0] / len(coils_of(coil_net.net))
