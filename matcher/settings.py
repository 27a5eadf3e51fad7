"""The shop's defaults: each has its name, value, unit, meaning and source here and nowhere else.

A shop's own values lie in its store and come before these.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple

from catalog_schema.notation import DecimalMark, Notation
from catalog_schema.sources import COMMON_PRACTICE, Source, from_memory, published

D = Decimal


class Setting(NamedTuple):
    """One default of the shop's; one that goes by a word has its name and the word joined by a dot."""

    name: str
    value: Decimal
    unit: str
    meaning: str
    source: Source = COMMON_PRACTICE


SHOP_CHOICE = Source("published", "the shop's own choice")
RATED = published("CEA-2006, now ANSI/CTA-2006: power at 14.4 V; a secondary account of it was read")
PI_4 = published("class B output stage, any electronics textbook: pi/4")
START_SPARES = published(
    "a battery maker's bulletin: no start after about 40 % of the charge; a secondary copy was read"
)
REST_DRAIN = published("makers' service texts, which disagree; the largest usual figure")
QL_MEASURED = published("Small, Vented-Box Loudspeaker Systems III, JAES 21, 1973, section 11; copies were read")
VENT = from_memory("5 % of the speed of sound, ascribed to Small 1973 II")
FLARES = published("Bezzola, AES e-library 20683: 10 to 16 dB louder than a straight port; the abstract was read")
MEMORY = from_memory("typical bass drivers; common practice, no published source")
FUSE_HOLDS = published("ISO 8820-3 test points: 110 % for 100 h")

_TRAVELS = {
    "87": "2",
    "100": "2.5",
    "130": "2.5",
    "165": "3.5",
    "4x6": "2.5",
    "5x7": "3.5",
    "6x9": "4.5",
    "4x10": "2.5",
}
_TOPS = {"coaxial": 20_000, "component": 20_000, "full_range": 15_000, "midbass": 4000, "tweeter": 20_000}

OF_NO_LIST = " that is in no list, an estimate; 0: the dearest of its kind in the lists"
KIT_PRICES = (
    ("cable", "mm2 and m", "price of supply cable"),
    ("fuse", "piece", "price of a main fuse"),
    ("fuse_holder", "piece", "price of a holder for a main fuse"),
    ("ground_lead", "m", "price of a ground lead"),
    ("remote_wire", "m", "price of remote wire"),
    ("signal_lead", "m", "price of a signal lead for a pair of channels"),
    ("speaker_wire", "m", "price of loudspeaker wire with two cores"),
    ("terminal", "piece", "price of a terminal"),
    ("grommet", "piece", "price of a grommet"),
    ("harness", "piece", "price of a harness adapter"),
    ("antenna_adapter", "piece", "price of an antenna adapter"),
    ("wheel_interface", "piece", "price of an interface for keys on the wheel"),
    ("distribution", "piece", "price of a distribution block"),
    ("damping", "m2", "price of damping"),
    ("sealing", "m", "price of sealing tape"),
    ("strap", "piece", "price of a strap"),
    ("filter", "piece", "price of an in-line filter for a pair of channels"),
    ("board", "piece", "price of a board for amplifiers that the shop makes and has not priced"),
)
"""Kind of a kit's item, its unit, and the price that is estimated."""

