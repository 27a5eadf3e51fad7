"""Kinds of fields in tables and documents: how each is parsed, stored and published.

A kind is given next to the type in an annotation (``depth_mm: Size = None``) and is the only definition of the field's
valid contents. List loading, document checks, the store's columns and the published schemas all use it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, ClassVar, get_args, get_origin

from catalog_schema.figure_fixes import shown_cell
from catalog_schema.figures import DEFAULT_TOL_MM, Figure, read_figure, read_number
from catalog_schema.money import check_currency, read_amount
from catalog_schema.notation import EITHER, Notation
from catalog_schema.printable import is_name
from catalog_schema.printable import is_printable as is_printable
from catalog_schema.problems import FieldError

LONGEST_MM = Decimal(20_000)
"""Maximum length of a part or opening of a road vehicle, 20 m: anything longer has a wrong unit."""

STRICT: dict[str, Any] = {"extra": "forbid", "use_attribute_docstrings": True}
"""Pydantic settings of the models: unknown fields are errors, and attribute docstrings are descriptions."""

YES_WORDS = frozenset({"yes", "y", "true", "1", "ja", "x"})
NO_WORDS = frozenset({"no", "n", "false", "0", "nein"})


def is_blank(cell: object) -> bool:
    """Return whether the cell is blank: the field is then unknown, never zero."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


@dataclass(frozen=True)
class Kind:
    """Base class of kinds of fields; a blank cell is None for all of them."""

    sql_type: ClassVar[str] = "VARCHAR"

    def read(self, cell: object, notation: Notation = EITHER) -> object:
        """Parse a cell, None if blank; ``notation`` is the format of its numbers and amounts.

        Raises
        ------
        FieldError
            if the cell cannot be parsed, or is outside the field's range.
        """
        return None if is_blank(cell) else self.read_filled(cell, notation)

    def read_filled(self, cell: object, notation: Notation) -> object:
        raise NotImplementedError

    def json_schema(self) -> dict[str, Any]:
        raise NotImplementedError

    def expects(self) -> str:
        """Return the expected value in words."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        # Pydantic only generates the published schemas: parsing is in `read`.
        from pydantic_core import core_schema

        return core_schema.any_schema()

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        return self.json_schema()


def kind_in(hint: Any) -> Kind | None:
    """Return the kind in a field's type annotation; None for a part of a document with its own fields."""
    if get_origin(hint) is Annotated:
        return next((note for note in get_args(hint)[1:] if isinstance(note, Kind)), None)
    return None


@dataclass(frozen=True)
class FigureKind(Kind):
    """A number in a unit, with tolerance and basis if known."""

    unit: str
    least: int | None = 0
    above: int | None = None

    sql_type: ClassVar[str] = "DECIMAL(15,6)"

    def read_filled(self, cell: object, notation: Notation) -> Figure:
        figure = read_figure(cell, self.unit, notation=notation)
        if figure is None:  # an object without a value
            raise FieldError(cell, self.expects())
        self.check_range(figure.value, cell)
        return figure

    def check_range(self, value: Decimal, cell: object) -> None:
        """Refuse a value that no real part or place can have."""
        if not self.lowest <= value <= self.most or (self.above is not None and value <= self.above):
            raise FieldError(cell if not isinstance(cell, dict) else value, self.expects())

    @property
    def lowest(self) -> Decimal:
        return -self.most if self.least is None else Decimal(self.least)

    @property
    def most(self) -> Decimal:
        return LONGEST_MM if self.unit == "mm" else Decimal(100_000_000)

    def expects(self) -> str:
        bound = f"over {self.above}" if self.above is not None else f"{self.lowest} or more"
        top = f", at most {self.most}" if self.unit == "mm" else ""
        unit = "" if self.unit == "n" else f" in {self.unit}"
        return f"a number{unit}, {bound}{top}"

    def json_schema(self) -> dict[str, Any]:
        schema: dict[str, Any] = {"type": ["number", "string", "object", "null"], "unit": self.unit}
        if self.above is not None:
            schema["exclusiveMinimum"] = self.above
        elif self.least is not None:
            schema["minimum"] = self.least
        if self.unit == "mm":
            schema["maximum"] = int(self.most)
        return schema | {
            "properties": {
                "value": {"type": ["number", "string"]},
                "tol": {"type": ["number", "string", "null"]},
                "basis": {"enum": [*DEFAULT_TOL_MM, None]},
            },
            "required": ["value"],
            "additionalProperties": False,
        }


