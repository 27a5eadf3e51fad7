"""Current of an amplifier, with the fuse and cable that follow from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from functools import lru_cache
from typing import Any

from matcher.formulas.cable import area_for_current_mm2, area_for_drop_mm2
from matcher.formulas.supply import current_share, full_sine_current_a, main_fuse_a
from matcher.formulas.wire import RESISTANCE_RATIO
from matcher.search.catalog.counted import BASS, FULL, PowerBound, bound_of
from matcher.search.feeds.parts import AmplifierDraw
from matcher.settings import Settings

PRINTED = 1.005
"""Printed areas are rounded: half a percent is tolerated, as in `area_ampacity_a`."""
FIGURES = (
    "full_channels",
    "full_w_4ohm",
    "full_w_2ohm",
    "bass_channels",
    "bass_w_4ohm",
    "bass_w_2ohm",
    "bass_w_1ohm",
    "power_basis",
    "class",
    "current_a",
    "fuse_a",
    "full_bridged_w_4ohm",
)
"""Fields of an amplifier that determine its current."""


@dataclass(frozen=True, slots=True)
class Output:
    """Return the continuous power of all channels in use; None if unknown."""

    rest_w: Decimal | None
    bass_w: Decimal | None

    @property
    def total_w(self) -> Decimal | None:
        """Power of all channels together; None if unknown."""
        return None if self.rest_w is None or self.bass_w is None else self.rest_w + self.bass_w


def output_of(figures: Mapping[str, Any], bass: bool) -> Output:
    """Return the greatest stated power of every channel in use.

    An amplifier with bass channels plays bass on these, one without plays it on all channels.
    """
    full = _power(figures, "full_channels", FULL)
    if not bass:
        return Output(full, Decimal(0))
    if not figures["bass_channels"]:
        return Output(Decimal(0), full)
    return Output(full, _power(figures, "bass_channels", BASS))


def _power(figures: Mapping[str, Any], channels: str, powers: tuple[str, ...]) -> Decimal | None:
    count = figures[channels]
    if not count:
        return Decimal(0)
    known = [figures[name] for name in powers if figures[name] is not None]
    if figures["power_basis"] == "peak" or not known:
        return None
    power: Decimal = count * max(known)
    return power


def draw_of(figures: Mapping[str, Any], bass: bool, run_m: Decimal | None, settings: Settings) -> AmplifierDraw:
    """Return the current at full sine and on music, with the fuse and cable areas that follow.

    The counted power draws its current at the typical efficiency of the class. If power or class is unknown, the larger
    of the amplifier's own fuse and its stated current is taken for full sine.
    """
    bound = bound_of(figures, settings)
    output = _within_bound(output_of(figures, bass), bound)
    kind = figures["class"]
    full_a = None if bound.at_odds else _full_a(output.total_w, kind, figures, settings)
    if full_a is None:
        return AmplifierDraw(None, None, wants=("fuse_a",) if bound.at_odds else _wants(figures, output))
    full_ma, share = round(full_a * 1000), None if kind is None else _music_share(output, kind, bass, settings)
    fuse = main_fuse_a(full_ma / 1000, _plain(figures["fuse_a"]))
    areas = _areas(full_a, fuse, run_m, settings)
    music_ma = None if share is None else round(full_a * share * 1000)
    return AmplifierDraw(
        full_ma, music_ma, None if fuse is None else Decimal(str(fuse)), *areas, ("class",) if not kind else ()
    )


def own_music_ma(channels: int, power_w: Decimal | None, settings: Settings) -> int:
    """Return the current on music of a head unit's own class AB channels, in mA; 0 if their power is unknown."""
    full_a = _full_a(channels * (power_w or Decimal(0)), "ab", {}, settings)
    return round((full_a or 0) * _current_share("rest", "ab", settings) * 1000)


def _within_bound(output: Output, bound: PowerBound) -> Output:
    """Scale both sides in proportion if their sum exceeds what the amplifier can give."""
    total = output.total_w
    if total is None or bound.power_w is None or float(total) <= bound.power_w:
        return output
    share = Decimal(repr(bound.power_w)) / total
    return Output(*(None if side is None else side * share for side in (output.rest_w, output.bass_w)))


def _full_a(
    power_w: Decimal | None, kind: str | None, figures: Mapping[str, Any], settings: Settings
) -> Decimal | None:
    if power_w == 0:
        return Decimal(0)
    share = None if kind is None else settings[f"amplifier_efficiency.{kind}"]
    current = full_sine_current_a(_plain(power_w), _plain(share), float(settings["rail_v"]))
    if current is not None:
        return Decimal(repr(current))
    return max((one for one in (figures["fuse_a"], figures["current_a"]) if one), default=None)


def _music_share(output: Output, kind: str, bass: bool, settings: Settings) -> Decimal:
    """Ratio of current on music to full sine, weighted by the power of each side, or the heavier side's if unknown."""
    rest, low = _current_share("rest", kind, settings), _current_share("bass", kind, settings)
    total = output.total_w
    if not total or output.bass_w is None or output.rest_w is None:
        return low if bass else rest
    return (output.rest_w * rest + output.bass_w * low) / total


def _current_share(music: str, kind: str, settings: Settings) -> Decimal:
    share = current_share(1 / float(settings[f"music_part.{music}"]), "ab" if kind == "ab" else "d")
    return Decimal(0) if share is None else Decimal(repr(share))


def _areas(
    full_a: Decimal, fuse_a: float | None, run_m: Decimal | None, settings: Settings
) -> tuple[Decimal | None, Decimal | None]:
    """Minimum areas of copper and of copper-clad aluminum for the fuse and the voltage drop."""
    by_fuse = _area_of_fuse(fuse_a, float(settings["cable_insulation_c"]))
    by_drop = area_for_drop_mm2(_plain(full_a), _plain(run_m), float(settings["cable_drop_v"]))
    if by_fuse is None or by_drop is None:
        return None, None
    area = max(by_fuse / PRINTED, by_drop)
    return _hundredths(area), _hundredths(area * RESISTANCE_RATIO["cca"])


@lru_cache(maxsize=256)
def _area_of_fuse(fuse_a: float | None, insulation_c: float) -> float | None:
    """Cached, since there are few fuse ratings."""
    return area_for_current_mm2(fuse_a, insulation_c)


def _wants(figures: Mapping[str, Any], output: Output) -> tuple[str, ...]:
    """Fields that would give the current: the current itself, or class and powers."""
    wants = ["current_a"]
    if output.rest_w is None or (output.bass_w is None and not figures["bass_channels"]):
        wants.append("full_w_4ohm")
    if output.bass_w is None and figures["bass_channels"]:
        wants.append("bass_w_4ohm")
    return (*wants, *(["class"] if figures["class"] is None else []))


def _hundredths(area: float) -> Decimal:
    return Decimal(repr(area)).quantize(Decimal("0.01"), ROUND_UP)


def _plain(number: Decimal | None) -> float | None:
    return None if number is None else float(number)