_ALL = (
    Setting("tolerance_mm.measured", D(1), "mm", "tolerance of a figure taken with a tape"),
    Setting("tolerance_mm.caliper", D("0.2"), "mm", "tolerance of a figure taken with a caliper"),
    Setting("tolerance_mm.maker", D("0.5"), "mm", "tolerance of a figure from a maker's sheet"),
    Setting("tolerance_mm.estimate", D(5), "mm", "tolerance of a guess"),
    Setting("tolerance_mm.taken_over", D(3), "mm", "tolerance of a figure of another car of the model, until checked"),
    Setting("estimate_share", D("0.4"), "", "tolerance of an estimate over the figure; of a guessed length at most"),
    *(
        Setting(f"usual_xmax_mm.{size}", D(mm), "mm", f"peak travel of a loudspeaker of size {size} that states none")
        for size, mm in _TRAVELS.items()
    ),
    Setting("usual_sd_share", D("0.55"), "", "cone area over the area of a loudspeaker's nominal size"),
    Setting("usual_low_hz", D(150), "Hz", "lower end of a cone loudspeaker that states none"),
    Setting("usual_low_hz.tweeter", D(3000), "Hz", "lower end of a tweeter that states none"),
    *(
        Setting(f"usual_high_hz.{kind}", D(hz), "Hz", f"upper end of a loudspeaker of kind {kind} that states none")
        for kind, hz in _TOPS.items()
    ),
    Setting("low_end_most_hz", D(300), "Hz", "highest lower end of a loudspeaker for the whole sound, or of a woofer"),
    Setting("low_end_most_hz.tweeter", D(6000), "Hz", "highest lower end of a tweeter beside a woofer"),
    Setting("treble_least_hz", D(10_000), "Hz", "lowest upper end of a loudspeaker that plays the treble"),
    Setting("treble_least_hz.woofer", D(2000), "Hz", "lowest upper end of a woofer beside a tweeter"),
    Setting("clearance_behind_mm.fixed", D(3), "mm", "free room behind a loudspeaker, to fixed metal"),
    Setting("clearance_behind_mm.moving_glass", D(10), "mm", "free room behind a loudspeaker, to moving glass"),
    Setting("clearance_front_mm", D(2), "mm", "free room to the grille beyond the cone's peak travel"),
    Setting("clearance_beside_mm", D(3), "mm", "free room beside a magnet, to fixed metal"),
    Setting("flange_overlap_mm", D(3), "mm", "least overlap of a flange or plate on its panel, all round"),
    Setting("adapter_slack_mm", D(3), "mm", "how far an opening may be under the size that an adapter is made for"),
    Setting("bolt_slack_mm", D(3), "mm", "how far bolt holes may disagree: slotted tabs, clip nuts"),
    Setting("reach_mm.fingers", D(10), "mm", "free room around what fingers must reach"),
    Setting("reach_mm.lever", D(25), "mm", "free room around a lever through its whole travel"),
    Setting("reach_mm.none", D(0), "mm", "free room around what must only be seen"),
    Setting("support_mass_kg", D("1.5"), "kg", "heaviest head unit without a rear support"),
    Setting("support_screen_in", D(8), "in", "largest floating screen without a rear support"),
    Setting("air_side_mm", D(25), "mm", "free room at each side of an amplifier"),
    Setting("air_over_mm", D(50), "mm", "free room over an amplifier"),
    Setting("system_v", D(12), "V", "supply voltage that powered parts are made for"),
    Setting("power_least", D("0.75"), "", "least power over a loudspeaker's rating"),
    Setting("power_most", D("1.5"), "", "most power over a loudspeaker's rating"),
    Setting("gain_over_pct", D(5), "%", "how far a gain may be read over its target: the meter, and rounding"),
    Setting("line_outputs", D(2), "", "line outputs that feed an amplifier: a left and a right"),
    Setting("shared_coils", D(2), "", "voice coils wanted at a place that serves both channels"),
    Setting("at_rest_ma", D(50), "mA", "most current drawn at rest, where a job names none"),
    Setting("rest_days", D(14), "days", "how long a car may stand and still start, if its battery and drain are known"),
    Setting("cable_drop_v", D("0.5"), "V", "most voltage lost in a supply cable, out and back"),
    Setting("fuse_distance_mm", D(450), "mm", "farthest that the main fuse may be from the battery"),
    Setting("cable_insulation_c", D(105), "C", "temperature that a supply cable's insulation is rated for"),
    Setting("rail_v", D("14.4"), "V", "supply voltage at which power is rated and current reckoned", RATED),
    Setting("amplifier_efficiency.d", D("0.8"), "", "typical efficiency of class D near full power, for the draw"),
    Setting("amplifier_efficiency.ab", D("0.55"), "", "typical efficiency of class AB near full power, for the draw"),
    Setting("amplifier_ceiling.d", D("0.95"), "", "best efficiency of class D, for the bound on a claimed power"),
    Setting(
        "amplifier_ceiling.ab", D("0.785"), "", "best efficiency of class AB, for the bound on a claimed power", PI_4
    ),
    Setting("fuse_holds", D("1.1"), "", "current over rating that a fuse carries for 100 h", FUSE_HOLDS),
    Setting("claim_at_odds", D(4), "", "claimed power over what the stated current allows: beyond it neither counts"),
    Setting("music_part.bass", D(3), "", "current at full sine over that on music with heavy bass"),
    Setting("music_part.rest", D(8), "", "current at full sine over that on music without heavy bass"),
    Setting("battery_share_pct", D(40), "%", "share of the battery's charge that a start can spare", START_SPARES),
    Setting("car_rest_ma", D(50), "mA", "what a car itself draws at rest: service texts name 10 to 50 mA", REST_DRAIN),
    Setting("current_tol_pct", D(5), "%", "tolerance of a current of a vehicle that states none"),
    Setting("told_wait_days", D(14), "days", "wait for a part that is not in stock from which a package tells it"),
    Setting("kit_run_m", D(6), "m", "run of a cable to an amplifier that nobody has measured, an estimate"),
    Setting("kit_spare_pct", D(10), "%", "length added to every run of wire"),
    Setting("kit_ground_m", D("0.6"), "m", "ground lead of an amplifier, to bare metal beside it"),
    Setting("kit_wire_m.place", D(4), "m", "loudspeaker wire from an amplifier to each loudspeaker"),
    Setting("kit_wire_m.bass", D("1.5"), "m", "loudspeaker wire from an amplifier to a bass box"),
    Setting("kit_wire_ohm.place", D(2), "ohm", "least load that wire to a loudspeaker is sized for"),
    Setting("kit_wire_ohm.bass", D(1), "ohm", "least load that wire to a bass box is sized for"),
    Setting("kit_wire_loss_pct", D(5), "%", "most power lost in loudspeaker wire"),
    Setting("kit_block_a", D(100), "A", "current that a distribution block for two amplifiers has to take"),
    Setting("kit_straps", D(2), "", "straps that hold a bass box"),
    Setting("kit_sealing_m", D(1), "m", "sealing tape for each loudspeaker"),
    Setting("kit_damping_m2", D("0.5"), "m2", "damping for each door with a new loudspeaker"),
    *(
        Setting(f"kit_price.{kind}", D(0), f"per {unit}", f"{told}{OF_NO_LIST}", SHOP_CHOICE)
        for kind, unit, told in KIT_PRICES
    ),
    Setting("qtc_most", D(1), "", "highest Q of a closed box that is accepted"),
    Setting("qtc_preferred_least", D("0.6"), "", "lower end of the preferred band of a closed box's Q"),
    Setting("qtc_preferred_most", D("0.9"), "", "upper end of the preferred band of a closed box's Q"),
    Setting("qtc_off_db", D(1), "dB", "taken off the level that earns points if the Q is outside that band"),
    Setting("box_ql", D(7), "", "Q of the losses of a vented box, where one figure is needed", QL_MEASURED),
    Setting("box_ql_least", D(5), "", "lowest Q of the losses of a vented box as measured", QL_MEASURED),
    Setting("box_ql_most", D(10), "", "highest Q of the losses of a vented box as measured", QL_MEASURED),
    Setting("vented_peak_db", D(3), "dB", "highest peak of a vented box's response that is accepted"),
    Setting("port_speed_m_s", D(17), "m/s", "peak speed of the air at which a straight port begins to be heard", VENT),
    Setting("port_flared_times", D(3), "", "times that speed in a port with flared ends: 3 to 6 are reported", FLARES),
    Setting("subsonic_share", D("0.8"), "", "corner of the high-pass that a vented box needs, over its tuning"),
    Setting("estimate_fs_hz.8", D(38), "Hz", "resonance of a bass driver of 8 in or less that states none", MEMORY),
    Setting("estimate_fs_hz.10", D(32), "Hz", "the same of one of 10 in", MEMORY),
    Setting("estimate_fs_hz.12", D(28), "Hz", "the same of one of 12 in", MEMORY),
    Setting("estimate_fs_hz.15", D(25), "Hz", "the same of one of 15 in or more", MEMORY),
    Setting("estimate_vas_l.8", D(12), "l", "Vas of a bass driver of 8 in or less that states none", MEMORY),
    Setting("estimate_vas_l.10", D(25), "l", "the same of one of 10 in", MEMORY),
    Setting("estimate_vas_l.12", D(50), "l", "the same of one of 12 in", MEMORY),
    Setting("estimate_vas_l.15", D(120), "l", "the same of one of 15 in or more", MEMORY),
    Setting("estimate_xmax_mm.8", D(6), "mm", "peak travel of a bass driver of 8 in or less that states none", MEMORY),
    Setting("estimate_xmax_mm.10", D(8), "mm", "the same of one of 10 in", MEMORY),
    Setting("estimate_xmax_mm.12", D(9), "mm", "the same of one of 12 in", MEMORY),
    Setting("estimate_xmax_mm.15", D(10), "mm", "the same of one of 15 in or more", MEMORY),
    Setting("estimate_qts", D("0.5"), "", "Qts of a bass driver that states none", MEMORY),
    Setting("estimate_qes_over_qts", D("1.1"), "", "Qes over Qts of a bass driver that states one of them", MEMORY),
    Setting("estimate_cone_share", D("0.82"), "", "diameter of the cone's piston over the size it is sold by", MEMORY),
    Setting("estimate_port_cm2_l", D(2), "cm2/l", "area of a port of unknown size, by the volume of its box", MEMORY),
    Setting("board_mm", D(18), "mm", "thickness of the boards of a box"),
    Setting("qtc_made", D("0.707"), "", "Q that a closed box made to measure aims at"),
    Setting("board_kg_m3", D(750), "kg/m3", "density of the boards of a box"),
    Setting("box_air_mm", D(5), "mm", "air left on each side of a box made to measure, and all round in the gate"),
    Setting("clearance_pole_mm", D(25), "mm", "free air behind a vented pole piece"),
    Setting("labour_rate", D(0), "per hour", "price of an hour of fitting, without tax", SHOP_CHOICE),
    Setting("tax_pct", D(0), "%", "tax on parts and labor; every amount that a customer pays holds it", SHOP_CHOICE),
    Setting("offer_days", D(30), "days", "how long a proposal holds; 0: it names no day", SHOP_CHOICE),
    Setting(
        "work_hours_a_day", D(8), "h", "hours of fitting in a working day, for the day a car is ready", SHOP_CHOICE
    ),
    Setting("made_box_labour_h", D(0), "h", "hours of work on a box made to measure", SHOP_CHOICE),
    Setting("made_board_labour_h", D(0), "h", "hours of work on a board for amplifiers, made by the shop", SHOP_CHOICE),
    Setting("board_price_m2", D(0), "per m2", "price of the boards of a box made to measure, without tax", SHOP_CHOICE),
    Setting(
        "made_board_price", D(0), "each", "price of a board for amplifiers, made by the shop, without tax", SHOP_CHOICE
    ),
    Setting(
        "made_box_extras_price", D(0), "each", "carpet and terminals of a box made to measure, without tax", SHOP_CHOICE
    ),
    Setting("points_level", D(10), "per dB", "points for each decibel of level at an opening", SHOP_CHOICE),
    Setting("level_floor_db", D(80), "dB", "level that earns no points, nor does an unknown one", SHOP_CHOICE),
    Setting("points_low", D(120), "per octave", "points for each octave of reach below its floor", SHOP_CHOICE),
    Setting("points_treble", D(100), "per octave", "points for each octave of reach in the treble", SHOP_CHOICE),
    Setting("treble_floor_hz", D(7500), "Hz", "upper end that earns no points, nor does an unknown one", SHOP_CHOICE),
    Setting("treble_top_hz", D(15_000), "Hz", "upper end beyond which nothing more is earned"),
    Setting("high_pass_hz", D(80), "Hz", "lowest high-pass of loudspeakers above a bass system"),
    Setting("low_pass_least_hz", D(60), "Hz", "lowest low-pass of bass"),
    Setting("low_pass_most_hz", D(120), "Hz", "highest low-pass of bass: above it the ear tells where it stands"),
    Setting("place_weight.front", D(1), "", "weight of the sound of places in front of the listeners", SHOP_CHOICE),
    Setting("place_weight.rear", D("0.33"), "", "weight of the sound of places behind the listeners"),
    Setting("low_floor_hz", D(200), "Hz", "lower end that earns no points, nor does an unknown one", SHOP_CHOICE),
    Setting("points_bass_level", D(10), "per dB", "points for each decibel of bass", SHOP_CHOICE),
    Setting(
        "bass_spread_share",
        D("0.2"),
        "",
        "decibels taken off the mean for each between the loudest and the quietest; up to 0.2 power never costs points",
        SHOP_CHOICE,
    ),
    Setting("bass_floor_db", D(80), "dB", "level of bass that earns no points, nor does an unknown one", SHOP_CHOICE),
    Setting("points_shared", D(40), "", "points lost where front and rear share channels: no fader", SHOP_CHOICE),
    Setting("points_screen", D(15), "per inch", "points for each inch of screen", SHOP_CHOICE),
    Setting("points_look", D(30), "per step", "points lost for each step of alteration at a slot", SHOP_CHOICE),
    Setting("points_effort.habit", D(10), "", "points lost for a layer of security that is a habit", SHOP_CHOICE),
    Setting("points_effort.chore", D(30), "", "points lost for a layer of security that is a chore", SHOP_CHOICE),
    Setting("points_film", D(5), "per %", "points lost for each percent that a film is off the wish", SHOP_CHOICE),
    Setting("points_price", D("0.1"), "per unit", "points lost for each unit of money", SHOP_CHOICE),
    Setting("points_unknown.stops", D(400), "", "points lost for a figure without which a part may go back"),
    Setting("points_unknown.delays", D(150), "", "points lost for a figure without which a job may wait for a part"),
    Setting("points_port", D(150), "", "points lost for a vented box whose list states no port: its air may be heard"),
    Setting("points_unknown.mended", D(30), "", "points lost for a figure whose fault is mended in the bay"),
)

