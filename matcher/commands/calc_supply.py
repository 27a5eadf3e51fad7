"""`calc wire` and `calc supply`: the power cable, and the supply and load at its ends."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from matcher.commands.base import JsonOption, SureOption
from matcher.commands.calc_base import CalcStore, check_usual, figure, give, read_piece, settings_here

if TYPE_CHECKING:
    from matcher.calculators.supply import AmplifierLoad


def wire(
    current: Annotated[float | None, figure("a", "Most current drawn.")] = None,
    fuse: Annotated[float | None, figure("a", "Rating of the fuse; without it the next standard one.")] = None,
    length: Annotated[float | None, figure("m", "Length one way, battery to amplifier.")] = None,
    area: Annotated[float | None, figure("mm2", "A cable to check.")] = None,
    drop: Annotated[float | None, figure("v", "Most voltage lost, out and back; left out, the shop's own.")] = None,
    conductor: Annotated[Literal["copper", "cca"], typer.Option(help="Copper, or copper-clad aluminum.")] = "copper",
    insulation: Annotated[float | None, figure("n", "What the insulation bears, C; left out, the shop's own.")] = None,
    hot: Annotated[bool, typer.Option("--hot", help="It runs through a hot space, as beside an engine.")] = False,
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Supply cable: the area that carries the fuse and keeps the drop, suitable sizes, the fuse and its place."""
    from matcher.calculators.wire import WireInputs, wire_for

    settings = settings_here(store)
    inputs = WireInputs(
        current_a=current,
        fuse_a=fuse,
        length_m=length,
        area_mm2=area,
        drop_v=float(settings["cable_drop_v"]) if drop is None else drop,
        conductor=conductor,
        insulation_c=float(settings["cable_insulation_c"]) if insulation is None else insulation,
        hot=hot,
    )
    check_usual(inputs, sure=sure)
    give(wire_for(inputs, settings), as_json=as_json)


def read_amplifier(text: str) -> AmplifierLoad:
    """Read an amplifier written POWER:CLASS, with `:bass` for heavy bass, and `:fuse=30A` and `:draws=25A` if known.

    >>> read_amplifier("500 W:d:bass:fuse=2A").music
    'heavy bass'
    """
    from matcher.calculators.supply import AmplifierLoad

    power, *words = [piece.strip().casefold() for piece in text.split(":")]
    named = dict(word.split("=", 1) for word in words if "=" in word)
    plain = [word for word in words if "=" not in word]
    kinds: list[Any] = [word for word in plain if word in ("ab", "d")]
    if len(kinds) > 1 or not set(plain) <= {"ab", "d", "bass", ""} or not set(named) <= {"fuse", "draws"}:
        raise typer.BadParameter(
            f"found {text!r}, expected POWER:CLASS or POWER:CLASS:bass, such as 500W:d:bass:fuse=40A:draws=45A"
        )
    return AmplifierLoad(
        power_w=read_piece(power, "w"),
        class_=kinds[0] if kinds else None,
        music="heavy bass" if "bass" in plain else "rest",
        own_fuse_a=read_piece(named.get("fuse", ""), "a"),
        stated_a=read_piece(named.get("draws", ""), "a"),
    )


AmpOption = Annotated[
    list[Any] | None,
    typer.Option(
        "--amp",
        parser=read_amplifier,
        metavar="<POWER:CLASS[:bass][:fuse=A][:draws=A]>",
        help="An amplifier: continuous power of all channels, class (ab, d), bass if it plays bass, its own fuses "
        "together, its stated current. As often as there are amplifiers.",
        show_default=False,
    ),
]


def supply(
    amp: AmpOption = None,
    volts: Annotated[float | None, figure("v", "Voltage at the amplifiers; left out, the shop's own.")] = None,
    charge: Annotated[float | None, figure("a", "Charging system's rated output.", zero=True)] = None,
    idle: Annotated[float | None, figure("a", "Its output at idle.", zero=True)] = None,
    base_load: Annotated[float | None, figure("a", "What the vehicle itself uses.", zero=True)] = None,
    battery: Annotated[float | None, figure("ah", "The battery's charge.")] = None,
    reserve: Annotated[
        float | None, figure("n", "The battery's reserve capacity, min, where its charge is not known.")
    ] = None,
    drain: Annotated[
        list[float] | None, figure("ma", "A standby drain. As often as there are drains.", "--drain", zero=True)
    ] = None,
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Supply: full and music current, spare charging current, battery endurance, days in standby."""
    from matcher.calculators.supply import SupplyInputs, supply_for

    settings = settings_here(store)
    inputs = SupplyInputs(
        amplifiers=amp or [],
        volts_v=float(settings["rail_v"]) if volts is None else volts,
        charge_a=charge,
        idle_a=idle,
        base_load_a=base_load,
        battery_ah=battery,
        reserve_min=reserve,
        drains_ma=drain or [],
    )
    check_usual(inputs, sure=sure)
    give(supply_for(inputs, settings), as_json=as_json)
