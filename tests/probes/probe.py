"""A probe: a part or a car made to fool the ranking, and the result that must come out all the same."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from catalog_schema.answers import Options, Package
from tests.bass.cars import trunk
from tests.factories import Row, amp_spot, amplifier, dash_opening, head_unit, job, part, speaker, speaker_opening
from tests.search.shops import Store


class Probe(NamedTuple):
    """One row of the table."""

    name: str
    trick: str
    """What is made to fool the ranking."""
    outcome: str
    """The result that must come out."""
    check: Callable[[Store], None]
    """Asserts it, in a store of its own."""


RADIO = head_unit(
    amp_channels=4, amp_w=20, amp_min_ohm=4, preouts=4, preout_v=2, standby_ma=1, screen="none", features=["radio"]
)
COAXIAL = speaker(
    part_id="coaxial", kind="coaxial", sens_db=88, sens_basis="1w", low_hz=80, high_hz=18_000, sd_cm2=130, xmax_mm=4
)
AMPLIFIER = amplifier(
    full_w_4ohm=40, input_min_v=1, input_max_v=4, high_level_in=False, standby_ma=1, current_a=30, fuse_a=30
)
CAR = [dash_opening(), speaker_opening(), amp_spot()]
BASS = part("subwoofer", fs_hz=30, qts=0.5, qes=0.55, vas_l=20, sd_cm2=330, xmax_mm=8, cutout_mm=230, outer_mm=260)
BOX = part("enclosure", kind="sealed", net_l=25, cutout_mm=232, driver_depth_mm=200)
CARGO = trunk(opening_id="trunk")
BRIDGED = AMPLIFIER | {"full_channels": 4, "full_bridged_w_4ohm": 200, "full_bridged_min_ohm": 4}


def options(
    store: Store, *parts: Row, car: list[Row] | None = None, supply: Row | None = None, top: int = 5, **asked: Any
) -> Options:
    """The options of a job in a town that has a radio, an amplifier, a coaxial loudspeaker and these parts.

    `supply` holds figures of the car's electrical system.
    """
    own = {one["part_id"] for one in parts}
    basic = [one for one in (RADIO, AMPLIFIER, COAXIAL) if one["part_id"] not in own]
    store.lay_town([*basic, *parts], CAR if car is None else car, **supply or {}).job(job(**asked))
    return store.options("j1", top=top)


def parts_at(package: Package, opening_id: str) -> list[str]:
    """The parts from the catalog at an opening."""
    return [line.part_id for line in package.lines if line.opening_id == opening_id and line.part_id]
