"""Probes with claims that physics does not allow."""

from __future__ import annotations

from decimal import Decimal

from tests.probes.probe import AMPLIFIER, COAXIAL, RADIO, Probe, options, parts_at
from tests.search.shops import Store


def _radio_of_50_w(store: Store) -> None:
    told = options(store, RADIO | {"amp_w": 50}, COAXIAL | {"rms_w": 25}, choose=["head_unit", "door"])
    powers = {link.power_w for package in told.packages for link in package.links if link.slot == "head_unit"}
    assert powers == {Decimal("25.92")}


def _amplifier_of_peak_watts(store: Store) -> None:
    loud = AMPLIFIER | {"part_id": "loud", "full_w_4ohm": 400, "power_basis": "peak", "price": 10}
    told = options(store, RADIO | {"amp_channels": 0}, loud, COAXIAL | {"rms_w": 40}, choose=["head_unit", "door"])
    assert parts_at(told.packages[0], "seat") == ["amplifier-1"]


PROBES = [
    Probe(
        "radio of 4 x 50 W",
        "a head unit claims 50 W from each of four channels without a converter",
        "25.92 W count: a clean sine from 14.4 V into 4 ohm",
        _radio_of_50_w,
    ),
    Probe(
        "amplifier of peak watts",
        "a cheap amplifier states 400 W of peak power",
        "its power is not known, so the amplifier with 40 W RMS leads",
        _amplifier_of_peak_watts,
    ),
]
