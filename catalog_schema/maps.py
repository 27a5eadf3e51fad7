"""A map: how one supplier's lists are read. A person writes it in minutes, or the tool proposes one.

Most columns fill a field whole: they are in ``fields``, header and field, the unit in brackets where
it is not the field's own (``"Einbautiefe": "depth (cm)"``). The others are in ``columns``: a cell is cut
by templates such as ``{cutout_w_mm} x {cutout_h_mm}``. Those in ``templates`` must match the whole cell, and the
first that does counts; ``find`` is searched for anywhere in it. What a map does not provide for is never guessed:
such a row is a problem row.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from catalog_schema.kinds import STRICT, ChoiceKind, CountKind, Flag, NameKind, Names, Text, TextKind
from catalog_schema.parts import FAMILIES

Family = Annotated[str | None, ChoiceKind(tuple(FAMILIES))]
Written = Annotated[str, TextKind(longest=300)]

SECTION = "(sub-heading)"
"""In place of a column: the last line above a row in which one cell alone is filled."""
ANY = "any"
"""The name in a template for text that is left out."""
TIMES = "times"
"""The name in a template for how many times its figures count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateMap:
    """Template of a cell, or of a part of it; case and spaces do not matter."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    template: Written
    """The text, with the fields in braces: ``{rms_w} / {peak_w} W``. ``{any}`` is left out, ``{times}`` multiplies."""
    set_: dict[str, Text] = field(default_factory=dict)
    """Fields that a match says something about beyond its names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMap:
    """Field that one column of a list fills."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    field: Text = None
    """The field that the whole cell is for, with the unit of bare numbers in brackets."""
    templates: tuple[TemplateMap, ...] = ()
    """Templates for the whole cell, tried in order."""
    find: tuple[TemplateMap, ...] = ()
    """Templates to be found in the cell, each on its own."""
    unit: Text = None
    """The unit of bare numbers that templates find, if the header does not name it."""
    rest: Text = None
    """The field for what ``find`` leaves over; without one, words left over make a problem row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SkipMap:
    """Lines that are no parts: titles, continuations, totals, footnotes."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    what: Annotated[str, TextKind(longest=60)]
    """Kind of such a line; it is counted by this name."""
    starts: Written
    """The words that the line begins with; marks before them do not matter."""
    column: Text = None
    """The only column to look at; the first filled one if none is named."""


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
    told: Names = ()
    """Fields that a row's other figures tell."""
    words: dict[str, dict[str, Text]] = field(default_factory=dict)
    """Field, then the supplier's word, then ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListMap:
    """Reading of one supplier's lists."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    name: Annotated[str, NameKind(longest=100)]
    """The map's name, by which it is used again."""
    supplier: Text = None
    """Whose lists these are; the map's name unless said otherwise."""
    family: Family = None
    """The family, where the list holds one."""
    family_column: Text = None
    """The column that tells the family, where the list holds several; ``(sub-heading)`` for the lines between them."""
    family_within: Flag = False
    """Whether the family is a word within that column: then each family is under its own name."""
    families: dict[str, FamilyMap] = field(default_factory=dict)
    """The family for each word in that column."""
    encoding: Text = None
    """The encoding; it is found if none is named."""
    delimiter: Text = None
    """The delimiter; it is found if none is named."""
    sheet: Text = None
    """The sheet; the first with rows where none is named."""
    header_row: Annotated[int | None, CountKind(least=1, most=10_000)] = None
    """The line of the headers; found by the mapped columns where none is named."""
    skip: tuple[SkipMap, ...] = ()
    """Lines that are no parts."""
    unknown: Names = ()
    """Words that say a figure is not known: n/a, k. A."""
    fields: dict[str, Text] = field(default_factory=dict)
    """Field that each column fills whole, by its header."""
    columns: dict[str, ColumnMap] = field(default_factory=dict)
    """Columns that are cut into several fields, by their header."""
    ignore: Names = ()
    """Headers of columns that are left out on purpose."""
    constants: dict[str, Text] = field(default_factory=dict)
    """Fields that are the same in every row, unless a cell fills them."""
    told: Names = ()
    """Fields that a row's other figures tell: shape and size by the hole, channels for bass by their power."""
    words: dict[str, dict[str, Text]] = field(default_factory=dict)
    """Field, then the supplier's word, then ours."""
    price_per: Annotated[str | None, ChoiceKind(("pack", "piece"))] = "pack"
    """Whether the price is for a pack or for one piece of it."""
    notes: Text = None
    """Anything else."""
