"""Cautions by paper: those that its reader can act on, and none about security on the car's copy."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from catalog_schema.answers import Line
from matcher.answers import messages_bass, messages_beside
from matcher.answers.messages import ALWAYS
from matcher.answers.sentences import Sentence

SHOP = frozenset({"measuring", "fitting", "setup"})
OPENED = frozenset({"measuring", "fitting", "handover-car"})
"""Papers for work on opened panels, at once or later."""
HANDED = frozenset({"handover-car", "handover-owner"})
OFFERED = frozenset({"proposal"})
OWNER, CAR = frozenset({"handover-owner"}), frozenset({"handover-car"})
FITTED = frozenset({"fitting"})
ORIGINALS = ("head_unit", "speaker")
"""Slots whose original may stay, so that nothing is installed there."""
SCREEN = "screen"
"""A head unit with a screen, beside the names of slots."""
NOWHERE: frozenset[str] = frozenset()
"""Cautions for the shop only, at the counter: no paper prints them."""
BATTERY, AIRBAGS, FUEL, ORANGE, HEARING, DOUBT = ALWAYS


def _about(told: str, parts: set[str | None], layers: list[list[str | None]]) -> str | None:
    """Return a caution as it concerns packages: without other parts that it lists, None if it is about others only."""
    facts = told.facts if isinstance(told, Sentence) else {}
    if isinstance(told, Sentence) and "parts" in facts:
        named = [one for one in facts["parts"] if one in parts]
        return Sentence(told.template, parts=named) if named else None
    if "layers" in facts:
        return told if facts["layers"] in layers else None
    return told if all(facts[name] in parts for name in ("amplifier", "film", "layer") if name in facts) else None


def _template(told: str) -> str:
    return told.template if isinstance(told, Sentence) else told


ON: dict[str, frozenset[str]] = {
    BATTERY: FITTED,
    AIRBAGS: OPENED,
    FUEL: FITTED,
    ORANGE: OPENED,
    HEARING: OFFERED,
    DOUBT: OFFERED | OPENED | HANDED,
    messages_bass.LIFT: FITTED | HANDED,
    messages_bass.LEVEL: OFFERED,
    messages_bass.UNPRICED: NOWHERE,
    messages_beside.UNPRICED_BOARD: NOWHERE,
    messages_beside.SCREEN_LAW: OFFERED | HANDED,
    messages_beside.FILM_LAW: OFFERED | HANDED,
    messages_beside.DARKNESS: OFFERED,
    messages_beside.CUT_OUT: FITTED | OWNER,
    messages_beside.NO_CABLE: FITTED,
    messages_beside.LABOUR_OPEN: OFFERED,
    messages_beside.UNFILMED: OFFERED | FITTED | HANDED,
    messages_beside.UNLIMITED: OFFERED | FITTED | HANDED,
    messages_beside.FRAMELESS: OFFERED | FITTED | HANDED,
    messages_beside.OPEN_ROUTES: OFFERED | OWNER,
    messages_beside.EFFORT: OFFERED | OWNER,
    messages_beside.OWN_BATTERY: OFFERED | FITTED | OWNER,
    messages_beside.ZONE: FITTED | CAR,
    messages_beside.ZONE_WHY: FITTED | CAR,
    messages_beside.FUSE_PLACE: FITTED,
    messages_beside.REMOTE: FITTED,
}
"""By the template of a caution: the papers that print it."""
FIRST_YEAR = {AIRBAGS: 1973, ORANGE: 1997}
"""First model year sold with it: from memory, no published source. Older cars get no such caution."""
ONLY_WITH = {
    messages_bass.LIFT: {"bass"},
    messages_bass.LEVEL: {"bass"},
    messages_beside.SCREEN_LAW: {SCREEN},
    messages_beside.FILM_LAW: {"film"},
    messages_beside.DARKNESS: {"film"},
    messages_beside.UNLIMITED: {"film"},
    messages_beside.FRAMELESS: {"film"},
    messages_beside.FUSE_PLACE: {"amplifier", "bass_amplifier"},
}
"""By the template of a caution: it concerns packages with one of these only."""
OTHERWISE = OFFERED | SHOP | OWNER
"""Papers for a caution that is not listed: never the copy that stays in the car."""


def cautions_of(
    kind: str, cautions: Iterable[str], packages: Sequence[Sequence[Line]] | None = None, year: int | None = None
) -> list[str]:
    """Return an answer's cautions for a kind of paper.

    Parameters
    ----------
    cautions
        The cautions of an answer: those of all of its packages.
    packages
        The lines of each of the paper's packages; all cautions by default.
    year
        The model year; an unknown one gets all cautions.
    """
    new = [one for one in cautions if year is None or year >= FIRST_YEAR.get(_template(one), 0)]
    told = [one for one in new if kind in ON.get(_template(one), OTHERWISE)]
    if packages is None:
        return told
    fitted = [line for lines in packages for line in lines if line.part_id or line.slot not in ORIGINALS]
    slots = {line.slot for line in fitted} | {SCREEN for line in fitted if line.screen_in}
    parts = {line.part_id for line in fitted}
    layers = [[line.part_id for line in lines if line.slot == "security"] for lines in packages]
    concerned = [one for one in told if ONLY_WITH.get(_template(one), slots) & slots]
    return [caution for one in concerned if (caution := _about(one, parts, layers)) is not None]
