"""Labels and number formats of drawings, in the requested language.

Labels are the keys ``drawn.NAME`` of the catalog of messages in `matcher/words`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from matcher.errors import InputError
from matcher.lengths import length_text, shown_unit
from matcher.words import Messages, languages


@dataclass(frozen=True, slots=True)
class DrawingWords:
    """The words of one language, and its number format."""

    lang: str = "en"
    again: Callable[[str], str] = str
    """Translation of an English text of an answer; unchanged if there is none."""

    def __post_init__(self) -> None:
        if self.lang not in languages():
            raise InputError(f"no words for the language {self.lang!r}", fix=f"one of {', '.join(languages())}")

    def __call__(self, name: str, /, **filled: str) -> str:
        """Return a word or a sentence with its placeholders filled; usual names of places are translated."""
        translated = {place: self.again(fact) for place, fact in filled.items()}
        return Messages(self.lang)(f"drawn.{name}", **translated)

    def __contains__(self, name: str) -> bool:
        return f"drawn.{name}" in Messages(self.lang)

    def number(self, value: float | Decimal, digits: int = 2) -> str:
        """Format a number in this language, without trailing zeros."""
        shown = f"{round(float(value), digits) or 0:.{digits}f}"
        return self.marked(shown.rstrip("0").rstrip(".") if digits else shown)

    def marked(self, text: str) -> str:
        """Return a number's text with the decimal mark of this language."""
        return Messages(self.lang).marked(text)

    def mm(self, value: float | Decimal | None) -> str:
        """Format a length in the shop's unit; an unknown one gets its sign and what to do about it."""
        if value is None:
            return f"? {self('measure')}"
        return self.marked(length_text(value)) + (" in" if shown_unit("mm") == "in" else "")

    def size(self, w_mm: float | Decimal | None, h_mm: float | Decimal | None) -> str:
        """Format width by height; a round thing has only its width."""
        unknown = "?"
        wide = unknown if w_mm is None else self.mm(w_mm)
        return wide if h_mm is None and w_mm is not None else f"{wide} × {unknown if h_mm is None else self.mm(h_mm)}"


WORDS = DrawingWords()
"""English."""
