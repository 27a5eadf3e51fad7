"""Cautions by paper: those that its reader can act on, and none about security on the car's copy."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from matcher.answers import messages_bass, messages_beside
from matcher.answers.messages import ALWAYS
from matcher.answers.said import Sentence
from matcher.search.feeds.parts import AmplifierDraw

SHOP = frozenset({"measuring", "fitting", "setup"})
OPENED = frozenset({"measuring", "fitting", "handover-car"})
"""Papers for work on opened panels, at once or later."""
HANDED = frozenset({"handover-car", "handover-owner"})
OFFERED = frozenset({"proposal"})
OWNER, CAR = frozenset({"handover-owner"}), frozenset({"handover-car"})
FITTED = frozenset({"fitting"})
NOWHERE: frozenset[str] = frozenset()
"""Cautions for the shop only, at the counter: no paper prints them."""
BATTERY, AIRBAGS, FUEL, ORANGE, HEARING, LAW, DOUBT = ALWAYS


def _template(told: str) -> str:
    return told.template if isinstance(told, Sentence) else told


ON: dict[str, frozenset[str]] = {
    BATTERY: FITTED | CAR,
    AIRBAGS: OPENED,
    FUEL: FITTED,
    ORANGE: OPENED,
    HEARING: OFFERED | HANDED,
    LAW: OFFERED,
    DOUBT: OFFERED | OPENED | HANDED,
    messages_bass.LIFT: FITTED | HANDED,
    messages_bass.LEVEL: OFFERED,
    messages_bass.UNPRICED: NOWHERE,
    messages_beside.UNPRICED_BOARD: NOWHERE,
    messages_beside.CUT_OUT: FITTED | OWNER,
    _template(messages_beside.no_cable_says("", AmplifierDraw(None, None), None)): FITTED,
    _template(messages_beside.labour_open_says([])): OFFERED | FITTED,
    _template(messages_beside.unfilmed_says("", [])): OFFERED | FITTED | HANDED,
    _template(messages_beside.unlimited_says([])): OFFERED | FITTED | HANDED,
    _template(messages_beside.frameless_says([])): OFFERED | FITTED | HANDED,
    _template(messages_beside.open_routes_says([])): OFFERED | OWNER,
    _template(messages_beside.effort_says("", "")): OFFERED | OWNER,
    _template(messages_beside.own_battery_says("")): OFFERED | FITTED | OWNER,
    _template(messages_beside.zone_says("", None)): FITTED | CAR,
    _template(messages_beside.zone_says("", "fuel")): FITTED | CAR,
    _template(messages_beside.fuse_place_says(Decimal(1))): FITTED,
    _template(messages_beside.remote_says("", "")): FITTED,
}
"""By the template of a caution: the papers that print it."""
FIRST_YEAR = {AIRBAGS: 1973, ORANGE: 1997}
"""First model year sold with it: from memory, no published source. Older cars get no such caution."""
OTHERWISE = OFFERED | SHOP | OWNER
"""Papers for a caution that is not listed: never the copy that stays in the car."""


def cautions_of(kind: str, cautions: Iterable[str], year: int | None = None) -> list[str]:
    """Return an answer's cautions for a kind of paper and a model year; an unknown year gets all of them."""
    new = [one for one in cautions if year is None or year >= FIRST_YEAR.get(_template(one), 0)]
    return [one for one in new if kind in ON.get(_template(one), OTHERWISE)]
