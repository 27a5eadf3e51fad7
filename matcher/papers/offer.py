"""The packages of an answer as a customer compares them: some side by side, the others in one line each."""

from __future__ import annotations

from dataclasses import dataclass

from catalog_schema.answers import Line, Package, StepGain
from matcher.answers.gains import gains, is_noticed
from matcher.answers.messages import GAIN_WORDS
from matcher.drawings.svg import Drawing
from matcher.papers.columns import OfferColumn, same
from matcher.papers.measuring import figure_form
from matcher.papers.model import Card
from matcher.papers.proposal import offer_lead, package_card
from matcher.papers.writer import Writer


@dataclass(frozen=True, slots=True)
class OfferedPackage:
    """A package next to others."""

    letter: str
    """Its letter, the same as on the proposal."""
    package: Package
    card: Card
    lifted: str
    """The limit that it exceeds; empty if none."""
    dash: Drawing | None
    """The dash with its unit, if it can be drawn."""


@dataclass(frozen=True, slots=True)
class OtherPackage:
    """A package in one line: its advantages over the best one."""

    letter: str
    package: Package
    says: str
    dearer: str
    """Its price difference from the best one, with sign."""


@dataclass(frozen=True, slots=True)
class OpenFigure:
    """A figure to be measured: its subject, label, and effect."""

    name: str
    subject: str
    """As in `Shop.readings.add`, together with ``field``."""
    field: str
    unit: str
    title: str
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Offer:
    """The packages of an answer, in words and pictures."""

    lead: str
    cards: list[OfferedPackage]
    others: list[OtherPackage]
    drawings: dict[str, Drawing]
    """``today``, ``response`` and ``back``, if they can be drawn."""

    def shown(self, package_id: str) -> OfferedPackage | OtherPackage:
        """Return the package with an id, or by default the best one on a card."""
        every: list[OfferedPackage | OtherPackage] = [*self.cards, *self.others]
        best = next((one for one in self.cards if one.card.strong), every[0])
        return next((one for one in every if one.package.id == package_id), best)


def offer_of(writer: Writer) -> Offer:
    """Return the offer of a dossier; the letters of its other packages continue after the cards."""
    dossier = writer.dossier
    drawn = {name.removeprefix("offer/"): one for name, one in dossier.drawings.items() if name.startswith("offer/")}
    columns = dossier.offered
    best = next(one for one in columns if dossier.package is None or same(one.package, dossier.package))
    rest = [one for one in dossier.options.packages if not any(same(one, column.package) for column in columns)]
    return Offer(
        lead=offer_lead(writer, columns),
        cards=[
            OfferedPackage(
                one.letter, one.package, package_card(writer, columns, one), one.lifted, drawn.pop(one.letter, None)
            )
            for one in columns
        ],
        others=[_other(writer, chr(ord("A") + len(columns) + place), one, best) for place, one in enumerate(rest)],
        drawings=drawn,
    )


def open_figures(writer: Writer) -> list[OpenFigure]:
    """Return the figures that a dossier asks for in its order, without those that have no readings."""
    named = [(name, writer.wanted(name)) for name in writer.dossier.to_measure]
    return [
        OpenFigure(
            name,
            one.subject,
            one.path,
            one.unit,
            figure_title(writer, name),
            figure_form(writer, 1, name).lines,
        )
        for name, one in named
        if one.subject
    ]


def figure_title(writer: Writer, name: str) -> str:
    """Return the place and label of a figure."""
    figure = writer.wanted(name)
    return f"{writer.where(figure)}: {writer.what(figure)}"


def _other(writer: Writer, letter: str, package: Package, best: OfferColumn) -> OtherPackage:
    known = {(line.slot, line.opening_id, line.part_id, line.adapter_id) for line in best.package.lines}
    own = [line for line in package.lines if (line.slot, line.opening_id, line.part_id, line.adapter_id) not in known]
    heard = [gain for gain in gains(best.package, package) if is_noticed(gain)]
    sounds = "; ".join(_heard(writer, gain) for gain in heard) or writer.say("proposal.other.alike")
    parts = writer.listed([_named(writer, line) for line in own]) or writer.say("proposal.other.without")
    says = writer.say("proposal.other.as", letter=best.letter, parts=parts, sounds=sounds)
    dearer = package.price.total - best.package.price.total
    return OtherPackage(letter, package, says, writer.money(dearer, signed=True))


def _heard(writer: Writer, gain: StepGain) -> str:
    """Format a noticeable change in audible steps."""
    assert gain.before is not None and gain.after is not None
    change = float(gain.after - gain.before)
    place = "" if gain.where in ("whole", "bass") else f", {writer.place(gain.where)}"
    return f"{writer.rounded(abs(change), gain.unit)} {GAIN_WORDS[gain.criterion][change < 0]}{place}"


def _named(writer: Writer, line: Line) -> str:
    place = f" ({writer.place(line.opening_id)})" if line.opening_id else ""
    return f"{writer.line(line)}{place}"
