"""An opening to draw, possibly with a part and an adapter in it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Generic, TypeVar

from catalog_schema.checks import Check, Fit
from catalog_schema.figures import Figure
from catalog_schema.parts import Adapter, HeadUnit, Part, Speaker
from catalog_schema.vehicles import DashOpening, Opening, SpeakerOpening
from matcher.drawings.words import DrawingWords
from matcher.settings import DEFAULT_SETTINGS, Settings

OpeningT = TypeVar("OpeningT", bound=Opening)
PartT = TypeVar("PartT", bound=Part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed(Generic[OpeningT, PartT]):
    """An opening with the mounted part and its fit."""

    opening: OpeningT
    part: PartT | None = None
    adapter: Adapter | None = None
    fit: Fit | None = None
    """The fit of that part at that opening, which gives the drawn verdicts, turn and cut."""
    rise_mm: Decimal | None = None
    """Height of a floating screen's center above the body's, as chosen by the rules."""
    settings: Settings = DEFAULT_SETTINGS

    @property
    def name(self) -> str:
        """Label of the opening."""
        return self.opening.label or self.opening.opening_id

    @property
    def forward_mm(self) -> float:
        """Distance by which the adapter moves the part toward the cabin; 0 if unknown."""
        return 0.0 if self.adapter is None or self.adapter.forward_mm is None else float(self.adapter.forward_mm.value)

    def check(self, rule: str, about: str = "") -> Check | None:
        """Return margin and verdict of a rule, if it was evaluated."""
        checks = [] if self.fit is None else self.fit.checks
        return next((check for check in checks if check.rule == rule and (not about or check.about == about)), None)

    def says(self, words: DrawingWords) -> list[str]:
        """Return the caption: the mounted part, and whether it fits, in sentences."""
        sentences = []
        if self.part is not None:
            sentences.append(words("with_part", part=part_name(self.part)))
        if self.adapter is not None:
            sentences.append(words("with_adapter", adapter=part_name(self.adapter)))
        if self.fit is not None:
            sentences.append(f"{words(f'verdict_{self.fit.verdict}').capitalize()}.")
        return sentences


PlacedHeadUnit = Placed[DashOpening, HeadUnit]
PlacedSpeaker = Placed[SpeakerOpening, Speaker]


def part_name(part: Part) -> str:
    """Maker and model."""
    return f"{part.maker} {part.model}"


def value(figure: Figure | None) -> float | None:
    """A figure as a number."""
    return None if figure is None else float(figure.value)


def tall(shape: str | None, w: Figure | None, h: Figure | None) -> Figure | None:
    """Return the height of a thing; for a round one it defaults to the width."""
    return w if shape == "round" and h is None else h
