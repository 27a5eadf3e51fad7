"""Distributions of the demo's lists, continued: amplifiers, bass, adapters and the small things."""

from __future__ import annotations

from typing import NamedTuple

from data_demo.distributions import Bolts, Span


class AmplifierKind(NamedTuple):
    """A layout of channels."""

    share: int
    full: int
    bass: int
    full_w: tuple[int, ...]  # one channel into 4 ohm, cheapest first
    bass_w: tuple[int, ...]
    price: Span


AMPLIFIER_KINDS = (
    # share, full-range channels, bass channels, W a channel, W of the bass channel, price
    AmplifierKind(14, 2, 0, (35, 50, 75, 100), (), (70, 290)),
    AmplifierKind(42, 4, 0, (20, 30, 40, 50, 65, 80), (), (90, 420)),
    AmplifierKind(22, 4, 1, (30, 40, 50, 60), (120, 160, 200, 250), (190, 560)),
    AmplifierKind(6, 6, 0, (30, 40, 50), (), (220, 520)),
    AmplifierKind(16, 0, 1, (), (150, 200, 250, 350, 500), (95, 460)),
)
POWER_BASIS = ((70, "rms"), (18, "cta2006"), (12, "peak"))  # share, what the powers are
PEAK_OVER_RMS = (2, 3, 4)  # what a list that counts peaks multiplies by
CLASSES = ((72, "d"), (28, "ab"))  # share, class
CASES: dict[str, tuple[Span, Span, Span]] = {
    "d": ((150, 260), (40, 56), (100, 190)),  # width, height, depth
    "ab": ((220, 340), (48, 62), (190, 290)),
}
FUSES_A = (10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 120, 150)
WATTS_PER_AMP: dict[str, float] = {"d": 11, "ab": 8}  # continuous watts from an ampere of supply
INPUT_MIN_V = (0.15, 0.2, 0.2, 0.25, 0.3, 0.5)
INPUT_MAX_V = (3, 4, 5, 6, 8, 10)
AMPLIFIER_REST_MA = (0, 0, 0.5, 1, 2, 4)


class BassSize(NamedTuple):
    """A size of bass driver, and of the boxes made for it."""

    share: int
    size_in: float
    cutout: Span
    rim: Span
    depth: Span
    displaces_l: Span
    rms_w: tuple[int, ...]
    fs_hz: Span
    vas_l: Span
    sd_cm2: Span
    xmax: Span
    price: Span
    box_l: Span


# fmt: off
BASS_SIZES = (
    # share, inches, cut-out, rim, depth, displaces l, rating W, fs Hz, Vas l,
    #   piston cm2, travel, price, box l
    BassSize(10, 6.5, (143, 147), (18, 22), (60, 86), (0.5, 1), (80, 100, 150), (42, 56), (5, 11), (130, 140),
             (5, 9), (60, 170), (6, 10)),
    BassSize(30, 8, (182, 188), (22, 28), (64, 118), (1, 1.5), (120, 150, 200, 250), (34, 46), (12, 26),
             (205, 220), (6, 11), (70, 240), (9, 18)),
    BassSize(36, 10, (230, 236), (26, 32), (70, 140), (1, 2.5), (150, 200, 250, 300, 400), (28, 38), (22, 58),
             (325, 350), (7, 13), (85, 320), (15, 32)),
    BassSize(24, 12, (278, 284), (28, 34), (84, 158), (1.5, 3.5), (200, 250, 300, 400, 500), (23, 32),
             (48, 110), (470, 520), (8, 15), (95, 390), (24, 48)),
)
# fmt: on
BASS_QTS: Span = (6.5, 12)  # twentieths
BASS_QES_OVER_QTS = (1.06, 1.08, 1.1, 1.14)
COILS = ((45, (1, 4)), (15, (1, 2)), (22, (2, 4)), (18, (2, 2)))  # share, coils and ohm of each
VENTED_POLE_SHARE = 0.3
TWO_DRIVERS_SHARE = 0.2
TWO_CHAMBERS_SHARE = 0.5  # of the boxes for two
VENTED_BOX_SHARE = 0.25
TUNED_HZ: Span = (30, 44)
BOX_H: Span = (220, 400)
BOX_D: Span = (170, 360)
SHALLOW_BOX_SHARE = 0.22  # boxes for behind a seat
SHALLOW_BOX_D: Span = (116, 160)
SLOPE: Span = (0, 90)  # depth at the floor over depth at the top
LEAST_BOX_D_TOP = 100
RIM_OF_BOX_MM = 46  # board left round a driver hole, both sides together
BOARD_MM = 18  # thickness of the boxes' walls
BOX_PRICE: Span = (60, 180)


