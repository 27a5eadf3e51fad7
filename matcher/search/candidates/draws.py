"""What an amplifier draws from the supply, and the fuse and cable that follow from it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from typing import Any

from matcher.formulas.cable import area_for_current_mm2, area_for_drop_mm2
from matcher.formulas.fuse import standard_fuses_a
from matcher.formulas.supply import full_sine_current_a
from matcher.formulas.wire import RESISTANCE_RATIO
from matcher.search.feeds.parts import Draw
from matcher.settings import Settings

PRINTED = 1.005
"""Areas are printed rounded: half a percent is let through, as `area_ampacity_a` does."""
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
)
"""The fields of an amplifier that its current follows from."""


@dataclass(frozen=True, slots=True)
class Output:
    """Continuous power of all channels of an amplifier in use; none where it is not known."""

    rest_w: Decimal | None
    bass_w: Decimal | None

    @property
    def total_w(self) -> Decimal | None:
        """What all its channels give together; none where that is not known."""
        return None if self.rest_w is None or self.bass_w is None else self.rest_w + self.bass_w


def output_of(figures: dict[str, Any], bass: bool) -> Output:
    """The greatest power that the maker states, of every channel that plays.

    Where it plays bass, that is what its bass channels do; one that has none plays bass with all it has.
    """
    full = _power(figures, "full_channels", ("full_w_4ohm", "full_w_2ohm"))
    if not bass:
        return Output(full, Decimal(0))
    if not figures["bass_channels"]:
        return Output(Decimal(0), full)
    return Output(full, _power(figures, "bass_channels", ("bass_w_4ohm", "bass_w_2ohm", "bass_w_1ohm")))


def _power(figures: dict[str, Any], channels: str, powers: tuple[str, ...]) -> Decimal | None:
    count = figures[channels]
    if not count:
        return Decimal(0)
    known = [figures[name] for name in powers if figures[name] is not None]
    if figures["power_basis"] == "peak" or not known:
        return None
    power: Decimal = count * max(known)
    return power


def draw_of(figures: dict[str, Any], bass: bool, run_m: Decimal | None, settings: Settings) -> Draw:
    """Current at full sine and on music, with the fuse and the areas of cable that follow.

    The maker's greatest current caps what the power gives; on music heavy bass takes its own share.
    """
    output = output_of(figures, bass)
    stated = figures["current_a"]
    by_power = _full_a(output.total_w, figures["class"], settings)
    known = [current for current in (by_power, stated) if current is not None]
    if not known:
        return Draw(None, None, wants=_wants(figures, output))
    full_a = min(known)
    music_a = full_a * _music_share(output, bass, settings)
    fuse = next((size for size in standard_fuses_a() if size >= full_a), None)
    areas = _areas(full_a, fuse, run_m, settings)
    return Draw(round(full_a * 1000), round(music_a * 1000), None if fuse is None else Decimal(str(fuse)), *areas)


def _full_a(power_w: Decimal | None, kind: str | None, settings: Settings) -> Decimal | None:
    share = None if kind is None else settings[f"amplifier_efficiency.{kind}"]
    current = full_sine_current_a(_plain(power_w), _plain(share), float(settings["system_v"]))
    return Decimal(0) if power_w == 0 else None if current is None else Decimal(repr(current))


def _music_share(output: Output, bass: bool, settings: Settings) -> Decimal:
    """On music over full sine: each side by its own power; where that is not known, by the heavier one."""
    rest, low = 1 / settings["music_part.rest"], 1 / settings["music_part.bass"]
    total = output.total_w
    if not total or output.bass_w is None or output.rest_w is None:
        return low if bass else rest
    return (output.rest_w * rest + output.bass_w * low) / total


def _areas(
    full_a: Decimal, fuse_a: float | None, run_m: Decimal | None, settings: Settings
) -> tuple[Decimal | None, Decimal | None]:
    """Least areas of copper and of copper-clad aluminum that carry the fuse and keep the drop."""
    by_fuse = area_for_current_mm2(fuse_a, float(settings["cable_insulation_c"]))
    by_drop = area_for_drop_mm2(_plain(full_a), _plain(run_m), float(settings["cable_drop_v"]))
    if by_fuse is None or by_drop is None:
        return None, None
    area = max(by_fuse / PRINTED, by_drop)
    return _hundredths(area), _hundredths(area * RESISTANCE_RATIO["cca"])


def _wants(figures: dict[str, Any], output: Output) -> tuple[str, ...]:
    """The greatest current itself, or what the power gives: class and powers."""
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
