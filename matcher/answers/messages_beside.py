"""Sentences about glass, security, cable and zones: generated from answers, never parsed, free to change."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from matcher.answers.messages import amount
from matcher.answers.sentences import Sentence

ROUTE_WORDS = {
    "forced_ignition": "forced ignition",
    "hot_wire": "hot wiring",
    "tow": "towing or lifting",
    "glass": "broken glass",
    "equipment": "equipment taken",
}
OWN_REMOTE = "the amplifier's own remote"
MADE_BOARD = "made by the shop"
UNPRICED_BOARD = (
    "A board for amplifiers stands at no price: give the shop's made_board_price, made_board_labour_h and labour_rate."
)
SCREEN_LAW = "What a screen may show while driving is local law."
FILM_LAW = "How dark glass may be is local law."


DARKNESS = "How dark the film is to be has not been chosen: nearly black at 5 %, almost clear at 70 %."
LABOUR_OPEN = "hours to fit are not known, so labor and totals count none for: {parts}"
UNFILMED = "{film} stays off these panes, which it would make darker than their limit: {panes}"
UNLIMITED = "no limit is entered for these panes, so nothing says that film on them is allowed: {panes}"
FRAMELESS = "no frame holds these panes: film is cut and finished to the edge, takes longer, peels there: {panes}"
OPEN_ROUTES = "with {layers}, nothing stands in the way of: {routes}"
EFFORT = "{layer} has to be set by hand, a {effort} every day: such a layer is often left off"
OWN_BATTERY = "{layer} has a battery of its own: it goes on while the car's is disconnected, and its own wears out"
CUT_OUT = "{layer} must never interrupt a circuit whose loss at speed is a danger: steering, brakes, lights, engine"
ZONE = "never fasten anything at {zone}"
ZONE_WHY = "never fasten anything at {zone}: {why}"
FUSE_PLACE = (
    "the main fuse sits within {within} of the battery along the cable; the ground is as thick as the "
    "supply, to bare metal on an existing stud or back to the battery"
)
REMOTE = (
    "the remote of {amplifier} ({spot}): on a bracket at an existing screw or under the trim lip; no list states "
    "its size, so hold it there first"
)
NO_CABLE = (
    "no cable of the catalog does for {amplifier}: it takes {copper} of copper or {cca} of copper-clad aluminum, "
    "{length} long, with a fuse of {fuse}"
)


def film_refused_says(count: int, nearest: str, pane: str, short: Decimal) -> str:
    """Describe films that are allowed on no pane, with the nearest miss."""
    return Sentence(
        "{films}: too dark for every pane ({rule}); nearest {nearest} on {pane}, short by {short}",
        films=Sentence("{count} film", "{count} films", count=amount(count)),
        rule="film.net_vlt",
        nearest=nearest,
        pane=pane,
        short=amount(short, "%"),
    )


NO_PANES = "the vehicle names no pane: film needs each pane's own transmittance and limit"


def uncovered_says(routes: Sequence[str]) -> str:
    """Describe wanted routes that no layer of the catalog covers."""
    words = [ROUTE_WORDS[route] for route in routes]
    return Sentence("no layer of the catalog covers: {routes} ({rule})", routes=words, rule="security.routes")
