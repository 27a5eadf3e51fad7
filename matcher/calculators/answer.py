"""Parts common to every calculator's answer: figures, unknown figures with reasons, sources, cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import Field, dataclass, field, fields, is_dataclass
from functools import cache
from typing import Any

from catalog_schema.answers import Answer, to_plain
from catalog_schema.fields import field_of
from catalog_schema.units import UNITS, unit_of_field
from matcher.formulas.register import Formula, all_formulas

OTHER_UNITS = {"c": "C", "min": "min", "m3": "", "s": "m/s"}
"""Units by name ending that no list column has; `kg_m3` and `m_s` end in these, too."""


def result(
    label: str, *by: Callable[..., Any], wants: str = "", unit: str | None = None, blank: str = "not known"
) -> Any:
    """Declare a figure of an answer: its label, the formulas behind it, and the inputs it requires.

    Parameters
    ----------
    by
        The formulas that compute it; their sources become sources of the answer.
    wants
        Names of the required inputs, separated by spaces; ``a|b`` if either is enough.
    unit
        Symbol of its unit; by default derived from the figure's name.
    blank
        Text in a table if the figure is None.
    """
    metadata = {"label": label, "by": by, "wants": wants.split(), "unit": unit, "blank": blank}
    return field(default=None, metadata=metadata)


def table(label: str, *by: Callable[..., Any]) -> dict[str, Any]:
    """Declare the rows of an answer: their table's name, and the formulas behind them."""
    return {"label": label, "by": by}


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown(Answer):
    """A figure that could not be computed, and the reason."""

    figure: str
    """Name of the figure in the answer."""
    wants: list[str]
    """Inputs still needed; empty if all are given but out of range."""
    valid: str
    """The formula's range of validity."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Input(Answer):
    """A number or word that a computation used."""

    name: str
    label: str
    value: Any
    unit: str
    """Symbol of its unit; empty for a word or a plain number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation(Answer):
    """Answer of one computation; a figure that is not known is None and listed in `unknown`."""

    none: dict[str, str] = field(default_factory=dict)
    """Figures that are None although nothing is unknown, with the reason."""
    notes: list[str] = field(default_factory=list)
    """Notes on the figures."""
    cautions: list[str] = field(default_factory=list)
    """Dangers of this work."""

    def unknown(self) -> list[Unknown]:
        """Return every unknown figure with the inputs it needs."""
        given = dict(input_figures(self))
        return [
            Unknown(figure=name, wants=_lacking(each, given), valid=_valid(each))
            for name, each, owner in _figures_in(self)
            if getattr(owner, name) is None and name not in self.none
        ]

    def inputs(self) -> list[Input]:
        """Return every input, given or from the shop's settings, with its unit, so that a typing error shows."""
        inputs = getattr(self, "given", None)
        return [] if inputs is None else list(_inputs(inputs, ""))

    def sources(self) -> list[str]:
        """Return the sources of the formulas behind the figures, each once."""
        entries = (_entry(function) for _, each, _ in _figures_in(self) for function in each.metadata["by"])
        return list(dict.fromkeys(str(entry.source) for entry in entries))

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, as ``--json`` prints it."""
        own = {part.name for part in fields(Calculation)}
        figures = {part.name: getattr(self, part.name) for part in fields(self) if part.name not in own}
        beside = {"unknown": self.unknown(), "none": self.none, "notes": self.notes}
        figures = {"inputs": self.inputs()} | figures
        plain: dict[str, Any] = to_plain(figures | beside | {"sources": self.sources(), "cautions": self.cautions})
        return plain


def single_figures(answer: Answer) -> list[tuple[str, str, Any, str]]:
    """Return the single figures of an answer in their order: name, label, value, unit."""
    return [
        (name, each.metadata["label"], getattr(owner, name), unit_for(each))
        for name, each, owner in _figures_in(answer)
        if "wants" in each.metadata
    ]


def unit_for(figure: Field[Any]) -> str:
    """Return the symbol of a figure's unit, derived from its name unless declared."""
    own_unit: str | None = figure.metadata.get("unit")
    if own_unit is not None:
        return own_unit
    unit = unit_of_field(figure.name)
    return UNITS[unit].symbol if unit else OTHER_UNITS.get(figure.name.rpartition("_")[2], "")


def input_figures(answer: Answer) -> Iterator[tuple[str, Any]]:
    """Yield the inputs by name, nested ones flattened."""
    inputs = getattr(answer, "given", None)
    return _flat(inputs) if inputs is not None else iter(())


def _inputs(inputs: Any, of: str) -> Iterator[Input]:
    for part in fields(inputs):
        value, name = getattr(inputs, part.name), part.name.rstrip("_")
        known = field_of(type(inputs), part.name)
        label = f"{of}{known.label if known else name.replace('_', ' ')}"
        if is_dataclass(value):
            yield from _inputs(value, of)
        elif isinstance(value, list) and value and is_dataclass(value[0]):
            for number, item in enumerate(value, start=1):
                thing = getattr(item, "pane", f"{name.removesuffix('s')} {number}")
                yield from _inputs(item, f"{thing}: ")
        elif value is not None and value is not False and value != [] and part.name != "pane":
            yield Input(name=name, label=label, value=value, unit=known.symbol if known else "")


def _flat(inputs: Any) -> Iterator[tuple[str, Any]]:
    for part in fields(inputs):
        value = getattr(inputs, part.name)
        if is_dataclass(value):
            yield from _flat(value)
        else:
            yield part.name.rstrip("_"), value


def _figures_in(answer: Answer) -> Iterator[tuple[str, Field[Any], Answer]]:
    """Yield the figures and tables of an answer in order, each with the part of the answer that contains it."""
    for part in fields(answer):  # type: ignore[arg-type]
        value = getattr(answer, part.name)
        if "label" in part.metadata:
            yield part.name, part, answer
        elif isinstance(value, Answer) and part.name != "given":
            yield from _figures_in(value)


def _lacking(figure: Field[Any], given: dict[str, Any]) -> list[str]:
    def is_given(name: str) -> bool:
        return any(given.get(one) not in (None, []) for one in name.split("|"))

    return [name.replace("|", " or ") for name in figure.metadata["wants"] if not is_given(name)]


def _valid(figure: Field[Any]) -> str:
    return "; ".join(dict.fromkeys(_entry(function).valid for function in figure.metadata["by"]))


def source_of(function: Callable[..., Any]) -> str:
    """Return the source of a formula."""
    return str(_entry(function).source)


@cache
def _entries() -> dict[tuple[str, str], Formula]:
    return {(entry.module, entry.name): entry for entry in all_formulas()}


def _entry(function: Callable[..., Any]) -> Formula:
    return _entries()[function.__module__, function.__name__]
