"""The subjects that rules speak of, and the questions in which they stand together.

``part``      the part that is looked at
``opening``   the opening as measured
``hole``      the opening as found, or as cut (one row each)
``box``       a bass box: from the catalog, or made to measure
``board``     a board of the catalog that amplifiers stand on
``adapter``   what mates the part and the opening
``mouth``     what the part meets: the hole itself, or what the adapter gives
``keep``      a thing that must stay reachable
``rise``      the height at which a floating screen hangs: chosen, so without a tolerance
``vehicle``   its supply
``feed``      one feed: a block of channels with a loudspeaker
``line``      a head unit's outputs and an amplifier's inputs
``wanted``    what the job asks of a head unit, or of the delivery of a part
``whole``     a package as a whole
``pane``      a pane of glass
``film``      a film for it
``guard``     some layers of security together
``draw``      what amplifiers draw, and the fuse and areas of cable that follow from it
``cable``     a cable for it
``pair``      two amplifiers as they stand beside each other on a spot
``accessory`` what an accessory needs of a head unit
``filtering`` the filter that channels want, and the settings that a device has
``zone``      where nothing may be fastened: whether it ``covers`` the opening
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
    """One of the shop's defaults; by a word where it goes by one."""
    return SettingTerm(name, by, otherwise)
