"""Risk of each figure that a rule asks for: the cost if it turns out badly after the parts are bought.

All of it is common practice, no published source; the points for each risk are the shop's settings.
"""

from __future__ import annotations

from typing import Literal

Risk = Literal["stops", "delays", "mended"]

RISKS: dict[str, Risk] = {
    # The part goes back, or the customer comes again.
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
    # A washer, foam, a file or the meter mends it while the car is in the bay.
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
}
"""By rule. Any other delays the job: a plate, a cable or an accessory is fetched, and the car waits."""


def risk_of(rule: str) -> Risk:
    """The risk of what a rule asks for."""
    return RISKS.get(rule, "delays")
