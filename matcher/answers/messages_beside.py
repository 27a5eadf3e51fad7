"""Sentences about glass, security, cable and zones: generated from answers, never parsed, free to change."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from matcher.answers.messages import amount
from matcher.answers.sentences import Sentence
from matcher.search.feeds.parts import AmplifierDraw

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


def labour_open_says(parts: Sequence[str]) -> str:
    """Describe parts with unknown labor hours."""
    return Sentence("hours to fit are not known, so labor and totals count none for: {parts}", parts=parts)


DARKNESS = "How dark the film is to be has not been chosen: nearly black at 5 %, almost clear at 70 %."


def unfilmed_says(film: str, panes: Sequence[str]) -> str:
    """Describe panes that a film would darken beyond the limit entered."""
    return Sentence(
        "{film} stays off these panes, which it would make darker than their limit: {panes}",
        film=film,
        panes=panes,
    )


def unlimited_says(panes: Sequence[str]) -> str:
    """Describe panes without a limit."""
    return Sentence(
        "no limit is entered for these panes, so nothing says that film on them is allowed: {panes}", panes=panes
    )


def frameless_says(panes: Sequence[str]) -> str:
    """Describe panes without a frame."""
    return Sentence(
        "no frame holds these panes: film is cut and finished to the edge, takes longer, peels there: {panes}",
        panes=panes,
    )


def open_routes_says(layers: Sequence[str], routes: Sequence[str]) -> str:
    """Describe routes of theft that the security layers of a package leave uncovered."""
    words = [ROUTE_WORDS[route] for route in routes]
    return Sentence("with {layers}, nothing stands in the way of: {routes}", layers=layers, routes=words)


def effort_says(layer: str, effort: str) -> str:
    """Describe a layer that has to be set each time."""
    return Sentence(
        "{layer} has to be set by hand, a {effort} every day: such a layer is often left off",
        layer=layer,
        effort=effort,
    )


def own_battery_says(layer: str) -> str:
    """Describe a layer that works without the car's battery."""
    return Sentence(
        "{layer} has a battery of its own: it goes on while the car's is disconnected, and its own wears out",
        layer=layer,
    )


def cut_out_says(layer: str) -> str:
    """Describe the circuits that a cut-out may interrupt."""
    return Sentence(
        "{layer} must never interrupt a circuit whose loss at speed is a danger: steering, brakes, lights, engine",
        layer=layer,
    )


def zone_says(zone: str, why: str | None) -> str:
    """Describe a zone where nothing may be fastened."""
    if not why:
        return Sentence("never fasten anything at {zone}", zone=zone)
    return Sentence("never fasten anything at {zone}: {why}", zone=zone, why=why)


def fuse_place_says(within_mm: Decimal) -> str:
    """Describe where the main fuse and the ground lead go."""
    return Sentence(
        "the main fuse sits within {within} of the battery along the cable; the ground is as thick as the "
        "supply, to bare metal on an existing stud or back to the battery",
        within=amount(within_mm, "mm"),
    )


def remote_says(amplifier: str, spot: str) -> str:
    """Describe an amplifier's own remote, whose size is in no list."""
    return Sentence(
        "the remote of {amplifier} ({spot}): on a bracket at an existing screw or under the trim lip; no list states "
        "its size, so hold it there first",
        amplifier=amplifier,
        spot=spot,
    )


def no_cable_says(amplifier: str, draw: AmplifierDraw, length_m: float | None) -> str:
    """Describe a cable that the catalog lacks."""
    return Sentence(
        "no cable of the catalog does for {amplifier}: it takes {copper} of copper or {cca} of copper-clad aluminum, "
        "{length} long, with a fuse of {fuse}",
        amplifier=amplifier,
        copper=amount(draw.copper_mm2, "mm2"),
        cca=amount(draw.cca_mm2, "mm2"),
        length=amount(length_m, "m"),
        fuse=amount(draw.fuse_a, "A"),
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
