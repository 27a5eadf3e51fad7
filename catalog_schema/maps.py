"""A map: how one supplier's lists are read. A person writes it in minutes, or the tool proposes one.

Most columns fill a field whole: they stand in ``fields``, header and field, the unit in brackets where
it is not the field's own (``"Einbautiefe": "depth (cm)"``). The others stand in ``columns``: a cell is cut
by patterns whose named groups are fields. ``patterns`` must match the whole cell, and the first that does
counts; ``find`` is searched for anywhere in it. What a map does not provide for is never guessed: such a
row is a problem row.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from catalog_schema.kinds import ChoiceKind, CountKind, Names, Text, TextKind
from catalog_schema.parts import FAMILIES, STRICT

Family = Annotated[str | None, ChoiceKind(tuple(FAMILIES))]
Pattern = Annotated[str, TextKind(longest=2000)]

UNIT_GROUP = "unit"
"""The group that holds the unit of a pattern's bare numbers."""
TIMES_GROUP = "times"
"""The group that holds how many times the pattern's figures count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternMap:
    """A regular expression whose named groups are fields; case and runs of spaces do not matter."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    match: Pattern
    """The expression. The group ``unit`` is the unit of its bare numbers, ``times`` multiplies its figures."""
    set_: dict[str, Text] = field(default_factory=dict)
    """Fields that a match says something about beyond its groups."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMap:
    """What one column of a list fills."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    field: Text = None
    """The field that the whole cell is for, with the unit of bare numbers in brackets."""
    patterns: tuple[PatternMap, ...] = ()
    """Expressions for the whole cell, tried in order."""
    find: tuple[PatternMap, ...] = ()
    """Expressions to be found in the cell, each on its own."""
    rest: Text = None
    """The field for what ``find`` leaves over; without one, words left over make a problem row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SkipMap:
    """Lines that are no parts: titles, continuations, totals, footnotes."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    what: Annotated[str, TextKind(longest=60)]
    """What such a line is; it is counted by this name."""
    match: Pattern
    """An expression to be found in the line's cells, joined by spaces."""
    column: Text = None
    """The only column to look at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyMap:
    """One family of a list that holds several."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    family: Family = None
    """The family."""
    fields: dict[str, Text] = field(default_factory=dict)
    """Columns that fill another field for this family."""
    columns: dict[str, ColumnMap] = field(default_factory=dict)
    """Columns that are read otherwise for this family."""
    constants: dict[str, Text] = field(default_factory=dict)
    """Fields that are the same in every row, unless a cell fills them."""
    words: dict[str, dict[str, Text]] = field(default_factory=dict)
    """Field, then the supplier's word, then ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListMap:
    """How one supplier's lists are read."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    name: Annotated[str, TextKind(longest=100)]
    """The map's name, by which it is used again."""
    supplier: Text = None
    """Whose lists these are; the map's name unless said otherwise."""
    family: Family = None
    """The family, where the list holds one."""
    family_column: Text = None
    """The column that tells the family, where the list holds several."""
    families: dict[str, FamilyMap] = field(default_factory=dict)
    """The family for each word in that column."""
    encoding: Text = None
    """The encoding; it is found where none is named."""
    delimiter: Text = None
    """The delimiter; it is found where none is named."""
    sheet: Text = None
    """The sheet; the first with rows where none is named."""
    header_row: Annotated[int | None, CountKind(least=1, most=10_000)] = None
    """The line of the headers; found by the mapped columns where none is named."""
    skip: tuple[SkipMap, ...] = ()
    """Lines that are no parts."""
    unknown: Names = ()
    """Words that say a figure is not known: n/a, k. A."""
    fields: dict[str, Text] = field(default_factory=dict)
    """What each column fills whole, by its header."""
    columns: dict[str, ColumnMap] = field(default_factory=dict)
    """Columns that are cut into several fields, by their header."""
    ignore: Names = ()
    """Headers of columns that are left out on purpose."""
    constants: dict[str, Text] = field(default_factory=dict)
    """Fields that are the same in every row, unless a cell fills them."""
    words: dict[str, dict[str, Text]] = field(default_factory=dict)
    """Field, then the supplier's word, then ours."""
    price_per: Annotated[str | None, ChoiceKind(("pack", "piece"))] = "pack"
    """Whether the price is for a pack or for one piece of it."""
    notes: Text = None
    """Anything else."""
