"""Templates of maps: how a cell is cut into fields, such as ``{cutout_w_mm} x {cutout_h_mm}``.

A name in braces matches its field's form: a number with its unit for a figure, digits for a count, one of its words for
a
choice, any text for the rest. All other text is literal, ignoring case and spaces; a unit matches in any of its
spellings.
Matching tries each position of a cell once for each piece of the template, so its time is bounded for any template.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from catalog_schema.agreements import is_nominal_size
from catalog_schema.columns import TableColumn
from catalog_schema.kinds import NO_WORDS, YES_WORDS, ChoiceKind, CountKind, FigureKind, FlagKind, MoneyKind, WordsKind
from catalog_schema.maps import ANY, TIMES
from catalog_schema.units import known_units, unit_spelled

SIZE = "size"
"""The field for nominal sizes, recognized by their form: 6x9, 165 mm."""
LONGEST_CELL = 1_000
"""Longer cells are not cut."""
MOST_PIECES = 60
GAUGES = ("awg", "ga", "gauge")
_NAME = re.compile(r"\{(\w*)\}|([{}])")
_TOKEN = re.compile(r"[^\W\d_]+[²³]?|\d+(?:[.,]\d+)?|[^\w\s]|_")
_NUMBERS = (
    re.compile(r"[+-]?\d{1,9}(?: ?- ?| )\d{1,4}[/⁄]\d{1,4}(?!\d)"),
    re.compile(r"[+-]?\d{1,4}[/⁄]\d{1,4}(?!\d)"),
    re.compile(r"\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?![\d.,])"),
    re.compile(r"[+-]?(?:\d+(?:[.,']\d+)*|[.,]\d+)"),
)
_AMOUNT = re.compile(
    r"(?:(?:[€$£]|[a-z]{3}\b) ?)?\d+(?:[.,' ]\d+)*(?:[.,]-+)?(?: ?(?:[€$£]|(?:eur|usd|gbp|chf)\b))?", re.I
)
_BAND = re.compile(r" ?(?:±|\+/-) ?\d+(?:[.,]\d+)?")
_AGAIN = re.compile(r" ?\( ?\d[\d .,/⁄-]*(?:mm|cm|in|inch|\"|'')\.? ?\)", re.IGNORECASE)
_THOUSAND = re.compile(r"k(?![^\W\d_])", re.IGNORECASE)
_UNIT = re.compile(r" ?((?:(?:cu|sq)\.? ?)?(?:''|[\"'%]|[^\W\d_]+[23²³]?))\.?(?![^\W_])", re.IGNORECASE)
_SIZE = re.compile(
    r"\d+(?:[.,]\d+)?(?:[ -]\d+[/⁄]\d+)?(?: ?[x×] ?\d+(?:[.,]\d+)?(?: ?(?:\"|''|(?:in|inch|cm|mm|zoll)\b))?"
    r"| ?(?:\"|''|(?:in|inch|cm|mm|zoll)\b))",
    re.IGNORECASE,
)
_COUNT = re.compile(r"\d{1,7}(?![\d.,]\d)")


@dataclass(frozen=True, slots=True)
class Literal:
    """Literal text; a unit in any spelling."""

    text: str
    unit: str | None

    def ends(self, cell: str, start: int) -> Iterator[int]:
        """Yield its possible end positions from a start."""
        if cell[start : start + len(self.text)].casefold() == self.text:
            yield start + len(self.text)
        if self.unit and (found := _UNIT.match(cell, start)) and unit_spelled(found[1]) == self.unit:
            yield found.end()


@dataclass(frozen=True, slots=True)
class TemplateField:
    """A name in braces, and the texts it matches."""

    name: str
    kind: object
    words: tuple[str, ...]
    """Words it matches in addition to its kind's form, longest first."""

    def ends(self, cell: str, start: int) -> Iterator[int]:
        """Yield its possible end positions from a start, likeliest first."""
        low = cell[start:].casefold()
        for word in self.words:
            behind = low[len(word) : len(word) + 1]
            if low.startswith(word) and not (behind.isalpha() if word[-1].isalnum() else behind.isalnum()):
                yield start + len(word)
        if self.name == SIZE:
            yield from (found.end() for found in [_SIZE.match(cell, start)] if found and is_nominal_size(found[0]))
        elif isinstance(self.kind, FigureKind):
            yield from _figure_ends(cell, start, self.kind.unit)
        elif isinstance(self.kind, MoneyKind):
            yield from (found.end() for found in [_AMOUNT.match(cell, start)] if found)
        elif isinstance(self.kind, CountKind):
            yield from (found.end() for found in [_COUNT.match(cell, start)] if found)
        elif not isinstance(self.kind, ChoiceKind | FlagKind):
            yield from range(start + 1, len(cell) + 1)


Piece = Literal | TemplateField


