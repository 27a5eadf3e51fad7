"""Which cautions stand on which paper: those that its reader can heed, and on the car's copy not a word of security."""

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
"""Cautions for the shop alone, at the counter: no paper prints them."""
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
"""By the template of a caution: the papers on which it stands."""
FIRST_YEAR = {AIRBAGS: 1973, ORANGE: 1997}
"""The model year from which cars were sold with it: from memory, no published source. An older car is not warned."""
OTHERWISE = OFFERED | SHOP | OWNER
"""Where a caution stands that is not listed: never on the copy that stays in the car."""


def cautions_of(kind: str, cautions: Iterable[str], year: int | None = None) -> list[str]:
    """Return the cautions of an answer that belong on a kind of paper, for a car of a year; unknown: of any year."""
    new = [one for one in cautions if year is None or year >= FIRST_YEAR.get(_template(one), 0)]
    return [one for one in new if kind in ON.get(_template(one), OTHERWISE)]