DEFAULTS: Mapping[str, Setting] = MappingProxyType({setting.name: setting for setting in _ALL})
"""Every setting by its name."""


class WordSetting(NamedTuple):
    """A default that is a word: one of some, or any text where none are named."""

    name: str
    value: str
    choices: tuple[str, ...]
    meaning: str
    source: Source = SHOP_CHOICE


WORD_DEFAULTS: Mapping[str, WordSetting] = MappingProxyType(
    {
        setting.name: setting
        for setting in (
            WordSetting("shop_name", "", (), "name of the shop, at the head of its papers"),
            WordSetting("shop_contact", "", (), "where the shop is found and asked, under its name"),
            WordSetting("page_address", "", (), "address of the counter's page; codes on measuring sheets lead there"),
            WordSetting("currency", "", (), "currency of all prices, as it stands behind an amount"),
            WordSetting(
                "numbers",
                "either",
                ("either", "point", "comma"),
                "decimal mark of typed numbers, as in 1,234.5 or 1.234,5; either: what has two readings is refused",
            ),
            WordSetting("language", "en", ("en", "de"), "language of papers"),
            WordSetting("units", "mm", ("mm", "in"), "lengths on screens, papers and drawings: mm, or inches to 1/16"),
            WordSetting("paper", "a4", ("a4", "us-letter"), "size of a sheet of paper"),
        )
    }
)
"""Every setting that is a word, by its name."""