@dataclass(frozen=True, slots=True)
class Match:
    """A match in a cell: the text of each name, and its position."""

    texts: tuple[tuple[str, str], ...]
    units: Mapping[str, str]
    """Units of figures in the template itself."""
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Template:
    """A compiled template."""

    pieces: tuple[Piece, ...]

    @property
    def names(self) -> list[str]:
        """The names in braces that are kept."""
        return [
            piece.name for piece in self.pieces if isinstance(piece, TemplateField) and piece.name not in (ANY, TIMES)
        ]

    @property
    def counts(self) -> bool:
        """Whether it has a multiplier for its figures."""
        return any(isinstance(piece, TemplateField) and piece.name == TIMES for piece in self.pieces)

    def matches(self, cell: str) -> Match | None:
        """Match a whole cell."""
        return self._at(cell, 0, set(), whole=True)

    def find(self, cell: str) -> Match | None:
        """Return the first match in a cell that begins at a word or a number."""
        failed: set[tuple[int, int]] = set()
        for start in range(len(cell)):
            inside = start > 0 and cell[start].isalnum() and cell[start - 1].isalnum()
            if not inside and (found := self._at(cell, start, failed, whole=False)):
                return found
        return None

    def _at(self, cell: str, start: int, failed: set[tuple[int, int]], *, whole: bool) -> Match | None:
        if len(cell) > LONGEST_CELL:
            return None
        ends = _follow(self.pieces, cell, 0, start, failed, whole)
        if ends is None:
            return None
        texts, begin = [], start
        for piece, end in zip(self.pieces, ends, strict=True):
            if isinstance(piece, TemplateField):
                texts.append((piece.name, cell[begin:end].strip()))
            begin = end
        return Match(tuple(texts), self._told_units(), start, ends[-1])

    def _told_units(self) -> dict[str, str]:
        found = {}
        for piece, behind in zip(self.pieces, self.pieces[1:], strict=False):
            if not (
                isinstance(piece, TemplateField) and isinstance(piece.kind, FigureKind) and isinstance(behind, Literal)
            ):
                continue
            if behind.unit in known_units(piece.kind.unit):
                found[piece.name] = behind.unit or ""
        return found


def _follow(
    pieces: Sequence[Piece], cell: str, place: int, start: int, failed: set[tuple[int, int]], whole: bool
) -> list[int] | None:
    """Return the end of each piece from one on; None if they do not match. A failed position is not tried again."""
    if place == len(pieces):
        return [] if not whole or not cell[start:].strip() else None
    if (place, start) in failed:
        return None
    begin = start
    while begin < len(cell) and cell[begin] == " ":
        begin += 1
    for end in pieces[place].ends(cell, begin):
        rest = _follow(pieces, cell, place + 1, end, failed, whole)
        if rest is not None:
            return [end, *rest]
    failed.add((place, start))
    return None


def _figure_ends(cell: str, start: int, unit: str) -> Iterator[int]:
    begin = start + 1 if cell[start : start + 1] in ("Ø", "ø", "⌀") else start
    while begin < len(cell) and cell[begin] == " " and begin > start:
        begin += 1
    for form in _NUMBERS:
        number = form.match(cell, begin)
        if number is None:
            continue
        end = number.end()
        if band := _BAND.match(cell, end):
            end = band.end()
        if thousand := _THOUSAND.match(cell, end) if unit == "hz" else None:
            end = thousand.end()
        if (behind := _UNIT.match(cell, end)) and unit_spelled(behind[1]) in known_units(unit):
            if again := _AGAIN.match(cell, behind.end()):
                yield again.end()
            yield behind.end()
        yield end


def make_template(text: str, columns: Mapping[str, TableColumn], words: Mapping[str, Sequence[str]]) -> Template:
    """Compile a template.

    Parameters
    ----------
    words
        Words for each field, in lower case; those under an empty name apply to every field.

    Raises
    ------
    ValueError
        if it is invalid, with the reason.
    """
    pieces: list[Piece] = []
    place = 0
    for found in _NAME.finditer(text):
        if found[2] or not found[1]:
            raise ValueError("a brace stands around the name of a field: {depth_mm}")
        pieces += _literals(text[place : found.start()])
        if pieces and isinstance(pieces[-1], TemplateField) and not text[place : found.start()]:
            raise ValueError(f"something has to stand between {{{pieces[-1].name}}} and {found[0]}")
        pieces.append(_slot(found[1], columns, words))
        place = found.end()
    pieces += _literals(text[place:])
    if not pieces or len(pieces) > MOST_PIECES:
        raise ValueError(f"a template has 1 to {MOST_PIECES} words and names")
    return Template(tuple(pieces))


def _literals(text: str) -> list[Piece]:
    tokens = [token.casefold() for token in _TOKEN.findall(text)]
    return [Literal(token, "awg" if token in GAUGES else unit_spelled(token)) for token in tokens]


def _slot(name: str, columns: Mapping[str, TableColumn], words: Mapping[str, Sequence[str]]) -> TemplateField:
    if name == TIMES:
        return TemplateField(name, CountKind(), ())
    column = columns.get(name)
    kind = column.kind if column else None
    own = [*words.get(name, ()), *(words.get("", ()) if name not in (ANY, SIZE) else ())]
    if isinstance(kind, ChoiceKind | WordsKind):
        own += [choice.replace("_", " ") for choice in kind.choices]
    elif isinstance(kind, FlagKind):
        own += [*YES_WORDS, *NO_WORDS]
    return TemplateField(name, kind, tuple(sorted(set(own), key=lambda word: (-len(word), word))))


@lru_cache(maxsize=256)
def template_words(text: str) -> frozenset[str]:
    """Return the names in braces of a template's text.

    >>> sorted(template_words("{rms_w} / {peak_w} W"))
    ['peak_w', 'rms_w']
    """
    return frozenset(found[1] for found in _NAME.finditer(text) if found[1])
