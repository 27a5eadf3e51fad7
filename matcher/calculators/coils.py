"""Wirings of voice coils that give all coils the same power: their loads and wires."""

from __future__ import annotations

from dataclasses import dataclass, field

from catalog_schema.answers import Answer
from matcher.calculators import cautions
from matcher.calculators.answer import Calculation, result, table
from matcher.formulas import coils, nets


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilsInputs(Answer):
    """Identical drivers on one channel group of an amplifier."""

    drivers: float | None = None
    coils: float | None = None
    ohm: float | None = None
    block_min_ohm: float | None = None
    power_w: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NetAnswer(Answer):
    """One wiring and its connections."""

    number: int = result("no.")
    net: str = result("net")
    load_ohm: float = result("load")
    carried: bool | None = result("block carries it")
    power_per_coil_w: float | None = result("each coil", blank="")
    leads: str = result("leads left at each driver")
    wires: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coils(Calculation):
    """All equal-power wirings, lowest load first."""

    given: CoilsInputs
    count: int | None = result("nets with equal power", nets.equal_power_nets, wants="drivers coils")
    lowest_carried_ohm: float | None = result(
        "lowest load that the block carries", coils.carries, wants="drivers coils ohm block_min_ohm"
    )
    nets: list[NetAnswer] = field(
        default_factory=list, metadata=table("nets", nets.nets_for_block, nets.power_per_coil_w, coils.wires)
    )


def coils_for(inputs: CoilsInputs) -> Coils:
    """Return every wiring of identical drivers that gives all coils the same power."""
    found = nets.equal_power_nets(inputs.drivers, inputs.coils)
    loaded = nets.nets_for_block(inputs.drivers, inputs.coils, inputs.ohm, inputs.block_min_ohm) or ()
    carried = [each.load_ohm for each in loaded if each.carried]
    shut_out = loaded and inputs.block_min_ohm is not None and not carried
    single = inputs.coils == 1
    return Coils(
        given=inputs,
        count=None if found is None else len(found),
        lowest_carried_ohm=min(carried, default=None),
        nets=[_answer(number, each, inputs.power_w, single) for number, each in enumerate(loaded, start=1)],
        none={"lowest_carried_ohm": "the block carries none of these nets"} if shut_out else {},
        notes=["+ is in series, | in parallel; 2.1 is coil 1 of driver 2; nominal loads: the real one moves"],
        cautions=[cautions.ONE_CHANNEL],
    )


def _answer(number: int, loaded: nets.LoadedNet, power_w: float | None, single: bool) -> NetAnswer:
    net = loaded.coil_net.net
    return NetAnswer(
        number=number,
        net=coils.net_signs(net, single=single),
        load_ohm=loaded.load_ohm,
        carried=loaded.carried,
        power_per_coil_w=nets.power_per_coil_w(loaded.coil_net, power_w),
        leads="two" if loaded.coil_net.whole_drivers else "more: coils of one driver lie apart",
        wires=[str(each) for each in coils.wires(net)],
    )
