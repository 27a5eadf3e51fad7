"""Probes with parts that are better by their figures, and no use to this customer."""

from __future__ import annotations

from tests.probes.probe import AMPLIFIER, COAXIAL, RADIO, Probe, options, parts_at
from tests.search.shops import Store

BETTER = COAXIAL | {"part_id": "better", "sens_db": 94, "price": 1}
SOON = {"lead_days": 2, "stock": 0}
CHOSEN = ["head_unit", "door"]


def _late_part(store: Store) -> None:
    others = [part | SOON for part in (RADIO, AMPLIFIER, COAXIAL)]
    late = BETTER | {"lead_days": 30, "stock": 0}
    told = options(store, *others, late, choose=CHOSEN, limits={"deliver_within_days": 7})
    assert parts_at(told.packages[0], "door") == ["coaxial"]
    assert "better" not in {line.part_id for package in told.packages for line in package.lines}


def _part_of_unknown_delivery(store: Store) -> None:
    others = [part | SOON for part in (RADIO, AMPLIFIER, COAXIAL)]
    told = options(store, *others, BETTER, choose=CHOSEN, limits={"deliver_within_days": 7})
    found = {parts_at(package, "door")[0]: package.verdict for package in told.packages}
    assert found == {"coaxial": "fits", "better": "measure"}


PROBES = [
    Probe(
        "late part",
        "a loudspeaker that is better and cheaper comes in 30 days; the customer has 7",
        "it is in no package",
        _late_part,
    ),
    Probe(
        "part of unknown delivery",
        "the same, and its list states no delivery time",
        "a package with it is to be asked about first, and never fits",
        _part_of_unknown_delivery,
    ),
]
