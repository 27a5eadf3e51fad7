"""Coil wirings of bass drivers that give every coil the same power."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from typing import Any

from matcher.formulas.coils import net_signs
from matcher.formulas.nets import CoilNet, equal_power_nets
from matcher.search.feeds.links import CoilWiring
from matcher.search.feeds.parts import SpeakerSignature

SystemClass = tuple[int, SpeakerSignature]
"""Number of drivers and the electrical class of one: sufficient for any feed."""


@cache
def coil_nets_of(drivers: int, signature: SpeakerSignature) -> tuple[CoilWiring, ...]:
    """Return one wiring per load that gives every coil the same power, preferring those that keep drivers whole."""
    return tuple(
        CoilWiring(net_signs(net.net, single=signature.coils == 1), signature.impedance_ohm * ratio, 1)
        for net, ratio in nets_by_load(drivers, signature.coils)
        if signature.impedance_ohm is not None
    )


@cache
def nets_by_load(drivers: int, coils: int) -> tuple[tuple[CoilNet, Decimal], ...]:
    """Return the wirings of some drivers' coils, one per load, with the load as a multiple of one coil's."""
    # A single driver with more coils is wired like as many single coils.
    nets = equal_power_nets(coils, 1) if drivers == 1 and coils > 2 else equal_power_nets(drivers, coils)
    first: dict[Any, CoilNet] = {}
    for net in nets or ():
        first.setdefault(net.ratio, net)
    return tuple((net, Decimal(ratio.numerator) / Decimal(ratio.denominator)) for ratio, net in first.items())
