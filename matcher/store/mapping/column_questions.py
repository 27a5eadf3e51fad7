"""Questions about the columns of a family: required fields without a column, units, unnamed lengths."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from catalog_schema.columns import TableColumn as Field
from catalog_schema.doubts import figure_doubt
from catalog_schema.kinds import FigureKind, MoneyKind
from catalog_schema.parts import FAMILIES
from matcher.store.lists.listing import fold
from matcher.store.mapping.cell_roles import ANY_CURRENCY, reads_as
from matcher.store.mapping.column_roles import names_a_role, roles_of
from matcher.store.mapping.column_units import bare_units, header_unit
from matcher.store.mapping.proposals import LEFT_OUT, ListQuestion, Proposal, label


class AskedColumns(Protocol):
    """The columns of one family while they are being proposed."""

    proposal: Proposal
    family: str
    known: dict[str, Field]
    answers: Mapping[str, str]
    left: dict[str, list[str]]
    told: list[str]

    def filled(self) -> set[str]: ...
    def reads(self, column: Field, values: Sequence[str], unit: str | None) -> bool: ...
    def remark(self, about: str, says: str, *, sure: bool) -> None: ...


LENGTHS = ("cutout_w_mm", "cutout_mm", "depth_mm", "flange_w_mm", "outer_mm", "bolt_circle_mm", "magnet_mm", "front_mm",
           "w_mm", "h_mm", "d_mm", "body_w_mm", "body_h_mm", "body_d_mm", "face_w_mm", "face_h_mm")  # fmt: skip
"""Lengths that a column may be, likeliest first."""


def ask_required(one: AskedColumns) -> None:
    """Ask for the required fields of the family; rows without them are problem rows."""
    for name, column in one.known.items():
        if not column.required or name in one.filled():
            continue
        may = [header for header, cells in one.left.items() if cells and may_be(one, column, header, cells)]
        one.told.append(name)
        one.remark(name, "nothing fills it, and it is required", sure=False)
        if not may:
            one.proposal.lacking.setdefault(one.family, []).append(name)
        for header in may[:1]:
            says = f"is it the {label(one.family, name)}, which every {one.family.replace('_', ' ')} has?"
            ask(one, header, says, [name, LEFT_OUT], one.left[header], weight=1000)


def may_be(one: AskedColumns, column: Field, header: str, cells: Sequence[str]) -> bool:
    """Whether a column with an unknown header, or an unspecified power, may be a field: its numbers are usual."""
    if {*roles_of(header)} - {"power"} or not one.reads(column, cells, header_unit(header)):
        return False
    if isinstance(column.kind, FigureKind):
        with_units = [cell for cell in cells if not cell[-1:].isdigit()]
        return len(with_units) * 2 > len(cells) or column.unit in bare_units(one.family, column.name, Counter(cells))
    return isinstance(column.kind, MoneyKind) and any(re.search(r"[.,]\d\d\b|[€$£]", cell) for cell in cells)


def ask_lengths(one: AskedColumns) -> None:
    """Ask about unnamed columns of lengths, offering the fields for which they are usual."""
    names = [name for name in LENGTHS if name in one.known and name not in one.filled()]
    for header, cells in one.left.items():
        with_units = sum(bool(re.search(r"\d ?(mm|cm|in|inch|zoll|\"|'')$", cell)) for cell in cells)
        if not cells or roles_of(header) or with_units * 5 < len(cells) * 4 or names_a_role(header):
            continue
        usual = [name for name in names if not is_unusual(one, name, cells)]
        if usual:
            ask(one, header, "which length is it?", usual[:6], cells)


def is_unusual(one: AskedColumns, name: str, cells: Sequence[str]) -> bool:
    """Whether any of some cells would be an unusual figure of a field."""
    kind = one.known[name].kind
    figures = [kind.read(cell, ANY_CURRENCY) for cell in cells if reads_as(one.known[name], cell, None)]
    return any(figure_doubt(FAMILIES[one.family], name, figure) for figure in figures)


def ask(
    one: AskedColumns, header: str, says: str, options: Iterable[str], cells: Sequence[str], weight: int = 1
) -> None:
    """Ask about a column, unless it was answered already."""
    if fold(header) in one.answers:
        return
    filled = [cell for cell in cells if cell]
    options = tuple(dict.fromkeys([*options, LEFT_OUT]))
    samples = tuple(dict.fromkeys(filled))[:3]
    one.proposal.questions.append(ListQuestion(header, "--column", says, options, len(filled) * weight, samples))
