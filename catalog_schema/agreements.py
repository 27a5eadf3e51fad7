"""Figures of one row that must agree: declared per family, each with all the figures that it compares.

Most declare that one product of figures is at most another. A row that violates one has a wrong unit, two columns
exchanged, or a cell in the wrong row. The factors are common practice, no published source, with room for unusual
products; unknown figures violate nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from catalog_schema.fields import field_of
from catalog_schema.parts import FAMILIES
from catalog_schema.units import TYPOGRAPHY, unit_spelled

MM_PER_INCH = Decimal("25.4")
Numbers = Mapping[str, Decimal]
Words = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ProductTerm:
    """A factor times the product of some figures."""

    factor: Decimal
    names: tuple[str, ...]

    def value(self, numbers: Numbers) -> Decimal | None:
        """Return the term's value; None if one of its figures is unknown."""
        product = self.factor
        for name in self.names:
            if name not in numbers:
                return None
            product *= numbers[name]
        return product


@dataclass(frozen=True, slots=True)
class AtMost:
    """One term is at most another plus a slack."""

    low: ProductTerm
    high: ProductTerm
    slack: Decimal
    reason: str
    """The reason as a sentence: a fact about every product."""
    shape: str = ""
    """The only shape to which it applies; empty for all."""

    @property
    def names(self) -> tuple[str, ...]:
        """Return the figures it compares."""
        return tuple(dict.fromkeys((*self.low.names, *self.high.names)))

    def is_broken(self, numbers: Numbers, words: Words) -> bool:
        """Return whether the figures violate it; never if one of them is unknown."""
        if self.shape and words.get("shape") != self.shape:
            return False
        low, high = self.low.value(numbers), self.high.value(numbers)
        return low is not None and high is not None and low > high + self.slack


def at_most(low: str, high: str, reason: str, *, slack: int | str = 0, shape: str = "") -> AtMost:
    """Declare that one term is at most another, each a product such as ``0.78*25.4*size_in``.

    >>> at_most("input_min_v", "2*input_max_v", "").names
    ('input_min_v', 'input_max_v')
    """
    return AtMost(_term(low), _term(high), Decimal(slack), reason, shape)


def _term(text: str) -> ProductTerm:
    factor, names = Decimal(1), []
    for piece in text.split("*"):
        if re.fullmatch(r"[\d.e-]+", piece):
            factor *= Decimal(piece)
        else:
            names.append(piece)
    return ProductTerm(factor, tuple(names))


def _power(name: str) -> AtMost:
    return at_most(name, PEAK, "continuous power is at most the maximum power")


PEAK = "peak_w"
"""The maximum power next to the continuous one in a list: compared, never stored."""
OVERALL = "overall_d_mm"
"""The depth in a list's overall dimensions, W x H x D: compared, never stored."""
ALL_CHANNELS = "all_channels"
"""All channels of an amplifier, including bass channels: divided by the powers of its row, never stored."""
BESIDE: dict[str, str] = {PEAK: "maximum power", OVERALL: "overall depth", ALL_CHANNELS: "channels in all"}
"""Figures of a list that no family stores, with their labels."""

_COVERS = "the flange covers the cut-out"
_SWAPPED = "a loudspeaker is not much deeper than its cut-out is wide: are hole and depth exchanged?"
_HOLE_OF_SIZE = "the cut-out goes with the nominal size"
_TWICE = "half the load takes at most about twice the power"

