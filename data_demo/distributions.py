"""Distributions of the demo's lists: every share, span and choice, in one place. All invented.

A span ``(least, most)`` is drawn evenly in steps of a half. A share is parts of a hundred. Lengths in mm
unless a name says otherwise.
"""

from __future__ import annotations

from typing import NamedTuple

Span = tuple[float, float]
Bolts = tuple[str, float, float]  # "circle", its diameter, count; or "rect", across, down

SEED = 1984
"""The seed of the lists that lie in ``lists/``."""

COUNTS: dict[str, int] = {
    "head_unit": 78,  # rows drawn for each list; made-to-fit adapters and repeated rows come on top
    "speaker": 190,
    "amplifier": 70,
    "subwoofer": 50,
    "enclosure": 46,
    "adapter": 44,
    "cable": 22,
    "film": 20,
    "security": 24,
    "accessory": 34,
    "install": 35,
}

SHARES: dict[str, int] = {
    "speaker": 400,  # parts of a thousand in a catalog of any size
    "head_unit": 150,
    "amplifier": 120,
    "subwoofer": 90,
    "adapter": 80,
    "enclosure": 70,
    "accessory": 40,
    "security": 20,
    "cable": 20,
    "film": 10,
}

UNKNOWN_SHARE = 0.15
"""Rows in which one figure is left out."""

PACK_OF_TWO_SHARE = 0.7
"""Loudspeakers that are sold in pairs."""

STOCK: Span = (0, 14)  # packs on the shelf
LEAD_DAYS = (1, 2, 2, 3, 5, 7, 10, 21)  # days until more arrive
CENTS = ("00", "50", "90", "90", "95")  # how a price ends
SERIES = ("Ebb", "Flood", "Neap", "Swell", "Fetch", "Haar", "Spindrift", "Groundsea")  # model names


class SpeakerSize(NamedTuple):
    """A size of loudspeaker, and what is made in it."""

    share: int
    size: str
    shape: str
    cutout_w: Span
    cutout_h: Span | None  # None: round
    rim: Span  # flange over cut-out, both sides together
    bolts: tuple[Bolts, ...]  # the patterns it is made with
    depth: Span
    magnet: Span
    front: Span
    xmax: Span
    rms_w: tuple[int, ...]  # cheapest first
    sens_db: Span
    low_hz: Span
    sd_cm2: Span
    vas_l: Span
    price: Span  # of a pair


# fmt: off
SPEAKER_SIZES = (
    # share, size, shape, cut-out across, down, rim, bolts,
    #   depth, magnet, front, travel, rating W, sensitivity dB, low end Hz, piston cm2, Vas l, price of a pair
    SpeakerSize(20, "87 mm", "round", (76, 81), None, (14, 18), (("circle", 93, 2),),
                (32, 50), (50, 72), (2, 9), (1.5, 3), (15, 20, 25, 30, 40), (84, 88), (110, 160),
                (28, 36), (0.5, 1.5), (28, 140)),
    SpeakerSize(14, "100 mm", "round", (91, 95), None, (13, 18), (("circle", 116, 4), ("rect", 82, 82)),
                (36, 56), (66, 86), (3, 12), (2, 3.5), (20, 25, 30, 40, 50), (86, 90), (90, 130),
                (48, 60), (1.5, 4), (34, 170)),
    SpeakerSize(10, "130 mm", "round", (113, 118), None, (18, 23), (("circle", 131, 4),),
                (42, 64), (76, 96), (4, 14), (2.5, 4.5), (25, 35, 45, 60), (87, 91), (70, 100),
                (80, 95), (4, 9), (40, 220)),
    SpeakerSize(20, "165 mm", "round", (140, 145), None, (20, 24), (("circle", 156, 4),),
                (40, 74), (88, 122), (4, 18), (3, 6), (30, 45, 60, 75, 100), (88, 92), (50, 75),
                (125, 142), (9, 20), (48, 320)),
    SpeakerSize(18, "4x6", "oval", (90, 95), (136, 141), (13, 17), (("rect", 80, 117),),
                (42, 66), (70, 92), (3, 14), (2, 3.5), (20, 30, 40, 45), (86, 90), (80, 110),
                (76, 90), (3, 8), (38, 190)),
    SpeakerSize(5, "5x7", "oval", (126, 130), (178, 183), (14, 18), (("rect", 110, 163),),
                (52, 76), (86, 108), (5, 16), (3, 5), (35, 50, 60, 75), (88, 92), (55, 80),
                (140, 160), (10, 22), (52, 240)),
    SpeakerSize(9, "6x9", "oval", (150, 154), (219, 224), (15, 18), (("rect", 119, 193),),
                (70, 98), (96, 130), (6, 20), (4, 7), (50, 75, 90, 120), (90, 94), (38, 60),
                (225, 250), (22, 48), (60, 360)),
    SpeakerSize(4, "4x10", "oval", (92, 96), (240, 245), (14, 17), (("rect", 86, 206),),
                (62, 86), (84, 104), (4, 12), (2.5, 4), (25, 35, 50), (87, 91), (75, 105),
                (130, 150), (8, 18), (55, 180)),
)
# fmt: on