FIRST_SETTINGS = (
    "shop_name",
    "currency",
    "tax_pct",
    "units",
    "labour_rate",
    "board_price_m2",
    "made_box_extras_price",
    "made_box_labour_h",
    "made_board_price",
    "made_board_labour_h",
)
"""The settings that a new shop gives first, in this order; a price that nobody has given is not known, and not 0."""


class Tolerances(NamedTuple):
    """Tolerances of lengths by basis, in mm; a guess is off by a share of what is guessed where that is less."""

    by_basis: Mapping[str, Decimal]
    share: Decimal

    def of(self, basis: str, length_mm: Decimal | None) -> Decimal:
        """Tolerance of a length, mm."""
        tol = self.by_basis[basis]
        return min(tol, abs(length_mm) * self.share) if basis == "estimate" and length_mm is not None else tol

    def sql(self, basis: str, length_mm: str) -> str:
        """SQL of the same, of SQL of a basis and a length."""
        bounded = {"estimate": f"least({self.by_basis['estimate']}, abs({length_mm}) * {self.share})"}
        cases = " ".join(f"when '{name}' then {bounded.get(name, tol)}" for name, tol in self.by_basis.items())
        return f"case {basis} {cases} end::decimal(15,6)"


def _is_choice(name: str, word: str) -> bool:
    """Whether a stored word is still a choice of its setting: an older program wrote ``mm_in`` for units."""
    return name in WORD_DEFAULTS and word in (WORD_DEFAULTS[name].choices or [word])