class AdapterKind(NamedTuple):
    """A stock adapter: from which opening, to which."""

    share: int
    made_for: str
    name: str
    fits: tuple[str, float, float | None]  # shape, across, down
    fits_bolts: Bolts | None
    gives: tuple[str, float, float | None]
    gives_bolts: Bolts | None
    forward: Span


ADAPTER_KINDS = (
    # share, for, name, fits, its bolts, gives, its bolts, forward
    AdapterKind(
        10,
        "speaker",
        "spacer 87",
        ("round", 79, None),
        ("circle", 93, 2),
        ("round", 79, None),
        ("circle", 93, 2),
        (4, 14),
    ),
    AdapterKind(
        8,
        "speaker",
        "spacer 100",
        ("round", 93, None),
        ("circle", 116, 4),
        ("round", 93, None),
        ("circle", 116, 4),
        (5, 16),
    ),
    AdapterKind(
        8,
        "speaker",
        "ring 130",
        ("round", 117, None),
        ("circle", 131, 4),
        ("round", 117, None),
        ("circle", 131, 4),
        (5, 20),
    ),
    AdapterKind(
        16,
        "speaker",
        "ring 165",
        ("round", 144, None),
        ("circle", 156, 4),
        ("round", 145, None),
        ("circle", 156, 4),
        (6, 28),
    ),
    AdapterKind(
        8,
        "speaker",
        "plate 165 to 130",
        ("round", 144, None),
        ("circle", 156, 4),
        ("round", 117, None),
        ("circle", 131, 4),
        (3, 12),
    ),
    AdapterKind(
        8,
        "speaker",
        "plate 6x9 to 165",
        ("oval", 152, 222),
        ("rect", 119, 193),
        ("round", 145, None),
        ("circle", 156, 4),
        (3, 18),
    ),
    AdapterKind(
        8,
        "speaker",
        "plate 4x6 to 87",
        ("oval", 94, 141),
        ("rect", 80, 117),
        ("round", 80, None),
        ("circle", 93, 2),
        (2, 8),
    ),
    AdapterKind(
        8,
        "speaker",
        "plate 4x10 to 100",
        ("oval", 95, 245),
        ("rect", 86, 206),
        ("round", 93, None),
        ("circle", 116, 4),
        (2, 8),
    ),
    AdapterKind(14, "dash", "double to single", ("rect", 182, 111), None, ("rect", 182, 53), None, (0, 10)),
    AdapterKind(12, "dash", "double frame", ("rect", 182, 111), None, ("rect", 181, 103), None, (0, 8)),
)
ADAPTER_SCATTER: Span = (-1, 1)
ADAPTER_PRICE: Span = (6, 48)

CABLE_AREAS = (
    # mm2, amperes the maker allows for copper, price of a meter
    (4, 30, 2),
    (6, 40, 3),
    (10, 60, 4),
    (16, 80, 6),
    (20, 100, 7),
    (25, 120, 9),
    (35, 150, 12),
)
CABLE_LENGTHS_M = (2, 3, 5, 6, 8)
CCA_SHARE = 0.35  # copper-clad aluminum
CCA_OF_COPPER = 0.6  # of the copper's current, and of its price
FILM_VLT_PCT = (5, 15, 20, 30, 35, 50, 70)
FILM_PRICE: Span = (40, 160)

