"""The subjects that rules compare, and the scopes that combine them.

``part``      the part in question
``opening``   the opening as measured
``hole``      the opening as it is, or as cut (one row each)
``box``       a bass box: from the catalog, or made to measure
``board``     an amplifier board of the catalog
``adapter``   the plate, ring or kit between the part and the opening
``mouth``     the interface for the part: the hole itself, or that of the adapter
``keep``      a thing that must stay reachable
``rise``      the mounting height of a floating screen: chosen, so without a tolerance
``vehicle``   its electrical system
``feed``      one feed: a channel group with a loudspeaker
``line``      a head unit's outputs and an amplifier's inputs
``wanted``    the job's requirements for a head unit, or for the delivery of a part
``whole``     a package as a whole
``pane``      a pane of glass
``film``      a film for it
``guard``     several layers of security together
``draw``      current drawn by amplifiers, and the fuse and cable areas that follow from it
``cable``     a cable for it
``pair``      two amplifiers next to each other on one spot
``accessory`` an accessory's requirements for a head unit
``filtering`` the filter that channels need, and the settings of a device
``zone``      a zone where nothing may be fastened: whether it ``covers`` the opening
"""

from __future__ import annotations

from matcher.rules.terms import FigureTerm as Figure
from matcher.rules.terms import SettingTerm, Subject

COUNTS = frozenset(
    {
        "bolt_count",
        "coils",
        "count",
        "deliver_within_days",
        "driver_size_in",
        "drivers",
        "fits_bolt_count",
        "lead_days",
        "met",
        "mm",
        "pattern_0_count",
        "pattern_1_count",
        "pattern_2_count",
        "preouts",
        "size_in",
        "usable",
    }
)
"""Fields that are counted, chosen or nominal, never measured."""

ELECTRIC = frozenset({"least_ohm", "load_ohm", "power_w", "rms_w", "screen_min_in"})
"""Figures of a feed: nominal, so without a tolerance."""

WHOLE = frozenset(
    {
        "amplifier_channels",
        "amplifier_used",
        "at_rest_ma",
        "bass_channels",
        "bass_used",
        "budget",
        "drain_ma",
        "head_channels",
        "head_used",
        "own_channels",
        "own_used",
        "total",
    }
)
"""Sums over a package."""

DRAW = frozenset({"cca_mm2", "copper_mm2", "covered", "fuse_a", "music_a", "wanted"})
"""Figures derived from nominal ones, and counts."""

part = Subject("part", COUNTS)
opening = Subject("opening", COUNTS)
hole = Subject("hole", COUNTS)
adapter = Subject("adapter", COUNTS)
box = Subject("box", COUNTS)
board = Subject("board")
mouth = Subject("mouth", COUNTS)
keep = Subject("keep")
rise = Subject("rise", COUNTS)
vehicle = Subject("vehicle")
feed = Subject("feed", ELECTRIC)
line = Subject("line", COUNTS)
wanted = Subject("wanted", COUNTS | ELECTRIC)
whole = Subject("whole", WHOLE)
pane = Subject("pane")
film = Subject("film")
guard = Subject("guard", DRAW)
draw = Subject("draw", DRAW)
cable = Subject("cable")
accessory = Subject("accessory", COUNTS)
pair = Subject("pair")
zone = Subject("zone")
filtering = Subject("filtering")


def setting(name: str, by: Figure | None = None, otherwise: str | None = None) -> SettingTerm:
    """Return a term for a setting of the shop, by a word if it has one value per word."""
    return SettingTerm(name, by, otherwise)
