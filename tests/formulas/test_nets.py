"""Every equal-power net, against a plain enumeration of all series and parallel nets."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from itertools import permutations, product

import pytest

from matcher.formulas.coils import Coil, Net, Parallel, Series, coils_of, load_ratio
from matcher.formulas.nets import equal_power_nets, nets_for_block, power_per_coil_w

ALL = [(drivers, coils) for drivers in (1, 2, 3, 4) for coils in (1, 2)]


def groupings(items: tuple[Coil, ...]) -> Iterator[list[tuple[Coil, ...]]]:
    """Every way to put coils into unnamed groups."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for rest_groups in groupings(rest):
        yield [(first,), *rest_groups]
        for at, group in enumerate(rest_groups):
            yield [*rest_groups[:at], (first, *group), *rest_groups[at + 1 :]]


@cache
def every_net(items: tuple[Coil, ...], joint: type) -> tuple[Net, ...]:
    """Every net of these coils with this joint outermost, each once: brute force, up to six coils."""
    other = Parallel if joint is Series else Series
    found: list[Net] = []
    for groups in groupings(items):
        if len(groups) < 2:
            continue
        choices = [group if len(group) == 1 else every_net(group, other) for group in groups]
        found += [joint(parts) for parts in product(*choices)]
    return tuple(found)


def standing_for(net: Net, names: dict[int, int]) -> str:
    """A net with its drivers renamed, blind to the order of parts and to which coil of a driver it is."""
    if isinstance(net, Coil):
        return str(names[net.driver])
    parts = sorted(standing_for(part, names) for part in net.parts)
    return f"{type(net).__name__}({','.join(parts)})"


def class_of(net: Net) -> str:
    drivers = sorted({coil.driver for coil in coils_of(net)})
    return min(standing_for(net, dict(zip(drivers, order, strict=True))) for order in permutations(drivers))


def power_shares(net: Net, power: Fraction = Fraction(1)) -> dict[Coil, Fraction]:
    """Share of a net's power in each coil: in series as the loads, in parallel as their inverses."""
    if isinstance(net, Coil):
        return {net: power}
    ratios = [load_ratio(part) for part in net.parts]
    weights = ratios if isinstance(net, Series) else [1 / ratio for ratio in ratios]
    shares = [power * weight / sum(weights) for weight in weights]
    return {
        coil: each
        for part, share in zip(net.parts, shares, strict=True)
        for coil, each in power_shares(part, share).items()
    }


@pytest.mark.parametrize(("drivers", "coils"), [(1, 1), (1, 2), (2, 1), (2, 2), (3, 1), (4, 1), (3, 2)])
def test_nets_are_those_of_a_plain_enumeration(drivers: int, coils: int) -> None:
    items = tuple(Coil(driver, coil) for driver in range(1, drivers + 1) for coil in range(1, coils + 1))
    every: tuple[Net, ...] = items if len(items) == 1 else every_net(items, Series) + every_net(items, Parallel)
    equal = [net for net in every if len(set(power_shares(net).values())) == 1]
    found = equal_power_nets(drivers, coils)
    assert found is not None
    classes = [class_of(each.net) for each in found]
    assert len(classes) == len(set(classes))
    assert set(classes) == {class_of(net) for net in equal}


@pytest.mark.parametrize(("drivers", "coils"), ALL)
def test_no_net_comes_twice(drivers: int, coils: int) -> None:
    classes = [class_of(each.net) for each in equal_power_nets(drivers, coils) or ()]
    assert len(set(classes)) == len(classes) > 0


@pytest.mark.parametrize(("drivers", "coils"), ALL)
def test_every_coil_is_in_the_net_once_and_gets_the_same(drivers: int, coils: int) -> None:
    for each in equal_power_nets(drivers, coils) or ():
        assert sorted(coils_of(each.net)) == sorted(product_of_coils(drivers, coils))
        assert set(power_shares(each.net).values()) == {Fraction(1, drivers * coils)}
        assert each.ratio == load_ratio(each.net)


def product_of_coils(drivers: int, coils: int) -> list[Coil]:
    return [Coil(driver, coil) for driver, coil in product(range(1, drivers + 1), range(1, coils + 1))]


@pytest.mark.parametrize(
    ("drivers", "coils", "coil_ohm", "loads"),
    [
        *[(1, 1, 4, [4]), (1, 2, 4, [2, 8]), (2, 1, 4, [2, 8]), (2, 2, 4, [1, 4, 16]), (2, 2, 2, [0.5, 2, 8])],
        *[(3, 1, 4, [4 / 3, 12])],
        (3, 2, 4, [2 / 3, 8 / 3, 6, 24]),
        (4, 1, 4, [1, 4, 16]),
        (4, 2, 4, [0.5, 2, 8, 32]),
    ],
)
def test_loads_that_a_fitter_can_choose_from(drivers: int, coils: int, coil_ohm: float, loads: list[float]) -> None:
    # By hand: n coils as w branches of n/w coils give n/w^2 times one coil.
    nets = nets_for_block(drivers, coils, coil_ohm)
    assert nets is not None
    assert sorted({each.load_ohm for each in nets}) == pytest.approx(loads)
    assert [each.load_ohm for each in nets] == sorted(each.load_ohm for each in nets)
    assert {each.carried for each in nets} == {None}


@pytest.mark.parametrize(("drivers", "coils"), ALL)
def test_every_load_can_be_had_with_the_drivers_kept_whole(drivers: int, coils: int) -> None:
    nets = equal_power_nets(drivers, coils) or ()
    assert {each.ratio for each in nets if each.whole_drivers} == {each.ratio for each in nets}


@pytest.mark.parametrize(("drivers", "coils"), ALL)
def test_at_the_same_load_the_nets_of_whole_drivers_come_first(drivers: int, coils: int) -> None:
    order = [(each.ratio, not each.whole_drivers) for each in equal_power_nets(drivers, coils) or ()]
    assert order == sorted(order)


def test_which_nets_a_block_carries() -> None:
    nets = nets_for_block(2, 2, 4, least_ohm=4)
    assert nets is not None
    assert {each.load_ohm for each in nets if each.carried} == {4, 16}
    assert {each.load_ohm for each in nets if each.carried is False} == {1}


def test_power_of_each_coil() -> None:
    nets = equal_power_nets(4, 2)
    assert nets is not None
    assert {power_per_coil_w(each, 800) for each in nets} == {100.0}


@pytest.mark.parametrize(
    "answer",
    [
        *[equal_power_nets(None), equal_power_nets(0), equal_power_nets(5), equal_power_nets(2, 3)],
        *[equal_power_nets(2.5), equal_power_nets(2, None), nets_for_block(2, 2, None), nets_for_block(2, 2, 0)],
        *[nets_for_block(None, 2, 4)],
        power_per_coil_w((equal_power_nets(1) or ())[0], None),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
