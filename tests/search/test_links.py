"""Links: coil nets, loads, the power each loudspeaker gets, and line level. Every figure worked by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest

from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.line_level import LINE_LEVEL
from matcher.rules.rule import rules_of
from matcher.search.feeds.links import (
    CoilWiring,
    channels_code,
    coil_nets,
    inputs_of,
    line_columns,
    link_codes,
    link_of,
    outputs_of,
    power_wants,
    usable_wants,
)
from matcher.search.feeds.parts import AmplifierSignature, HeadSignature, SpeakerSignature
from matcher.search.feeds.plans import Mode
from matcher.settings import DEFAULT_SETTINGS

NO, MEASURE, FITS = 0, 2, 4
D = Decimal


def ohms(text: str) -> list[tuple[str, int]]:
    """Nets in short: ``8 2x2`` is 8 ohm on one block, and 2 ohm on each of two."""
    pieces = [piece.split("x") for piece in text.split()]
    return [(piece[-1], int(piece[0]) if len(piece) == 2 else 1) for piece in pieces]


# impedance of a coil, coils, loudspeakers at the place, how the channels are used; loads, with the blocks of each
NETS: list[tuple[str, int, int, Mode, str]] = [
    ("4", 1, 2, "pair", "4"),
    ("4", 1, 2, "bridged", "4"),
    ("4", 2, 2, "pair", "8 2"),
    ("4", 2, 2, "shared", "8 2"),
    ("4", 4, 2, "pair", "16 1 4"),
    ("6", 3, 2, "pair", "18 2"),
    # One place for both channels: each channel has coils of its own, or a bridged pair drives them all.
    ("4", 1, 1, "pair", ""),
    ("4", 3, 1, "pair", ""),
    ("4", 2, 1, "pair", "2x4"),
    ("4", 2, 1, "shared", "2x4"),
    ("4", 4, 1, "pair", "2x8 2x2"),
    ("4", 1, 1, "bridged", "4"),
    ("4", 2, 1, "bridged", "8 2"),
]


@pytest.mark.parametrize(("ohm", "coils", "count", "mode", "loads"), NETS)
def test_coil_nets(ohm: str, coils: int, count: int, mode: Mode, loads: str) -> None:
    nets = coil_nets(SpeakerSignature(D(ohm), coils, D(50)), count, mode)
    assert [(f"{net.load_ohm:f}", net.blocks) for net in nets] == ohms(loads)


def amplifier(**figures: object) -> AmplifierSignature:
    whole = {"channels": 4, "w_4ohm": D(50), "w_2ohm": D(80), "min_ohm": D(2), "bridged_w_4ohm": D(160)}
    whole |= {"bridged_min_ohm": D(4), "input_min_v": D("0.2"), "input_max_v": D(4), "high_level_in": False}
    return AmplifierSignature(**whole | figures)  # type: ignore[arg-type]


def head(**figures: object) -> HeadSignature:
    whole = {"amp_channels": 4, "amp_w": D(20), "amp_min_ohm": D(4), "preouts": 4, "preout_v": D(2)}
    return HeadSignature(**whole | figures)  # type: ignore[arg-type]


PEAK = amplifier(w_4ohm=None, w_2ohm=None, bridged_w_4ohm=None)
"""An amplifier whose powers are peak figures: no power at all."""

# source, use of channels, own load, blocks, load beside it; the block's load, its least, each loudspeaker's power
LINKS: list[tuple[object, Mode, str | None, int, str | None, tuple[str | None, str | None, str | None]]] = [
    (amplifier(), "pair", "4", 1, None, ("4", "2", "50")),
    (amplifier(), "pair", "8", 1, None, ("8", "2", "25")),
    (amplifier(), "pair", "2", 1, None, ("2", "2", "80")),
    (amplifier(), "pair", "3", 1, None, ("3", "2", "66.666667")),  # 50 x 4 / 3 is less than 80
    (amplifier(w_2ohm=D(60)), "pair", "3", 1, None, ("3", "2", "60")),
    (amplifier(w_2ohm=None), "pair", "3", 1, None, ("3", "2", None)),
    (amplifier(w_2ohm=None), "pair", "4", 1, None, ("4", "2", "50")),
    (amplifier(w_4ohm=None), "pair", "2", 1, None, ("2", "2", "80")),
    (amplifier(min_ohm=None), "pair", "4", 1, None, ("4", None, "50")),
    (PEAK, "pair", "4", 1, None, ("4", "2", None)),
    (PEAK, "bridged", "4", 1, None, ("4", "4", None)),
    (amplifier(), "bridged", "4", 1, None, ("4", "4", "160")),
    (amplifier(), "bridged", "8", 1, None, ("8", "4", "80")),
    (amplifier(), "pair", "4", 2, None, ("4", "2", "100")),  # two blocks drive one loudspeaker
    # In parallel both see one voltage: the power splits as the conductances.
    (amplifier(), "shared", "4", 1, "4", ("2", "2", "40")),
    (amplifier(), "shared", "8", 1, "8", ("4", "2", "25")),
    (amplifier(), "shared", "3", 1, "6", ("2", "2", "53.333333")),
    (amplifier(), "shared", "6", 1, "3", ("2", "2", "26.666667")),
    (amplifier(), "shared", "3", 1, "4", ("1.714286", "2", None)),  # below 2 ohm no power is known
    (amplifier(), "shared", "4", 1, None, (None, "2", None)),
    (head(), "pair", "4", 1, None, ("4", "4", "20")),
    (head(), "shared", "8", 1, "8", ("4", "4", "10")),
    (head(amp_w=None), "pair", "4", 1, None, ("4", "4", None)),
]


@pytest.mark.parametrize(("source", "mode", "load", "blocks", "beside", "figures"), LINKS)
def test_load_and_power(
    source: HeadSignature | AmplifierSignature,
    mode: Mode,
    load: str | None,
    blocks: int,
    beside: str | None,
    figures: tuple[str | None, ...],
) -> None:
    coils = CoilWiring("a net", None if load is None else D(load), blocks)
    link = link_of(source, mode, coils, SpeakerSignature(D(4), 1, D(50)), None if beside is None else D(beside))
    assert (link.load_ohm, link.least_ohm, link.power_w) == tuple(None if one is None else D(one) for one in figures)


def test_four_ohm_is_four_ohm_though_thirds_lose_a_digit() -> None:
    """22.75 ohm beside three coils of 14.56 ohm in parallel."""
    coils, speaker = CoilWiring("", D("22.75"), 1), SpeakerSignature(D("22.75"), 1, D(10))
    link = link_of(amplifier(w_2ohm=None), "shared", coils, speaker, D("14.56") / 3)
    assert (link.load_ohm, link.power_w) == (D(4), D("8.791209"))  # 50 W x 4 / 22.75


# load, least load, power, rating, original; what the rules say. 0.75 to 1.5 of the rating, both ends included
CODES = [
    ("4", "4", "50", "50", False, FITS),
    ("3.999999", "4", "50", "50", False, NO),
    ("4", None, "50", "50", False, MEASURE),
    (None, "4", None, "50", False, MEASURE),
    ("4", "4", "37.5", "50", False, FITS),
    ("4", "4", "37.499999", "50", False, NO),
    ("4", "4", "75", "50", False, FITS),
    ("4", "4", "75.000001", "50", False, NO),
    ("4", "4", None, "50", False, MEASURE),
    ("3", "4", None, "50", False, NO),  # the load alone says no
    ("4", "4", "500", None, True, FITS),  # an original has no rating that anyone knows
    ("3", "4", None, None, True, NO),
    (None, "4", None, None, True, MEASURE),
]


def test_what_the_rules_say_of_links() -> None:
    from matcher.search.feeds.links import BlockLink

    links = [
        BlockLink(*(None if one is None else D(one) for one in figures), original)  # type: ignore[call-arg,arg-type]
        for *figures, original, _ in CODES
    ]
    codes = link_codes(links, DEFAULT_SETTINGS)
    assert [codes[link] for link in links] == [case[-1] for case in CODES]


# head unit, amplifier; what the rules say of the line between them. 0.2 to 4 V, both ends included
LINES = [
    (head(), amplifier(), FITS),
    (head(preout_v=D(4)), amplifier(), FITS),
    (head(preout_v=D("4.01")), amplifier(), NO),
    (head(preout_v=D("0.2")), amplifier(), FITS),
    (head(preout_v=D("0.19")), amplifier(), NO),
    (head(preout_v=None), amplifier(), MEASURE),
    (head(), amplifier(input_min_v=None), MEASURE),
    (head(), amplifier(input_max_v=None), MEASURE),
    (head(preouts=2), amplifier(), FITS),
    (head(preouts=1), amplifier(), NO),
    (head(preouts=0), amplifier(), NO),
    (head(preouts=0, preout_v=None), amplifier(high_level_in=True), FITS),
    (head(preouts=0), amplifier(high_level_in=None), MEASURE),
    (head(preouts=0, amp_channels=0), amplifier(high_level_in=True), NO),
    (head(preouts=0, amp_channels=None), amplifier(high_level_in=True), MEASURE),
    (head(preouts=None), amplifier(), MEASURE),
    (head(preouts=None), amplifier(high_level_in=True), FITS),  # either way it is fed
    (head(preouts=None, preout_v=None), amplifier(high_level_in=True), MEASURE),
    # Outputs that nobody has counted may be there though there are no loudspeaker outputs.
    (head(preouts=None, amp_channels=0), amplifier(high_level_in=True), MEASURE),
    (head(preouts=None, amp_channels=None), amplifier(high_level_in=None), MEASURE),
]


def test_what_the_rules_say_of_lines() -> None:
    lines = line_columns([outputs_of(one) for one, _, _ in LINES], [inputs_of(amp) for _, amp, _ in LINES])
    codes = worst(rules_of(LINE_LEVEL), Evaluation(lines, DEFAULT_SETTINGS))
    assert codes.diagonal().tolist() == [code for _, _, code in LINES]


@pytest.mark.parametrize(
    ("source", "needed", "code"),
    [
        (head(), 4, FITS),
        (head(), 6, NO),
        (head(amp_channels=None), 2, MEASURE),
        (head(amp_channels=None), 0, FITS),
        (head(amp_channels=0), 0, FITS),
        (amplifier(), 4, FITS),
        (amplifier(), 5, NO),
    ],
)
def test_channels(source: HeadSignature | AmplifierSignature, needed: int, code: int) -> None:
    assert channels_code(source, needed) == code


@pytest.mark.parametrize(
    ("source", "mode", "load", "wants"),
    [
        (PEAK, "pair", "4", ["full_w_4ohm"]),
        (PEAK, "pair", "3", ["full_w_4ohm", "full_w_2ohm"]),
        (PEAK, "pair", "2", ["full_w_2ohm"]),
        (PEAK, "bridged", "4", ["full_bridged_w_4ohm"]),
        (amplifier(w_2ohm=None), "shared", "2.5", ["full_w_2ohm"]),
        (head(amp_w=None), "pair", "4", ["amp_w"]),
    ],
)
def test_which_figures_would_tell_the_power(
    source: HeadSignature | AmplifierSignature, mode: Mode, load: str, wants: list[str]
) -> None:
    assert power_wants(source, mode, D(load)) == wants


@pytest.mark.parametrize(
    ("one", "amp", "wants"),
    [
        (head(preouts=None), amplifier(), ("head_unit", "preouts")),
        (head(preouts=0), amplifier(high_level_in=None), ("amplifier", "high_level_in")),
        (head(preouts=0, amp_channels=None), amplifier(high_level_in=True), ("head_unit", "amp_channels")),
    ],
)
def test_which_figure_would_tell_the_outputs(
    one: HeadSignature, amp: AmplifierSignature, wants: tuple[str, str]
) -> None:
    assert usable_wants(one, amp) == wants
