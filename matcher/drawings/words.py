"""The words of the drawings and how numbers are written, in the language that is asked for.

A language is a file with a table: `english.py`, `german.py`. All tables have the same names.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from matcher.drawings.english import ENGLISH
from matcher.drawings.german import GERMAN
from matcher.errors import InputError

TABLES: Mapping[str, Mapping[str, str]] = {"en": ENGLISH, "de": GERMAN}


@dataclass(frozen=True, slots=True)
class Words:
    """The words of one language, and how it writes numbers."""

    lang: str = "en"
    inches: bool = False
    """Whether lengths are told in inches, too."""
    again: Callable[[str], str] = str
    """How a text of an answer, which is English, is said in this language; as it stands where nobody knows better."""

    def __post_init__(self) -> None:
        if self.lang not in TABLES:
            raise InputError(f"no words for the language {self.lang!r}", cure=f"one of {', '.join(TABLES)}")

    def __call__(self, name: str, /, **filled: str) -> str:
        """A word or a sentence, its places filled."""
        table = TABLES[self.lang]
        # What is filled in may hold braces of its own: places are replaced one by one, never formatted twice.
        text = table[name]
        pieces = [piece.partition("}") for piece in text.split("{")]
        return pieces[0][0] + "".join(filled[place] + rest for place, _, rest in pieces[1:])

    def __contains__(self, name: str) -> bool:
        return name in TABLES[self.lang]

    def number(self, value: float | Decimal, digits: int = 2) -> str:
        """A number as this language writes it, without needless zeros."""
        text = f"{float(value):.{digits}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        text = "0" if text == "-0" else text
        return text.replace(".", ",") if self.lang == "de" else text

    def mm(self, value: float | Decimal | None) -> str:
        """A length in millimeters, or the sign of the unknown with what to do about it."""
        return " ".join(self.mm_lines(value))

    def mm_lines(self, value: float | Decimal | None) -> list[str]:
        """The same in lines: the inches have one of their own."""
        if value is None:
            return [f"? {self('measure')}"]
        inches = [f"({self.number(float(value) / 25.4)} in)"] if self.inches else []
        return [self.number(value), *inches]

    def size(self, w_mm: float | Decimal | None, h_mm: float | Decimal | None) -> str:
        """Width by height; a round thing has its width alone."""
        unknown = "?"
        wide = unknown if w_mm is None else self.mm(w_mm)
        return wide if h_mm is None and w_mm is not None else f"{wide} × {unknown if h_mm is None else self.mm(h_mm)}"


WORDS = Words()
"""English, in millimeters."""