class Settings:
    """The shop's values over the defaults."""

    def __init__(self, own: Mapping[str, Decimal], own_words: Mapping[str, str] = MappingProxyType({})) -> None:
        self.own = own
        self.own_words = {name: word for name, word in own_words.items() if _is_choice(name, word)}

    def __getitem__(self, name: str) -> Decimal:
        return self.own.get(name, DEFAULTS[name].value)

    def given(self, name: str) -> str | None:
        """A value that the shop has given itself, as text; None if it has given none."""
        held = self.own.get(name, self.own_words.get(name))
        return f"{held.normalize():f}" if isinstance(held, Decimal) else held

    def charged(self, name: str) -> Decimal:
        """A price of the shop's own work as the customer pays it, with tax."""
        return self[name] * (1 + self["tax_pct"] / 100)

    def word(self, name: str) -> str:
        """A setting that is a word."""
        return self.own_words.get(name, WORD_DEFAULTS[name].value)

    def tolerances(self) -> Tolerances:
        """Tolerance of lengths, by their basis."""
        return Tolerances(dict(self.by_word("tolerance_mm")), self["estimate_share"])

    def notation(self) -> Notation:
        """Number and money format of the shop."""
        mark: DecimalMark = self.word("numbers")  # type: ignore[assignment]
        return Notation(mark, self.word("currency"))

    def by_word(self, name: str) -> Iterator[tuple[str, Decimal]]:
        """The values of a setting that goes by a word, as (word, value)."""
        for full in DEFAULTS:
            stem, _, word = full.partition(".")
            if stem == name and word:
                yield word, self[full]


DEFAULT_SETTINGS = Settings(MappingProxyType({}))
"""The defaults alone."""
