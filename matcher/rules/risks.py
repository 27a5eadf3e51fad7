"""Cost of a figure that turns out badly after the parts are bought, by rule.

The classes are common practice, no published source; the points of each risk are settings of the shop.
"""

from __future__ import annotations

from typing import Literal

Risk = Literal["stops", "delays", "mended"]

RISKS: dict[str, Risk] = {
    # The part goes back, or the customer has to come again.
    "speaker.depth": "stops",
    "speaker.beside": "stops",
    "speaker.tweeter_depth": "stops",
    "dash.mount": "stops",
    "dash.body_width": "stops",
    "dash.body_height": "stops",
    "dash.depth": "stops",
    "dash.screen_clear": "stops",
    "supply.charging": "stops",
    "supply.system_voltage": "stops",
    "supply.ground": "stops",
    "limit.delivery": "stops",
    "limit.must": "stops",
    "film.net_vlt": "stops",
    "holding.zone": "stops",
    "amplifier.board_width": "stops",
    "amplifier.board_depth": "stops",
    "amplifier.board_height": "stops",
    "amplifier.pair_along": "stops",
    "amplifier.pair_across": "stops",
    "amplifier.pair_across_second": "stops",
    "bass.made_priced": "stops",
    "bass.size": "stops",
    "bass.depth": "stops",
    "cargo.gate_short": "stops",
    "cargo.gate_long": "stops",
    "cargo.width": "stops",
    "cargo.height": "stops",
    "cargo.depth_floor": "stops",
    "cargo.depth_top": "stops",
    "cargo.mass": "stops",
    # A washer, foam, a file or the meter fixes it while the car is in the bay.
    "speaker.front": "mended",
    "speaker.flange_width": "mended",
    "speaker.flange_height": "mended",
    "speaker.flat_width": "mended",
    "speaker.flat_height": "mended",
    "speaker.bolt_count": "mended",
    "adapter.bolt_count": "mended",
    "adapter.closes_width": "mended",
    "adapter.closes_height": "mended",
    "dash.face_width": "mended",
    "dash.face_height": "mended",
    "dash.support_mass": "mended",
    "amplifier.air": "mended",
    "bass.flange": "mended",
    "supply.at_rest": "mended",
    "supply.idle": "mended",
}
"""Risk by rule. Rules without an entry delay the job: a plate, cable or accessory is fetched while the car waits."""


def risk_of(rule: str) -> Risk:
    """Return the risk of a rule whose figures are uncertain."""
    return RISKS.get(rule, "delays")