@dataclass(frozen=True)
class FilterKind(FigureKind):
    """The frequency of a filter; a word for no filter is 0."""

    def read_filled(self, cell: object, notation: Notation) -> Figure:
        if as_word(cell) in ("none", "no", "without"):
            return Figure(Decimal(0))
        return super().read_filled(cell, notation)

    def expects(self) -> str:
        return f"{super().expects()}; none: there is no such filter"


@dataclass(frozen=True)
class CountKind(Kind):
    """A whole number of things."""

    least: int = 0
    most: int = 1_000_000
    unit: str = "n"

    sql_type: ClassVar[str] = "INTEGER"

    def read_filled(self, cell: object, notation: Notation) -> int:
        try:
            number = read_number(cell, self.unit, notation)
        except FieldError as error:
            if error.alternatives:
                raise FieldError(cell, self.expects(), error.fix, error.alternatives) from None
            number = None
        if number is None or number != int(number) or not self.least <= number <= self.most:
            raise FieldError(cell, self.expects())
        return int(number)

    def expects(self) -> str:
        if self.most >= 1_000_000:
            return f"a whole number, {self.least} or more"
        return f"a whole number from {self.least} to {self.most}"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["integer", "string", "null"], "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True)
class MoneyKind(Kind):
    """An amount in the shop's currency, exact to the cent."""

    sql_type: ClassVar[str] = "DECIMAL(12,2)"

    def read_filled(self, cell: object, notation: Notation) -> Decimal:
        check_currency(cell, notation.currency)
        try:
            amount = read_amount(cell, notation)
        except FieldError as error:
            fix = error.fix if error.alternatives else ""
            raise FieldError(cell, self.expects(), fix, error.alternatives) from None
        if amount is None or not 0 <= amount < 10**9 or amount != round(amount, 2):
            raise FieldError(cell, self.expects())
        return round(amount, 2)

    def expects(self) -> str:
        return "an amount such as 129.90, 0 or more, at most two decimals"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["number", "string", "null"], "minimum": 0}


@dataclass(frozen=True)
class TextKind(Kind):
    """Text or a number of the supplier's, stored unchanged."""

    longest: int = 2000

    def read_filled(self, cell: object, notation: Notation) -> str:
        if isinstance(cell, bool) or not isinstance(cell, str | int | float | Decimal):
            raise FieldError(cell, self.expects())
        text = str(cell).strip()
        if len(text) > self.longest or not is_printable(text):
            raise FieldError(text, self.expects())
        return text

    def expects(self) -> str:
        return f"text of at most {self.longest} characters"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["string", "number", "null"], "maxLength": self.longest}


@dataclass(frozen=True)
class NameKind(TextKind):
    """A name or a label: one line that reads as written."""

    longest: int = 400

    def read_filled(self, cell: object, notation: Notation) -> str:
        text = super().read_filled(cell, notation)
        if not is_name(text) and not notation.kept:
            raise FieldError(shown_cell(text), "one line, without control characters and marks of direction", RETYPE)
        return text

    def expects(self) -> str:
        return f"one line of at most {self.longest} characters"


RETYPE = "type it anew rather than copy it"


@dataclass(frozen=True)
class ChoiceKind(Kind):
    """One word of a fixed set."""

    choices: tuple[str, ...]

    def read_filled(self, cell: object, notation: Notation) -> str:
        word = as_word(cell)
        if word not in self.choices:
            raise FieldError(cell, self.expects())
        return word

    def expects(self) -> str:
        return "one of " + ", ".join(self.choices)

    def json_schema(self) -> dict[str, Any]:
        return {"enum": [*self.choices, None]}


@dataclass(frozen=True)
class FlagKind(Kind):
    """Yes or no."""

    sql_type: ClassVar[str] = "BOOLEAN"

    def read_filled(self, cell: object, notation: Notation) -> bool:
        if isinstance(cell, bool):
            return cell
        word = as_word(cell)
        if word not in YES_WORDS | NO_WORDS:
            raise FieldError(cell, self.expects())
        return word in YES_WORDS

    def expects(self) -> str:
        return "yes or no"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["boolean", "string", "integer", "null"]}


