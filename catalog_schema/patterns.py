"""Bolt patterns of a flange as lists write them: a count of holes and their circle."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from catalog_schema.kinds import WordsKind, is_blank
from catalog_schema.notation import Notation
from catalog_schema.problems import FieldError

PATTERN = re.compile(r"(\d{1,2})\s*[x×*]\s*(?:ø\s*)?(\d{1,3}(?:[.,]\d{1,3})?)\s*(?:mm)?", re.IGNORECASE)


@dataclass(frozen=True)
class PatternsKind(WordsKind):
    """Bolt patterns as count and circle in mm, such as ``4x156``; in one cell they are parted by semicolons."""

    def read_filled(self, cell: object, notation: Notation) -> tuple[str, ...]:
        pieces = re.split(r"[;|/]", cell) if isinstance(cell, str) else cell
        if not isinstance(pieces, list | tuple):
            raise FieldError(cell, self.expects())
        return tuple(dict.fromkeys(self._pattern(piece) for piece in pieces if not is_blank(piece)))

    def _pattern(self, piece: object) -> str:
        found = PATTERN.fullmatch(str(piece).strip())
        if found is None or not 2 <= int(found[1]) <= 16:
            raise FieldError(piece, self.expects())
        circle = Decimal(found[2].replace(",", "."))
        if not 15 <= circle <= 460:
            raise FieldError(piece, self.expects())
        return f"{int(found[1])}x{circle.normalize():f}"

    def expects(self) -> str:
        return "bolt patterns such as 4x156; 2x130: a count of holes and their circle in mm"


Patterns = Annotated[tuple[str, ...] | None, PatternsKind()]
