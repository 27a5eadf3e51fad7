"""Maps: how one supplier's lists are read. A person writes one in minutes, or the tool proposes one.

Most columns fill a whole field: they are in ``fields``, header and field, with the unit in brackets if it is not the
field's own (``"Einbautiefe": "depth (cm)"``). The others are in ``columns``: a cell is split by templates such as
``{cutout_w_mm} x {cutout_h_mm}``. Those in ``templates`` must match the whole cell, and the first match counts; those
in ``find`` may match anywhere in it. Nothing beyond the map is guessed: such a row is a problem row.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from catalog_schema.kinds import STRICT, ChoiceKind, CountKind, Flag, NameKind, Names, Text, TextKind
from catalog_schema.parts import FAMILIES

Family = Annotated[str | None, ChoiceKind(tuple(FAMILIES))]
Written = Annotated[str, TextKind(longest=300)]

SECTION = "(sub-heading)"
"""In place of a column: the last preceding line with only one filled cell."""
ANY = "any"
"""Placeholder in a template for ignored text."""
TIMES = "times"
"""Placeholder in a template for a multiplier of its figures."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateMap:
    """Template of a cell, or of a part of it; case and spaces are ignored."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    template: Written
    """The text with fields in braces: ``{rms_w} / {peak_w} W``. ``{any}`` is ignored, ``{times}`` multiplies."""
    set_: dict[str, Text] = field(default_factory=dict)
    """Further fields that a match determines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMap:
    """Fields that one column of a list fills."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    field: Text = None
    """The field of the whole cell, with the unit of bare numbers in brackets."""
    templates: tuple[TemplateMap, ...] = ()
    """Templates for the whole cell, tried in order."""
    find: tuple[TemplateMap, ...] = ()
    """Templates to search for in the cell, each independently."""
    unit: Text = None
    """The unit of bare numbers in templates, if the header has none."""
    rest: Text = None
    """The field for text left over by ``find``; without one, leftover words make a problem row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SkipMap:
    """Lines that are not parts: titles, continuations, totals, footnotes."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    what: Annotated[str, TextKind(longest=60)]
    """Kind of such a line, by which it is counted."""
    starts: Written
    """The first words of the line; marks before them are ignored."""
    column: Text = None
    """The only column checked; by default the first filled one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyMap:
    """One family of a list that holds several."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    family: Family = None
    """The family."""
    fields: dict[str, Text] = field(default_factory=dict)
    """Columns that fill another field for this family."""
    columns: dict[str, ColumnMap] = field(default_factory=dict)
    """Columns that are read differently for this family."""
    constants: dict[str, Text] = field(default_factory=dict)
    """Fields with a constant value, unless a cell fills them."""
    told: Names = ()
    """Fields derived from a row's other figures."""
    words: dict[str, dict[str, Text]] = field(default_factory=dict)
    """By field: the supplier's word and ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListMap:
    """Reading of one supplier's lists."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    name: Annotated[str, NameKind(longest=100)]
    """The map's name, by which it is used again."""
    supplier: Text = None
    """Supplier of these lists; by default the map's name."""
    family: Family = None
    """The family, if the list has only one."""
    family_column: Text = None
    """The column with the family, if the list has several; ``(sub-heading)`` for the lines between them."""
    family_within: Flag = False
    """Whether the family is a word within that column, listed by its own name."""
    families: dict[str, FamilyMap] = field(default_factory=dict)
    """The family for each word in that column."""
    encoding: Text = None
    """The encoding; detected by default."""
    delimiter: Text = None
    """The delimiter; detected by default."""
    sheet: Text = None
    """The sheet; by default the first one with rows."""
    header_row: Annotated[int | None, CountKind(least=1, most=10_000)] = None
    """The line of the headers; by default found by the mapped columns."""
    skip: tuple[SkipMap, ...] = ()
    """Lines that are not parts."""
    unknown: Names = ()
    """Words for an unknown figure: n/a, k. A."""
    fields: dict[str, Text] = field(default_factory=dict)
    """Columns that fill a whole field, by header."""
    columns: dict[str, ColumnMap] = field(default_factory=dict)
    """Columns that are split into several fields, by header."""
    ignore: Names = ()
    """Headers of columns that are ignored on purpose."""
    constants: dict[str, Text] = field(default_factory=dict)
    """Fields with a constant value, unless a cell fills them."""
    told: Names = ()
    """Fields derived from a row's other figures: shape and size from the hole, bass channels from their power."""
    words: dict[str, dict[str, Text]] = field(default_factory=dict)
    """By field: the supplier's word and ours."""
    price_per: Annotated[str | None, ChoiceKind(("pack", "piece"))] = "pack"
    """Whether the price is for a pack or for one piece of it."""
    notes: Text = None
    """Anything else."""