@dataclass(frozen=True)
class WordsKind(Kind):
    """Several words in any order, separated in one cell by semicolons or commas."""

    choices: tuple[str, ...] = ()

    sql_type: ClassVar[str] = "VARCHAR[]"

    def read_filled(self, cell: object, notation: Notation) -> tuple[str, ...]:
        pieces = re.split(r"[;,|]", cell) if isinstance(cell, str) else cell
        if not isinstance(pieces, list | tuple):
            raise FieldError(cell, self.expects())
        words = tuple(dict.fromkeys(as_word(piece) for piece in pieces if not is_blank(piece)))
        wrong = [word for word in words if self.choices and word not in self.choices]
        if wrong or any(len(word) > 200 or not is_printable(word) for word in words):
            raise FieldError(wrong[0] if wrong else cell, self.expects())
        return words

    def expects(self) -> str:
        return "words of " + ", ".join(self.choices) if self.choices else "words parted by semicolons"

    def json_schema(self) -> dict[str, Any]:
        items: dict[str, Any] = {"enum": list(self.choices)} if self.choices else {"type": "string"}
        return {"type": ["array", "string", "null"], "items": items}


@dataclass(frozen=True)
class NamesKind(Kind):
    """Several names, stored unchanged."""

    sql_type: ClassVar[str] = "VARCHAR[]"

    def read_filled(self, cell: object, notation: Notation) -> tuple[str, ...]:
        pieces = re.split(r"[;,|]", cell) if isinstance(cell, str) else cell
        if not isinstance(pieces, list | tuple):
            raise FieldError(cell, self.expects())
        names = (NameKind(200).read(piece, notation) for piece in pieces)
        return tuple(dict.fromkeys(str(name) for name in names if name is not None))

    def expects(self) -> str:
        return "a list of names"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["array", "string", "null"], "items": {"type": "string"}}


def as_word(cell: object) -> str:
    """Convert a cell to a lower-case word with single underscores: ``Moving glass`` is ``moving_glass``."""
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    return re.sub(r"[\s_-]+", "_", str(cell).strip().lower())


Size = Annotated[Figure | None, FigureKind("mm", above=0)]
"""A positive length."""
Gap = Annotated[Figure | None, FigureKind("mm")]
"""A length that may be 0."""
Place = Annotated[Figure | None, FigureKind("mm", least=None)]
"""A position or an offset, which may be negative."""
Inches = Annotated[Figure | None, FigureKind("in", above=0)]
Meters = Annotated[Figure | None, FigureKind("m")]
Watts = Annotated[Figure | None, FigureKind("w")]
Ohms = Annotated[Figure | None, FigureKind("ohm", above=0)]
Volts = Annotated[Figure | None, FigureKind("v")]
Amps = Annotated[Figure | None, FigureKind("a")]
Milliamps = Annotated[Figure | None, FigureKind("ma")]
AmpHours = Annotated[Figure | None, FigureKind("ah", above=0)]
Hertz = Annotated[Figure | None, FigureKind("hz", above=0)]
FilterHertz = Annotated[Figure | None, FilterKind("hz")]
"""The frequency of a filter; 0 if there is none."""
Decibels = Annotated[Figure | None, FigureKind("db", least=None)]
Liters = Annotated[Figure | None, FigureKind("l", above=0)]
Kilograms = Annotated[Figure | None, FigureKind("kg")]
SquareCm = Annotated[Figure | None, FigureKind("cm2", above=0)]
SquareMm = Annotated[Figure | None, FigureKind("mm2", above=0)]
Hours = Annotated[Figure | None, FigureKind("h")]
Percent = Annotated[Figure | None, FigureKind("pct")]
Ratio = Annotated[Figure | None, FigureKind("n", above=0)]
Money = Annotated[Decimal | None, MoneyKind()]
Count = Annotated[int | None, CountKind()]
Days = Annotated[int | None, CountKind(unit="days")]
Several = Annotated[int | None, CountKind(least=1)]
Text = Annotated[str | None, TextKind()]
Id = Annotated[str, NameKind(longest=200)]
Label = Annotated[str | None, NameKind(longest=2000)]
"""Name of a thing at the counter."""
Flag = Annotated[bool | None, FlagKind()]
Words = Annotated[tuple[str, ...] | None, WordsKind()]
Names = Annotated[tuple[str, ...] | None, NamesKind()]

SHAPES = ("round", "oval", "rect")
ROUTES = ("forced_ignition", "hot_wire", "tow", "glass", "equipment")
"""Routes of theft, of the vehicle or of its equipment, that a security layer covers."""
