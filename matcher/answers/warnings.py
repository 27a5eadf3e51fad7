"""Cautions of an answer: glass, security layers, cable and zones; `messages_beside` writes the sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from catalog_schema.answers import Package
from matcher.answers import messages_beside as says
from matcher.answers.bass_feed import bass_warnings
from matcher.answers.beside import layer_facts
from matcher.answers.messages import amount
from matcher.answers.sentences import Sentence
from matcher.answers.supply import Powered, electrical, powered_of
from matcher.search.candidates.controls import KIND
from matcher.search.candidates.supply import need_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.kit import board_needs
from matcher.search.feeds.parts import Candidate
from matcher.search.packages import Found, PackageCandidate
from matcher.search.question import JobQuestion

STARTING = frozenset({"forced_ignition", "hot_wire"})
"""Routes of theft by which the engine is started."""
TOLD = ("habit", "chore")
"""Efforts of a layer that bring a caution for its owner."""


def warnings_of(catalog: Catalog, question: JobQuestion, shown: list[Found], packages: list[Package]) -> list[str]:
    """Return the cautions of the packages shown, each once."""
    fitted = [one for found in shown for one in found.fitted]
    some = {one.candidate.part_id: one.candidate for one in fitted if one.candidate.part_id is not None}.values()
    layers = [[str(one.part_id) for one in package.lines if one.slot == "security"] for package in packages]
    unpriced = sorted({name for package in packages for name in package.price.labour_open})
    cautions = [
        *([Sentence(says.LABOUR_OPEN, parts=unpriced)] if unpriced else []),
        *film_warnings(catalog, question, [one for one in some if one.slot == "film"]),
        *security_warnings(catalog, layers),
        *bass_warnings(catalog, question, fitted),
        *board_warnings(catalog, fitted),
        *remote_warnings(fitted),
        *supply_warnings(catalog, question, powered_of(fitted)),
        *zone_warnings(catalog.vehicle(question.job.vehicle_id).zones),
        *([says.SCREEN_LAW] if any(line.screen_in for package in packages for line in package.lines) else []),
    ]
    return list(dict.fromkeys(cautions))


def film_warnings(catalog: Catalog, question: JobQuestion, films: list[Candidate]) -> list[str]:
    """Warn about unrequested darkness, unfilmed panes, panes without a limit, and panes without a frame."""
    if not films:
        return []
    glass = catalog.vehicle(question.job.vehicle_id).panes
    bare = [(film, [pane["pane"] for pane in glass if pane["pane"] not in film.covers]) for film in films]
    filmed = {name for film in films for name in film.covers}
    unlimited = [pane["pane"] for pane in glass if pane["limit_pct"] is None and pane["pane"] in filmed]
    frameless = [pane["pane"] for pane in glass if pane["frameless"] and pane["pane"] in filmed]
    return [
        *([says.DARKNESS] if question.job.film_vlt_pct is None else []),
        *(Sentence(says.UNFILMED, film=str(film.part_id), panes=left) for film, left in bare if left),
        *([Sentence(says.UNLIMITED, panes=unlimited)] if unlimited else []),
        *([Sentence(says.FRAMELESS, panes=frameless)] if frameless else []),
        says.FILM_LAW,
    ]


def security_warnings(catalog: Catalog, packages: list[list[str]]) -> list[str]:
    """Warn about routes uncovered by each package's layers, layers often left off or with a battery, and cut-outs."""
    facts = layer_facts(catalog, sorted(set().union(*packages)))
    covers = {fact["part_id"]: fact["covers"] or () for fact in facts}
    words = says.ROUTE_WORDS.items()
    covered = [(layers, set().union(*(covers[layer] for layer in layers))) for layers in packages if layers]
    still_open = [(layers, [word for route, word in words if route not in routes]) for layers, routes in covered]
    return [
        *(Sentence(says.OPEN_ROUTES, layers=layers, routes=routes) for layers, routes in still_open if routes),
        *(Sentence(says.EFFORT, layer=one["part_id"], effort=one["effort"]) for one in facts if one["effort"] in TOLD),
        *(Sentence(says.OWN_BATTERY, layer=one["part_id"]) for one in facts if one["own_battery"]),
        *(Sentence(says.CUT_OUT, layer=one["part_id"]) for one in facts if _may_cut(one)),
    ]


def _may_cut(layer: dict[str, Any]) -> bool:
    """Whether a layer interrupts a circuit; if it is unknown, whether it keeps the engine from being started."""
    if layer["cuts_circuit"] is None:
        return not STARTING.isdisjoint(layer["covers"] or ())
    return bool(layer["cuts_circuit"])


def board_warnings(catalog: Catalog, fitted: list[PackageCandidate]) -> list[str]:
    """Warn about a board made by the shop without a price."""
    made = any(more.slot == "board" and more.part_id is None for one in fitted for more in one.candidate.along)
    return [says.UNPRICED_BOARD] if made and board_needs(catalog.settings) else []


def remote_warnings(fitted: list[PackageCandidate]) -> list[str]:
    """Warn about an amplifier's own remote at a control spot."""
    along = [(one.candidate, more) for one in fitted for more in one.candidate.along if more.slot == KIND]
    return [Sentence(says.REMOTE, amplifier=str(one.part_id), spot=str(remote.opening_id)) for one, remote in along]


def zone_warnings(zones: Sequence[Mapping[str, str | None]]) -> list[str]:
    """Warn about each zone where nothing may be fastened, with the reason if it is known."""
    told = [(zone["zone"] or "", zone["why"] or "") for zone in zones]
    return [Sentence(says.ZONE_WHY if why else says.ZONE, zone=name, why=why) for name, why in told]


def supply_warnings(catalog: Catalog, question: JobQuestion, powered: list[Powered]) -> list[str]:
    """State where the fuse and the ground lead go, and report cables that the catalog lacks."""
    if not powered:
        return []
    length = amount(electrical(catalog, question)["battery_to_cargo_m"], "m")
    lacking = {one.part.part_id: one.draw for one in powered if one.cable is None and need_of(one.draw) is not None}
    return [
        Sentence(says.FUSE_PLACE, within=amount(catalog.settings["fuse_distance_mm"], "mm")),
        *(
            Sentence(
                says.NO_CABLE,
                amplifier=str(name),
                copper=amount(draw.copper_mm2, "mm2"),
                cca=amount(draw.cca_mm2, "mm2"),
                length=length,
                fuse=amount(draw.fuse_a, "A"),
            )
            for name, draw in lacking.items()
        ),
    ]
