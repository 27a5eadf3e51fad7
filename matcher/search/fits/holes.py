"""Openings as found and as they could be cut, and their interfaces: what a part meets there.

A ``hole`` is the opening as found, and once more as it could be cut. An interface (``mouth``) is a hole itself, or
what an adapter in that hole gives. Both carry the step of the alteration ladder that they take.
"""

from __future__ import annotations

from functools import reduce
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from catalog_schema.ladder import step_rank
from matcher.kernel.columns import Column, Columns, word_code
from matcher.kernel.exact import both, either, opposite

BOLT_FIGURES = ("bolt_w_mm", "bolt_h_mm", "bolt_circle_mm")
GIVEN = ("w_mm", "h_mm", *BOLT_FIGURES)
"""Lengths that an adapter gives instead of the hole's."""
CARRIED = ("found_w_mm", "found_h_mm", "shaft_mm")
"""Measures of the hole that an adapter does not change."""
SIDES = {"speaker": ("hole_w_mm", "hole_h_mm"), "dash": ("w_mm", "h_mm")}
OWN = {"speaker": (*BOLT_FIGURES, "bolt_count"), "dash": ("shaft_mm",)}
"""Figures that only one kind of hole has."""


class Holes(NamedTuple):
    """The holes of some openings, those as found first."""

    columns: Columns
    """Subject ``hole``, one row each."""
    opening: NDArray[np.int64]
    """Row of the opening, by hole."""
    step: NDArray[np.int64]
    """Required step of the alteration ladder."""
    is_cut: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.step)


def full(column: Column, rows: int) -> Column:
    """A column with arrays in all of its fields."""
    return Column(*(np.broadcast_to(np.asarray(part), rows) for part in column))


def unknown(rows: int) -> Column:
    """An unknown figure in some rows."""
    return full(Column(np.zeros(1, np.int64), np.zeros(1, np.bool_)), rows)


def chosen(yes: NDArray[np.bool_], then: Column, otherwise: Column) -> Column:
    """Select from two columns by a condition."""
    return Column(*(np.where(yes, *each) for each in zip(then, otherwise, strict=True)))


def holes_of(kind: str, openings: Columns) -> Holes:
    """Return the openings of a kind as found, and those that can be cut as cut.

    Parameters
    ----------
    openings
        The subject ``opening``, each length with its tolerance.
    """
    rows = len(openings["opening.w_mm" if kind == "dash" else "opening.hole_w_mm"].values)
    whole = {name.partition(".")[2]: full(column, rows) for name, column in openings.items()}
    found = _found(kind, whole, rows)
    sized, named = (_any_known(whole, *names) for names in (("cut_w_mm", "cut_h_mm"), ("cut_material", "cut_piece")))
    is_cut = sized | named
    cut = found | {side: _cut_side(found[side], whole[f"cut_{side}"], sized) for side in ("w_mm", "h_mm")}
    cut["shape"] = _word("rect", rows)
    opening = np.concatenate([np.arange(rows), np.flatnonzero(is_cut)])
    cuts = np.arange(len(opening)) >= rows
    step = np.concatenate([np.zeros(rows, np.int64), _cut_step(whole)[is_cut]])
    columns = {f"hole.{name}": _under(column, cut[name], is_cut) for name, column in found.items()}
    return Holes(Columns(columns | {"hole.is_cut": full(Column(cuts), len(opening))}), opening, step, cuts)


def _found(kind: str, whole: dict[str, Column], rows: int) -> dict[str, Column]:
    """The figures of holes as found: the height of a round one is its width."""
    width, height = (whole[name] for name in SIDES[kind])
    shape = whole["shape"]
    flat = both(shape.known, shape.values == word_code("round"))
    height = chosen(np.asarray(both(flat, opposite(height.known))), width, height)
    columns = {"w_mm": width, "h_mm": height, "found_w_mm": width, "found_h_mm": height, "shape": shape}
    columns["kind"] = _word(kind, rows)
    for names in OWN.values():
        columns |= {name: whole[name] if name in OWN[kind] else unknown(rows) for name in names}
    return columns


def _word(word: str, rows: int) -> Column:
    return full(Column(np.array([word_code(word)], np.int32)), rows)


def _any_known(whole: dict[str, Column], *names: str) -> NDArray[np.bool_]:
    return np.asarray(reduce(either, (whole[name].known for name in names)))


def _cut_side(found: Column, cut: Column, sized: NDArray[np.bool_]) -> Column:
    """A side after cutting; unknown if no size of the cut is given."""
    least = np.iinfo(np.int64).min
    values = np.maximum(*(np.where(side.known, side.values, least) for side in (found, cut)))
    grows = both(cut.known, cut.values > np.where(found.known, found.values, 0))
    known = both(either(found.known, cut.known), sized)
    return Column(np.where(known, values, 0), known, np.where(grows, cut.tol, found.tol))


def _cut_step(whole: dict[str, Column]) -> NDArray[np.int64]:
    piece, material = whole["cut_piece"], whole["cut_material"]
    spare = piece.known & (piece.values == word_code("spare"))
    soft = (material.values == word_code("trim")) | (material.values == word_code("hidden_plastic"))
    spared, hidden, metal = (step_rank(step) for step in ("spare_piece", "hidden_cut", "metal_cut"))
    return np.where(spare, spared, np.where(material.known & soft, hidden, metal))


def _under(first: Column, second: Column, taken: NDArray[np.bool_]) -> Column:
    """Stack some rows of another column below a column."""
    return joined(first, Column(*(np.asarray(part)[taken] for part in second)))


def joined(first: Column, second: Column) -> Column:
    """Stack two columns; a figure unknown in all rows of one takes the type of the other."""
    values = [first.values, second.values]
    if first.values.dtype != second.values.dtype:
        kind = np.int32 if np.int32 in (first.values.dtype, second.values.dtype) else first.values.dtype
        values = [each.astype(kind) for each in values]
    return Column(
        np.concatenate(values),
        np.concatenate([first.known, second.known]),
        np.concatenate([first.tol, second.tol]),
    )


def bare_interfaces(holes: Holes) -> Columns:
    """Return every hole as an interface without adapter."""
    rows = len(holes)
    names = (*GIVEN, *CARRIED, "shape", "bolt_count", "is_cut")
    columns = {f"mouth.{name}": holes.columns[f"hole.{name}"] for name in names}
    columns["mouth.bolted"] = full(Column(np.ones(rows, np.bool_)), rows)
    columns["mouth.forward_mm"] = full(Column(np.zeros(rows, np.int64)), rows)
    return Columns(columns)


def adapter_interfaces(holes: Columns, adapters: Columns, rows: int) -> Columns:
    """Return the holes that adapters offer, one row for each pair."""
    columns = {
        f"mouth.{name}": full(adapters[f"adapter.gives_{name}"], rows) for name in (*GIVEN, "shape", "bolt_count")
    }
    columns["mouth.forward_mm"] = full(adapters["adapter.forward_mm"], rows)
    columns |= {f"mouth.{name}": full(holes[f"hole.{name}"], rows) for name in CARRIED}
    columns["mouth.is_cut"] = full(Column(np.zeros(1, np.bool_)), rows)
    bolted = np.zeros(rows, np.bool_)
    for name in BOLT_FIGURES:
        bolted = bolted | columns[f"mouth.{name}"].known
    columns["mouth.bolted"] = Column(bolted, full(Column(bolted), rows).known, np.zeros(rows, np.int64))
    return Columns(columns)
