"""Where to measure: an opening as it is, with the requested dimension in bold."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from catalog_schema.columns import columns_of
from catalog_schema.figures import Figure
from catalog_schema.kinds import FigureKind
from catalog_schema.vehicles import OPENINGS, Cut, DashOpening, KeepClear, Opening
from matcher.drawings.dimension import Dims, Length, finished, length, per_for
from matcher.drawings.measuring_views import VIEWS, Span
from matcher.drawings.pens import BOLD
from matcher.drawings.svg import Canvas, Drawing, wrapped
from matcher.drawings.words import WORDS, DrawingWords
from matcher.errors import InputError

KEPT = re.compile(r"keep_clear\.(?P<name>.*)\.(?P<field>\w+)", re.DOTALL)
WIDE_MM, NOTE_COLUMNS = 36.0, 34
"""Width of the sketch, mm on paper, and of the note below: it is placed next to the box to write in."""


def measured_fields(kind: str) -> tuple[str, ...]:
    """Return every figure of a kind of opening that has a sketch: its own, its cut's, its surroundings'."""
    figures = [column.name for column in columns_of(OPENINGS[kind]) if isinstance(column.kind, FigureKind)]
    own = [name for name in figures if not name.endswith("_m")]  # a run goes through the whole car
    if kind in ("dash", "speaker"):
        own += [f"cut_{column.name}" for column in columns_of(Cut) if isinstance(column.kind, FigureKind)]
    if kind == "dash":
        own += [f"keep_clear.{column.name}" for column in columns_of(KeepClear) if isinstance(column.kind, FigureKind)]
    return tuple(own)


def is_sketched(kind: str, field: str) -> bool:
    """Whether there is a sketch of where a figure is measured; words such as the material behind have none."""
    kept = KEPT.fullmatch(field)
    return (f"keep_clear.{kept['field']}" if kept else field) in measured_fields(kind)


def measuring_sketch(opening: Opening, field: str, words: DrawingWords = WORDS, prefix: str = "measure") -> Drawing:
    """Draw where a figure of an opening is measured.

    Parameters
    ----------
    opening
        The opening; its unknown figures are sketched and dashed.
    field
        The figure, such as ``depth_mm``, ``cut_w_mm`` or ``keep_clear.hazard switch.x_mm``.

    Raises
    ------
    InputError
        if this kind of opening has no such figure.
    """
    kept = KEPT.fullmatch(field)
    plain = f"keep_clear.{kept['field']}" if kept else field
    if not is_sketched(opening.kind, field):
        fix = f"one of {', '.join(measured_fields(opening.kind))}"
        raise InputError(f"an opening of kind {opening.kind} has no figure {field!r}", fix=fix)
    keep = _keep(opening, kept["name"]) if kept else None
    return _Sketch(opening, plain, keep, words, prefix).drawn()


def _keep(opening: Opening, name: str) -> KeepClear | None:
    around = opening.keep_clear if isinstance(opening, DashOpening) else ()
    return next((keep for keep in around if keep.name == name), None)


@dataclass(frozen=True, slots=True)
class _Sketch:
    opening: Opening
    field: str
    keep: KeepClear | None
    words: DrawingWords
    prefix: str

    def drawn(self) -> Drawing:
        key = f"{self.opening.kind}.{self.field}"
        view = VIEWS[key]
        size = self._size()
        sheet = Canvas(self.prefix, per_for(view.widest(self.opening, self.keep), WIDE_MM))
        span = view.draw(sheet, self.opening, self.keep, self.field)
        self._dimension(sheet, span, self.words(f"name_{key}"), size)
        notes = wrapped(self.words(f"how_{key}"), NOTE_COLUMNS, 4)
        sheet.lines((sheet.left, sheet.bottom + sheet.paper(6)), notes)
        label = self.words(f"name_{key}")
        title = self.words("measuring", name=f"{label}, {self.words.again(self.keep.name)}" if self.keep else label)
        return finished(sheet, self.words, title, [self.words(f"how_{key}")], scaled=span is not None)

    def _size(self) -> Length:
        """Return the current value of the figure."""
        holder: object = self.opening
        name = self.field
        if name.startswith("keep_clear."):
            holder, name = self.keep, name.removeprefix("keep_clear.")
        elif name.startswith("cut_"):
            holder, name = getattr(self.opening, "cut", None), name.removeprefix("cut_")
        figure = getattr(holder, name, None)
        return length(figure if isinstance(figure, Figure) else None, 0.0)

    def _dimension(self, sheet: Canvas, span: Span | None, name: str, size: Length) -> None:
        """Draw the dimension in bold, outside of everything else; a figure that is no length is stated in words."""
        length = Length(size.mm, size.known)
        if span is None:
            text = f"{name}: {self.words.mm(size.mm if size.known else None)}"
            sheet.text((sheet.left, sheet.bottom + sheet.paper(6)), text, bold=True)
            return
        dims = Dims(sheet, self.words)
        across: Callable[..., None] = dims.above if span.over else dims.below
        place = across if span.across else dims.right
        place(span.start, span.end, span.edge, name, length, BOLD)
