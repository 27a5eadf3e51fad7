"""A box made to measure for a space: outer sizes, net volume, cut list, mass."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from catalog_schema.answers import Answer
from matcher.calculators.answer import result, table
from matcher.calculators.bass import BoxInputs, SpaceInputs
from matcher.formulas import cargo, made_box
from matcher.formulas.cargo import Space
from matcher.formulas.fitted_box import Boards, Contents, Gate, MadeBox, largest_outer, made_to_measure

BUILT = "space_w_mm space_h_mm space_d_mm gate_w_mm gate_h_mm board_mm displaces_l port_takes_l"


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelAnswer(Answer):
    """One line of the cut list."""

    panel: str = result("panel")
    count: int = result("count")
    length_mm: float = result("length")
    width_mm: float = result("width")
    width_top_mm: float | None = result("width at the top", blank="")
    bevel: float = result("bevel", unit="°")


@dataclass(frozen=True, slots=True, kw_only=True)
class Made(Answer):
    """The box that fills the space, or the smallest one of the wanted volume."""

    outer_w_mm: float | None = result("outer width", largest_outer, wants=BUILT)
    outer_h_mm: float | None = result("outer height", wants=BUILT)
    outer_d_mm: float | None = result("outer depth at the floor", wants=BUILT)
    outer_d_top_mm: float | None = result("outer depth at the top", wants=BUILT)
    made_net_l: float | None = result("its net volume", made_to_measure, made_box.net_volume_l, wants=BUILT)
    sized_by: Literal["space", "gate", "wanted volume"] | None = result("sized by", wants=BUILT)
    short_l: float | None = result("short of the volume wanted", wants=BUILT)
    mass_kg: float | None = result("its boards weigh", made_box.box_mass_kg, wants=f"{BUILT} density")
    panels: list[PanelAnswer] = field(default_factory=list, metadata=table("cut list, outer faces", made_box.cut_list))

    def none(self) -> dict[str, str]:
        """Return figures that are None although nothing is unknown, with the reason."""
        no_wish = self.made_net_l is not None and self.short_l is None
        return {"short_l": "no volume was asked for"} if no_wish else {}


def made_for(inputs: BoxInputs, wanted_l: float | None) -> Made | None:
    """Return the box for the given space; None if no space was given."""
    space = inputs.space
    if not space.is_given:
        return None
    box = _box(inputs, wanted_l)
    if box is None:
        return Made()
    return Made(
        outer_w_mm=box.outer.w_mm,
        outer_h_mm=box.outer.h_mm,
        outer_d_mm=box.outer.d_mm,
        outer_d_top_mm=box.outer.d_top_mm,
        made_net_l=box.net_l,
        sized_by=box.ruled_by,
        short_l=None if wanted_l is None else max(0.0, wanted_l - box.net_l),
        mass_kg=None if space.density is None else box.mass_kg,
        panels=[_panel(each) for each in box.panels],
    )


def _box(inputs: BoxInputs, wanted_l: float | None) -> MadeBox | None:
    space, drivers = inputs.space, inputs.driver.drivers
    room, gate = _room(space), _gate(space)
    all_given = None not in (room, gate, drivers, space.board_mm, space.braces, space.displaces_l, space.port_takes_l)
    if not all_given:
        return None
    assert room is not None and gate is not None and drivers is not None  # for the type checker: all_given
    assert space.board_mm is not None and space.displaces_l is not None and space.port_takes_l is not None
    # Only the mass depends on the density; if the density is not known, neither is the mass.
    boards = Boards(space.board_mm, space.density or 1.0, space.braces or 0)
    contents = Contents(drivers_l=drivers * space.displaces_l, port_l=space.port_takes_l)
    return made_to_measure(room, gate, boards, contents, wanted_net_l=wanted_l, clearance_mm=space.clearance_mm)


def _room(space: SpaceInputs) -> Space | None:
    w, h, d = space.space_w_mm, space.space_h_mm, space.space_d_mm
    if w is None or h is None or d is None:
        return None
    whole = Space(w, h, d, d if space.space_d_top_mm is None else space.space_d_top_mm)
    return cargo.space_left(whole, space.floor_loss_mm, space.beside_mm)


def _gate(space: SpaceInputs) -> Gate | None:
    if space.gate_w_mm is None or space.gate_h_mm is None:
        return None
    return Gate(space.gate_w_mm, space.gate_h_mm)


def _panel(panel: made_box.Panel) -> PanelAnswer:
    return PanelAnswer(
        panel=panel.name,
        count=panel.count,
        length_mm=panel.length_mm,
        width_mm=panel.width_mm,
        width_top_mm=panel.width_top_mm,
        bevel=panel.bevel_deg,
    )
