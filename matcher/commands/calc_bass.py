"""`calc coils` and `calc box`: wirings of voice coils, and the response of a box."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from matcher.commands.base import JsonOption, SureOption
from matcher.commands.calc_base import CalcStore, check_usual, figure, give, settings_here

if TYPE_CHECKING:
    from matcher.calculators.coils import Coils


def coils(
    drivers: Annotated[float | None, figure("n", "How many like drivers, 1 to 4.")] = None,
    coils: Annotated[float | None, figure("n", "Voice coils of each, 1 or 2.")] = None,
    ohm: Annotated[float | None, figure("ohm", "Impedance of each coil.", "--ohm")] = None,
    block_min: Annotated[
        float | None, figure("ohm", "Least load of the amplifier's block; the bridged one where bridged.")
    ] = None,
    power: Annotated[float | None, figure("w", "Power into the whole net, RMS.")] = None,
    every: Annotated[
        bool, typer.Option("--all", help="List the wires of every net, not only of those the block carries.")
    ] = False,
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Voice coils: every wiring with equal power in all coils, its load and wires, and if an amplifier carries it."""
    from matcher.calculators.coils import CoilsInputs, coils_for

    inputs = CoilsInputs(drivers=drivers, coils=coils, ohm=ohm, block_min_ohm=block_min, power_w=power)
    check_usual(inputs, sure=sure)
    answer = coils_for(inputs)
    give(answer, as_json=as_json)
    if not as_json:
        _print_wires(answer, every=every)


def _print_wires(answer: Coils, *, every: bool) -> None:
    shown = [net for net in answer.nets if every or (net.carried is not False and net.leads == "two")]
    for net in shown:
        print(f"\nwires of net {net.number}: {net.net}")
        for wire in net.wires:
            print(f"  {wire}")
    if len(shown) < len(answer.nets):
        print(f"\n{len(answer.nets) - len(shown)} more: --all lists their wires")


def box(
    kind: Annotated[Literal["sealed", "vented"], typer.Option(help="Closed, or with a port.")] = "sealed",
    drivers: Annotated[float | None, figure("n", "How many like drivers share the box; default 1.")] = 1,
    fs: Annotated[float | None, figure("hz", "A driver's resonance.")] = None,
    qts: Annotated[float | None, figure("n", "Its total Q.")] = None,
    qes: Annotated[float | None, figure("n", "Its electrical Q.")] = None,
    qms: Annotated[float | None, figure("n", "Its mechanical Q, where the total one is not known.")] = None,
    vas: Annotated[float | None, figure("l", "Volume of air as springy as its suspension.")] = None,
    sd: Annotated[float | None, figure("cm2", "Its cone area.")] = None,
    xmax: Annotated[float | None, figure("mm", "Its travel one way.")] = None,
    power: Annotated[float | None, figure("w", "Power into all drivers together, RMS.")] = None,
    box: Annotated[float | None, figure("l", "Net volume of the whole box.")] = None,
    qtc: Annotated[float | None, figure("n", "Q wanted in a closed box, in place of a volume.")] = None,
    tuned: Annotated[float | None, figure("hz", "Tuning of a vented box; left out, what suits the driver.")] = None,
    port: Annotated[float | None, figure("mm", "Inner diameter of each round port.")] = None,
    ports: Annotated[float | None, figure("n", "How many like ports; default 1.")] = 1,
    at: Annotated[float | None, figure("hz", "Frequency of the level; default 40 Hz.")] = 40,
    space_w: Annotated[float | None, figure("mm", "Made to measure: width of the space.")] = None,
    space_h: Annotated[float | None, figure("mm", "Height of the space.")] = None,
    space_d: Annotated[float | None, figure("mm", "Depth of the space at the floor.")] = None,
    space_d_top: Annotated[float | None, figure("mm", "Depth at the top, where the back slopes.")] = None,
    gate_w: Annotated[float | None, figure("mm", "Clear width of the way in.")] = None,
    gate_h: Annotated[float | None, figure("mm", "Clear height of the way in.")] = None,
    floor_loss: Annotated[float | None, figure("mm", "Height that a false floor takes.", zero=True)] = 0,
    beside: Annotated[float | None, figure("mm", "Width taken by what stays beside it.", zero=True)] = 0,
    clearance: Annotated[
        float | None, figure("mm", "Air around the box and in the way in; left out, the shop's own.", zero=True)
    ] = None,
    board: Annotated[float | None, figure("mm", "Thickness of the boards; left out, the shop's own.")] = None,
    braces: Annotated[float | None, figure("n", "How many window braces; default none.", zero=True)] = 0,
    displaces: Annotated[float | None, figure("l", "Volume that each driver takes inside.", zero=True)] = None,
    port_takes: Annotated[float | None, figure("l", "Volume that the ports take, walls included.", zero=True)] = None,
    density: Annotated[float | None, figure("n", "Density of the boards, kg per m3; left out, the shop's own.")] = None,
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Bass box: Q, corner, peak and maximum level; a volume for a wanted Q; a box made to measure, with cut list."""
    from matcher.calculators.bass import BoxInputs, DriversInputs, SpaceInputs
    from matcher.calculators.closed import closed_for
    from matcher.calculators.vented import vented_for

    settings = settings_here(store)
    inputs = BoxInputs(
        kind=kind,
        box_l=box,
        qtc=qtc,
        tuned_hz=tuned,
        port_mm=port,
        ports=ports,
        at_hz=at,
        driver=DriversInputs(
            drivers=drivers,
            fs_hz=fs,
            qts=qts,
            qes=qes,
            qms=qms,
            vas_l=vas,
            sd_cm2=sd,
            xmax_mm=xmax,
            power_w=power,
        ),
        space=SpaceInputs(
            space_w_mm=space_w,
            space_h_mm=space_h,
            space_d_mm=space_d,
            space_d_top_mm=space_d_top,
            gate_w_mm=gate_w,
            gate_h_mm=gate_h,
            floor_loss_mm=floor_loss,
            beside_mm=beside,
            clearance_mm=float(settings["box_air_mm"]) if clearance is None else clearance,
            board_mm=float(settings["board_mm"]) if board is None else board,
            braces=braces,
            displaces_l=displaces,
            port_takes_l=0.0 if kind == "sealed" else port_takes,
            density=float(settings["board_kg_m3"]) if density is None else density,
        ),
    )
    check_usual(inputs, sure=sure)
    give((closed_for if kind == "sealed" else vented_for)(inputs, settings), as_json=as_json)
