"""One fault of a file, a document or a value: its place, the value found, what was expected, and a fix."""

from __future__ import annotations

from typing import NamedTuple


class Problem(NamedTuple):
    """One fault and its place: file, row, column (or path in a document), value, what was expected, a fix."""

    expected: str
    file: str = ""
    row: int | None = None
    column: str = ""
    found: str = ""
    fix: str = ""
    alternatives: tuple[str, ...] = ()
    """Possible readings of an ambiguous text: one of them has to be chosen."""

    def __str__(self) -> str:
        place = ":".join(str(piece) for piece in (self.file, self.row) if piece not in ("", None))
        head = "  ".join(piece for piece in (place, self.column) if piece)
        fact = f"found {self.found!r}, expected {self.expected}" if self.found else self.expected
        line = f"{head}: {fact}" if head else fact
        return f"{line}\n  fix: {self.fix}" if self.fix else line


class FieldError(ValueError):
    """A cell that cannot be read: the text found, the expected form, and a fix.

    ``alternatives`` are the possible meanings of an ambiguous text, likeliest first, to choose from.
    """

    def __init__(self, found: object, expected: str, fix: str = "", alternatives: tuple[str, ...] = ()) -> None:
        self.found, self.expected, self.fix, self.alternatives = shorten(found), expected, fix, alternatives
        super().__init__(self.found, expected, fix, alternatives)

    def __str__(self) -> str:
        return f"found {self.found!r}, expected {self.expected}" + (f"; {self.fix}" if self.fix else "")

    def at(self, column: str, file: str = "", row: int | None = None) -> Problem:
        """Return the fault with its place."""
        return Problem(self.expected, file, row, column, self.found, self.fix, self.alternatives)


def shorten(cell: object, most: int = 60) -> str:
    """Return the cell as short, clean text for a message."""
    text = cell if isinstance(cell, str) else str(cell).lower() if isinstance(cell, bool) else str(cell)
    text = text[: most + 1].encode("utf-8", "backslashreplace").decode("utf-8").replace("\x00", "\\0")
    return text if len(text) <= most else text[: most - 1] + "…"