MORE_PATTERNS = {
    "87 mm": ("4x93", "2x102"),
    "100 mm": ("8x116", "3x110"),
    "130 mm": ("4x117", "3x131"),
    "165 mm": ("8x156", "4x142"),
}  # more holes in the flange of a universal model, by size
UNIVERSAL_EVERY = 4  # of so many models one is universal
BOLT_SCATTER: Span = (-1.5, 1.5)  # round the size's own pattern
IMPEDANCE_OHM = ((78, 4), (8, 2), (6, 3), (8, 8))  # share, ohm
TWO_COILS_SHARE = 0.06  # loudspeakers with a coil for each channel
SPEAKER_KINDS = ((66, "coaxial"), (16, "component"), (12, "full_range"), (6, "midbass"))  # share, kind
COMPONENT_PIECES: dict[str, Span] = {
    "tweeter_hole_mm": (40, 52),
    "tweeter_depth_mm": (11, 24),
    "filter_w_mm": (80, 140),
    "filter_h_mm": (25, 45),
    "filter_d_mm": (50, 90),
}
"""Tweeter and filter of a component set, beside its woofer."""
FILTERS = (
    # share, high-pass from, to, low-pass from, to, subsonic; 0: there is none, None: the sheet does not say
    (45, (50, 250, 40, 160, 0)),
    (15, (60, 120, 60, 120, 0)),
    (15, (32, 320, 32, 320, 35)),
    (10, (80, 80, 80, 80, 0)),
    (5, (0, 0, 0, 0, 0)),
    (10, (None, None, None, None, None)),
)
"""The filters of amplifiers, and of head units with a screen."""
PLAIN_FILTERS = ((40, (80, 80, 80, 80, 0)), (40, (0, 0, 0, 0, 0)), (20, (None, None, None, None, None)))
"""The filters of head units without a screen."""
FILTER_COLUMNS = ("hp_min_hz", "hp_max_hz", "lp_min_hz", "lp_max_hz", "subsonic_hz")
DIAMETER_ONCE_SHARE = 0.3  # sheets that give a round thing's diameter once, as its width
SENS_BASIS = ((60, "1w"), (40, "2v83"))  # share, basis
HIGH_HZ = (12000, 16000, 18000, 20000, 22000)  # upper end of the range
SPEAKER_QTS: Span = (4, 9)  # tenths
SPEAKER_MASS_KG: Span = (3, 16)  # tenths


class Body(NamedTuple):
    """A kind of head unit."""

    share: int
    name: str
    mount: str
    screen: str
    w: Span
    h: Span
    d: Span
    face_over_w: Span  # face over body
    face_over_h: Span
    face_d: Span
    mass_kg: Span
    price: Span


