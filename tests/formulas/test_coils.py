"""Nets of coils against a general network solver: nodal analysis of the wires that are to be drawn."""

from __future__ import annotations

from fractions import Fraction

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.coils import (
    Coil,
    Net,
    Parallel,
    Series,
    Terminal,
    carries,
    coils_of,
    junctions,
    keeps_drivers_whole,
    load_ohm,
    load_ratio,
    wires,
)

A, B, C, D = (Coil(driver) for driver in (1, 2, 3, 4))
BLOCK_PLUS, BLOCK_MINUS = Terminal(None, "+"), Terminal(None, "-")


def nodes_of(net: Net) -> dict[Terminal, int]:
    """The electrical node of each terminal, read off the wires alone."""
    graph = nx.Graph((wire.start, wire.end) for wire in wires(net))
    return {terminal: number for number, joined in enumerate(nx.connected_components(graph)) for terminal in joined}


def solve(net: Net, coil_ohm: float, volts: float) -> tuple[float, dict[Coil, float]]:
    """Load and the signed voltage across each coil, by nodal analysis."""
    node = nodes_of(net)
    size = max(node.values()) + 1
    admittance = np.zeros((size, size))
    for coil in coils_of(net):
        plus, minus = node[Terminal(coil, "+")], node[Terminal(coil, "-")]
        admittance[[plus, minus], [plus, minus]] += 1 / coil_ohm
        admittance[plus, minus] -= 1 / coil_ohm
        admittance[minus, plus] -= 1 / coil_ohm
    injected = np.zeros(size)
    injected[node[BLOCK_PLUS]], injected[node[BLOCK_MINUS]] = 1.0, -1.0
    potential = np.linalg.pinv(admittance) @ injected
    load = potential[node[BLOCK_PLUS]] - potential[node[BLOCK_MINUS]]
    scale = volts / load
    across = {
        coil: scale * (potential[node[Terminal(coil, "+")]] - potential[node[Terminal(coil, "-")]])
        for coil in coils_of(net)
    }
    return float(load), across


@st.composite
def random_nets(draw: st.DrawFn, most: int = 8) -> Net:
    """Any series and parallel net, equal shares or not."""
    parts: list[Net] = [Coil(number) for number in range(1, draw(st.integers(1, most)) + 1)]
    while len(parts) > 1:
        count = draw(st.integers(2, len(parts)))
        group = tuple(parts[:count])
        parts = [Series(group) if draw(st.booleans()) else Parallel(group), *parts[count:]]
        parts = draw(st.permutations(parts))
    return parts[0]


@pytest.mark.parametrize(
    ("net", "load"),
    [
        (A, 4.0),
        (Parallel((A, B)), 2.0),
        (Series((A, B)), 8.0),
        (Parallel((Series((A, B)), Series((C, D)))), 4.0),
        (Series((Parallel((A, B)), Parallel((C, D)))), 4.0),
        (Parallel((A, Series((B, C)))), 8 / 3),
    ],
)
def test_load_of_4_ohm_coils(net: Net, load: float) -> None:
    assert load_ohm(net, 4) == pytest.approx(load)


@given(random_nets(), st.floats(0.5, 16), st.floats(0.1, 100))
def test_load_agrees_with_nodal_analysis_and_every_coil_is_in_phase(net: Net, coil_ohm: float, volts: float) -> None:
    load, across = solve(net, coil_ohm, volts)
    assert load_ohm(net, coil_ohm) == pytest.approx(load)
    assert min(across.values()) > 0


@given(random_nets())
def test_every_terminal_is_wired_once_into_one_junction(net: Net) -> None:
    joined = [terminal for group in junctions(net) for terminal in group]
    expected = {BLOCK_PLUS, BLOCK_MINUS} | {Terminal(coil, pole) for coil in coils_of(net) for pole in ("+", "-")}
    assert len(joined) == len(set(joined))
    assert set(joined) == expected
    assert len(wires(net)) == len(joined) - len(junctions(net))


def test_wires_of_a_row_of_two_pairs() -> None:
    net = Series((Parallel((Coil(1, 1), Coil(1, 2))), Parallel((Coil(2, 1), Coil(2, 2)))))
    assert [str(wire) for wire in wires(net)] == [
        "amplifier + to driver 1 coil 1 +",
        "driver 1 coil 1 + to driver 1 coil 2 +",
        "driver 1 coil 1 - to driver 1 coil 2 -",
        "driver 1 coil 2 - to driver 2 coil 1 +",
        "driver 2 coil 1 + to driver 2 coil 2 +",
        "amplifier - to driver 2 coil 1 -",
        "driver 2 coil 1 - to driver 2 coil 2 -",
    ]


@pytest.mark.parametrize(
    ("net", "kept"),
    [
        (A, True),
        (Series((Coil(1, 1), Coil(1, 2), Coil(2, 1), Coil(2, 2))), True),
        (Parallel((Series((Coil(1, 1), Coil(1, 2))), Series((Coil(2, 1), Coil(2, 2))))), True),
        (Parallel((Series((Coil(1, 1), Coil(2, 1))), Series((Coil(1, 2), Coil(2, 2))))), False),
        (Parallel((Coil(1, 1), Series((Coil(1, 2), Coil(2, 1))))), False),
        (Series((Parallel((Coil(1, 1), Coil(1, 2), Coil(2, 1), Coil(2, 2))), Coil(3, 1), Coil(3, 2))), True),
    ],
)
def test_drivers_kept_whole(net: Net, kept: bool) -> None:
    assert keeps_drivers_whole(net) is kept


@pytest.mark.parametrize(
    ("load", "least", "carried"),
    [*[(2, 2, True), (1.999, 2, False), (4 * (1 / 3), 4 / 3, True), (8, 2, True), (2, None, None)], *[(None, 2, None)]],
)
def test_least_load_itself_is_carried(load: float | None, least: float | None, carried: bool | None) -> None:
    assert carries(load, least) is carried


def test_ratio_is_exact() -> None:
    assert load_ratio(Series((Parallel((A, B, C)), Parallel((D, Coil(5), Coil(6)))))) == Fraction(2, 3)


@pytest.mark.parametrize("coil_ohm", [None, 0, -4])
def test_without_an_impedance_there_is_no_load(coil_ohm: float | None) -> None:
    assert load_ohm(A, coil_ohm) is None