AGREEMENTS: dict[str, tuple[AtMost, ...]] = {
    "head_unit": (
        at_most("body_w_mm", "face_w_mm", "the face covers the body", slack=10),
        at_most("body_h_mm", "face_h_mm", "the face covers the body", slack=10),
        at_most("shaft_min_mm", "shaft_max_mm", "the least is at most the greatest"),
        at_most("screen_rise_min_mm", "screen_rise_max_mm", "the lowest is at most the highest"),
        at_most("0.5*25.4*screen_in", "screen_w_mm", "the housing holds the screen"),
        at_most("screen_w_mm", "2*25.4*screen_in", "the housing goes with the screen"),
        _power("amp_w"),
    ),
    "speaker": (
        at_most("cutout_w_mm", "flange_w_mm", _COVERS, slack=1),
        at_most("cutout_h_mm", "flange_h_mm", _COVERS, slack=1),
        at_most("depth_mm", "1.1*cutout_w_mm", _SWAPPED, slack=10),
        at_most("depth_mm", "1.1*cutout_h_mm", _SWAPPED, slack=10),
        at_most("depth_mm", OVERALL, "the mounting depth is at most the overall depth", slack=2),
        at_most(OVERALL, "1.3*depth_mm", "most of the overall depth is behind the panel", slack=5),
        at_most("magnet_mm", "flange_w_mm", "the magnet is no wider than the flange", slack=5),
        at_most("magnet_mm", "flange_h_mm", "the magnet is no wider than the flange", slack=5),
        at_most("cutout_w_mm", "bolt_circle_mm", "the bolt holes lie outside the cut-out", slack=5, shape="round"),
        at_most("bolt_circle_mm", "1.3*flange_w_mm", "the bolt holes lie in the flange", slack=5, shape="round"),
        at_most("xmax_mm", "depth_mm", "the cone travels less than the depth"),
        at_most("low_hz", "high_hz", "the lower end is at most the upper end"),
        _power("rms_w"),
    ),
    "amplifier": (
        at_most("full_w_4ohm", "full_w_2ohm", "a lower load takes no less power"),
        at_most("full_w_2ohm", "2.2*full_w_4ohm", _TWICE),
        at_most("full_w_4ohm", "full_bridged_w_4ohm", "two bridged channels give no less than one"),
        at_most("full_bridged_w_4ohm", "4.4*full_w_4ohm", "two bridged channels give at most about four times one"),
        at_most("full_min_ohm", "full_bridged_min_ohm", "bridged, the least load is no lower"),
        at_most("bass_w_4ohm", "bass_w_2ohm", "a lower load takes no less power"),
        at_most("bass_w_2ohm", "2.2*bass_w_4ohm", _TWICE),
        at_most("bass_w_2ohm", "bass_w_1ohm", "a lower load takes no less power"),
        at_most("bass_w_1ohm", "2.2*bass_w_2ohm", _TWICE),
        at_most("input_min_v", "input_max_v", "the least is at most the greatest"),
        at_most("d_mm", OVERALL, "both are the depth", slack=5),
        at_most(OVERALL, "d_mm", "both are the depth", slack=5),
        _power("full_w_4ohm"),
        _power("bass_w_4ohm"),
    ),
    "subwoofer": (
        at_most("cutout_mm", "outer_mm", _COVERS, slack=1),
        at_most("depth_mm", "cutout_mm", _SWAPPED, slack=20),
        at_most("0.8*25.4*size_in", "cutout_mm", _HOLE_OF_SIZE),
        at_most("cutout_mm", "1.05*25.4*size_in", _HOLE_OF_SIZE, slack=3),
        at_most("0.85*25.4*size_in", "outer_mm", "the outer diameter goes with the nominal size"),
        at_most("outer_mm", "1.3*25.4*size_in", "the outer diameter goes with the nominal size"),
        at_most("qts", "qes", "the total Q is at most the electrical Q"),
        at_most("xmax_mm", "depth_mm", "the cone travels less than the depth"),
        _power("rms_w"),
    ),
    "enclosure": (
        at_most("0.8*25.4*driver_size_in", "cutout_mm", _HOLE_OF_SIZE),
        at_most("cutout_mm", "1.05*25.4*driver_size_in", _HOLE_OF_SIZE, slack=3),
        at_most("net_l", "0.000001*w_mm*h_mm*d_mm", "the inside is smaller than the outside"),
    ),
    "cable": (
        at_most("fuse_a", "rated_a", "the fuse is at most what the cable carries", slack=5),
        at_most("rated_a", "25*area_mm2", "no cable carries more than about 25 A per mm2", slack=15),
    ),
}
"""Agreements between figures, by family."""


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Figures of one row that cannot all be correct."""

    names: tuple[str, ...]
    """The figures, all of them."""
    found: str
    """The figures with their labels, values and units."""
    reason: str
    """Facts about every product, not about this row."""


def disagreements(family: str, numbers: Numbers, words: Words) -> list[Disagreement]:
    """Return the figures of a row that disagree.

    Parameters
    ----------
    numbers
        Known figures in their fields' units, including those of `BESIDE`.
    words
        Known words, of which ``shape`` and ``size`` are checked.

    >>> [one.found for one in disagreements("amplifier", {"input_min_v": Decimal(6), "input_max_v": Decimal(2)}, {})]
    ['least input voltage 6 V, greatest input voltage 2 V']
    """
    found = [
        Disagreement(one.names, _with_values(family, one.names, numbers), one.reason)
        for one in AGREEMENTS.get(family, ())
        if one.is_broken(numbers, words)
    ]
    if family == "speaker" and not size_agrees(words.get("size", ""), numbers):
        names = tuple(name for name in HOLE if name in numbers)
        stated = f'size "{words["size"]}", {_with_values(family, names, numbers)}'
        found.append(Disagreement(("size", *names), stated, _HOLE_OF_SIZE))
    return found


def _with_values(family: str, names: tuple[str, ...], numbers: Numbers) -> str:
    return ", ".join(_figure(family, name, numbers[name]) for name in names)


def _figure(family: str, name: str, value: Decimal) -> str:
    known = field_of(FAMILIES[family], name)
    if known is not None:
        return f"{known.label} {known.shown(value)}"
    return f"{BESIDE[name]} {value.normalize():f} {'W' if name == PEAK else 'mm'}"


# Nominal sizes of loudspeakers

HOLE = ("cutout_w_mm", "cutout_h_mm")
LEAST_HOLE, GREATEST_HOLE = Decimal("0.65"), Decimal("1.1")
"""Range of the cut-out relative to the nominal size: a frame of 165 mm has a hole of 125 to 145 mm."""
_PIECE = r"(?:(?P<{0}>\d+(?:[.,]\d+)?)(?:[\s-]+(?P<{0}t>\d+)[/⁄](?P<{0}b>\d+))?)\s*-?\s*(?P<{0}u>[a-z'\"]*)"
_SIZE = re.compile(rf"{_PIECE.format('a')}(?:\s*[x×*]\s*{_PIECE.format('b')})?", re.ASCII)


def size_agrees(size: str, numbers: Numbers) -> bool:
    """Return whether the cut-out matches the nominal size; sizes that are no measure match anything.

    >>> size_agrees("4 in", {"cutout_w_mm": Decimal("3.7")}), size_agrees("4 in", {"cutout_w_mm": Decimal(93)})
    (False, True)
    """
    sizes, holes = list(nominal_sizes_mm(size)), sorted(numbers[name] for name in HOLE if name in numbers)
    return not sizes or not holes or any(_hole_goes_with(nominal, holes) for nominal in sizes)


def _hole_goes_with(nominal: tuple[Decimal, ...], holes: list[Decimal]) -> bool:
    least, greatest = nominal[0] * LEAST_HOLE, nominal[-1] * GREATEST_HOLE
    return all(least <= hole <= greatest for hole in holes)


def nominal_sizes_mm(size: str) -> Iterator[tuple[Decimal, ...]]:
    """Return the possible meanings of a nominal size in mm, sorted: one number if round, two if oval.

    A bare number may be in inches, centimeters or millimeters; all that are plausible for a loudspeaker are returned.

    >>> list(nominal_sizes_mm("6x9 in")), list(nominal_sizes_mm("165 mm")), list(nominal_sizes_mm("large"))
    ([(Decimal('152.4'), Decimal('228.6'))], [(Decimal('165'),)], [])
    >>> list(nominal_sizes_mm("6x9"))
    [(Decimal('152.4'), Decimal('228.6')), (Decimal('60'), Decimal('90'))]
    """
    match = _SIZE.fullmatch(" ".join(size.translate(TYPOGRAPHY).casefold().split()))
    if match is None:
        return
    units = {match[name] for name in ("au", "bu") if match[name]}
    named = {unit_spelled(unit) for unit in units}
    for scale in _scales(named):
        sides = sorted(_number(match, name) * scale for name in ("a", "b") if match[name])
        if named or LEAST_SIZE_MM <= sides[0] <= sides[-1] <= GREATEST_SIZE_MM:
            yield tuple(sides)


def is_nominal_size(text: str) -> bool:
    """Return whether a text can be the nominal size of a loudspeaker.

    >>> is_nominal_size("6 1/2 in"), is_nominal_size("6x9"), is_nominal_size("100 in")
    (True, True, False)
    """
    return any(LEAST_SIZE_MM <= sides[0] <= sides[-1] <= GREATEST_SIZE_MM for sides in nominal_sizes_mm(text))


LEAST_SIZE_MM, GREATEST_SIZE_MM = Decimal(40), Decimal(400)


def _scales(named: set[str | None]) -> tuple[Decimal, ...]:
    """Return the millimeters per unit, for a given unit or for each possible one of a bare size."""
    lengths = {"in": MM_PER_INCH, "cm": Decimal(10), "mm": Decimal(1)}
    if not named:
        return tuple(lengths.values())
    (unit,) = named if len(named) == 1 else (None,)
    return (lengths[unit],) if unit in lengths else ()


def _number(match: re.Match[str], name: str) -> Decimal:
    whole = Decimal(match[name].replace(",", "."))
    if match[f"{name}t"] is None or int(match[f"{name}b"]) == 0:
        return whole
    part = Fraction(int(match[f"{name}t"]), int(match[f"{name}b"]))
    return whole + Decimal(part.numerator) / Decimal(part.denominator)