# fmt: off
BODIES = (
    # share, name, mount, screen, width, height, depth, face over width, over height, face depth, kg, price
    Body(16, "single", "body", "none", (178, 178), (50, 50), (146, 166), (8, 12), (7, 9), (12, 22), (1, 1.5),
         (60, 210)),
    Body(14, "single short", "body", "none", (178, 178), (50, 50), (88, 126), (8, 12), (7, 9), (12, 22),
         (0.5, 1), (55, 230)),
    Body(40, "floating", "body", "floating", (178, 179), (50, 51), (84, 134), (8, 12), (7, 9), (6, 14),
         (1, 2), (180, 640)),
    Body(20, "double short", "body", "flush", (178, 178), (100, 101), (72, 112), (0, 16), (0, 18), (8, 18),
         (1, 1.5), (150, 520)),
    Body(5, "double", "body", "flush", (178, 178), (100, 101), (152, 170), (8, 16), (12, 18), (8, 18),
         (1.5, 2.5), (190, 560)),
    Body(5, "twin shaft", "twin_shaft", "none", (100, 105), (40, 43), (110, 160), (64, 80), (8, 14), (10, 24),
         (1, 1.5), (190, 420)),
)
# fmt: on

FLOATING_SCREENS = (
    # share, inches, housing across, housing down
    (18, 7, 178, 106),
    (27, 8, 204, 121),
    (30, 9, 228, 134),
    (18, 10.1, 256, 150),
    (7, 12.3, 304, 130),
)
FLUSH_SCREEN_IN = (6.2, 6.5, 6.8, 7)  # inches
SCREEN_DEPTH: Span = (14, 44)  # a floating screen's housing
RISE_MIN: Span = (-24, 6)  # lowest screen center over body center
RISE_MAX: Span = (18, 58)  # greatest
SHAFTS_MIN: Span = (118, 132)  # nearest setting of the two shafts
SHAFTS_REACH: Span = (4, 24)  # farthest over nearest
FEATURES = (
    # word, chance with a screen, chance without
    ("bluetooth", 0.96, 0.8),
    ("usb", 0.95, 0.85),
    ("phone_mirroring", 0.85, 0.0),
    ("wireless_mirroring", 0.4, 0.0),
    ("camera_input", 0.85, 0.0),
    ("dab", 0.45, 0.35),
    ("steering_keys", 0.6, 0.25),
)
PREOUTS = ((20, 2), (35, 4), (45, 6))  # share, line outputs
PREOUT_V = ((40, 2), (20, 2.5), (30, 4), (10, 5))  # share, volts
BUILT_IN_W: Span = (14, 22)  # one channel of the built-in amplifier, continuous
HEAD_UNIT_A = (10, 10, 10, 15)  # fuse sizes
HEAD_UNIT_REST_MA: Span = (1, 9)
MAY_BE_UNKNOWN: dict[str, tuple[str, ...]] = {
    # what a sheet leaves out: one of these, or one group of these
    "head_unit": ("body_d_mm", "face_d_mm", "preout_v", "screen_rise_max_mm", "standby_ma", "mass_kg"),
    "speaker": ("depth_mm", "cutout_w_mm cutout_h_mm", "magnet_mm", "front_mm", "xmax_mm", "sens_basis"),
    "amplifier": ("input_max_v", "full_min_ohm", "h_mm", "current_a", "power_basis"),
    "subwoofer": ("depth_mm", "qts", "vas_l", "xmax_mm", "displaces_l", "sd_cm2"),
    "enclosure": ("net_l", "d_top_mm", "driver_depth_mm", "cutout_mm"),
    "adapter": ("forward_mm", "gives_w_mm gives_h_mm", "fits_w_mm fits_h_mm", "thick_mm"),
    "cable": ("rated_a", "conductor", "fuse_a"),
    "film": ("vlt_pct",),
    "security": ("standby_ma", "effort", "own_battery"),
    "accessory": ("standby_ma",),
    "install": (),
}