CUT_OUT = "hidden cut-out"
SECURITY_LAYERS = (
    # name, covers, effort, battery of its own, drain at rest mA, price
    ("wheel bar", ("forced_ignition", "hot_wire"), "chore", False, (0, 0), (30, 90)),
    (CUT_OUT, ("hot_wire", "forced_ignition"), "habit", False, (0, 0), (20, 60)),
    ("siren with tilt sensor", ("tow", "glass"), "none", True, (6, 18), (90, 240)),
    ("glass sensor", ("glass",), "none", False, (2, 6), (30, 80)),
    ("tracker", ("tow", "forced_ignition", "hot_wire"), "none", True, (3, 12), (60, 190)),
    ("face case", ("equipment",), "habit", False, (0, 0), (8, 24)),
    ("equipment loop alarm", ("equipment", "glass"), "none", False, (1, 4), (25, 70)),
)
ACCESSORY_KINDS = (
    # kind, needs, gives, drain at rest mA, price
    ("camera", ("camera_input",), ("rear_view",), (0, 0), (28, 150)),
    ("level_control", ("level_control_port",), ("bass_level",), (0, 0), (12, 45)),
    ("board", (), ("amp_board",), (0, 0), (18, 70)),
    ("floor", (), ("false_floor",), (0, 0), (40, 120)),
    ("harness", (), ("plug_adapter",), (0, 0), (9, 48)),
    ("antenna", (), ("antenna_feed",), (0, 2), (12, 60)),
    ("line_driver", ("line_output",), ("line_8v",), (0, 1), (30, 90)),
    ("line_output_converter", ("speaker_output",), ("line_output",), (0, 2), (20, 80)),
)
BOARD_SIZES = (
    # usable face, thickness
    (260, 210, 9),
    (300, 230, 9),
    (340, 240, 12),
    (400, 280, 12),
    (420, 300, 15),
    (600, 360, 18),
)
CONTROL_SIZES: tuple[Span, Span, Span] = ((38, 70), (20, 36), (28, 50))  # width, height, depth


class InstallItem(NamedTuple):
    """An installation part as a list offers it."""

    kind: str
    unit: str
    size: float | None  # A or mm2
    pack_of: int
    price: str


INSTALL_ITEMS = (
    *(InstallItem("fuse", "piece", rated_a, 1, "2.90") for rated_a in (20, 25, 30, 40, 50, 60, 70, 80)),
    InstallItem("fuse_holder", "piece", 60, 1, "9.90"),
    InstallItem("fuse_holder", "piece", 80, 1, "13.90"),
    InstallItem("ground_lead", "m", 10, 1, "3.20"),
    InstallItem("ground_lead", "m", 16, 1, "4.10"),
    InstallItem("ground_lead", "m", 25, 1, "6.20"),
    InstallItem("ground_lead", "m", 35, 1, "8.90"),
    InstallItem("remote_wire", "m", None, 10, "4.50"),
    InstallItem("signal_lead", "m", None, 5, "12.90"),
    InstallItem("signal_lead", "m", None, 5, "21.90"),
    InstallItem("speaker_wire", "m", 1.5, 10, "9.90"),
    InstallItem("speaker_wire", "m", 2.5, 10, "14.90"),
    InstallItem("speaker_wire", "m", 4, 10, "22.90"),
    InstallItem("terminal", "piece", 2.5, 20, "4.90"),
    InstallItem("terminal", "piece", 6, 10, "5.90"),
    InstallItem("terminal", "piece", 16, 4, "6.40"),
    InstallItem("terminal", "piece", 25, 4, "7.90"),
    InstallItem("terminal", "piece", 35, 4, "9.90"),
    InstallItem("grommet", "piece", None, 4, "3.90"),
    InstallItem("harness", "piece", None, 1, "14.90"),
    InstallItem("antenna_adapter", "piece", None, 1, "8.90"),
    InstallItem("distribution", "piece", 60, 1, "16.90"),
    InstallItem("distribution", "piece", 120, 1, "24.90"),
    InstallItem("damping", "m2", None, 2, "34.90"),
    InstallItem("damping", "m2", None, 4, "79.90"),
    InstallItem("sealing", "m", None, 5, "6.90"),
    InstallItem("strap", "piece", None, 2, "11.90"),
    InstallItem("filter", "piece", None, 1, "19.90"),
)  # neither a fuse over 80 A nor an interface for keys on the wheel: an order has open prices
