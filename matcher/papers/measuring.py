"""The measuring sheet: a page per place, with a box for each missing or imprecise figure, missing ones first."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR
from itertools import count
from shlex import quote

from catalog_schema.answers import Check, Package
from catalog_schema.whys import Measure
from matcher.papers.clearances import clearance_table, tightest
from matcher.papers.codes import code, page_address
from matcher.papers.model import Block, Box, Document, Form, Frames, Items, Para, Picture, Section
from matcher.papers.numbers import SIGNS
from matcher.papers.wanted import FigureName
from matcher.papers.writer import Writer

SECOND_LOOK = 6
"""Number of clearances worth a second look."""
SKETCH_MM = 66.0
"""Width of a sketch next to its box."""


def measuring(writer: Writer) -> Document:
    """Return the paper to be filled in at the car: a page per place, missing figures first."""
    before = tuple(writer.say(f"measuring.before.{name}") for name in ("unknown", "twice", "by"))
    blocks: list[Block] = [
        Para(text=writer.say("measuring.lead"), tone="lead"),
        Items(items=before),
        *_places(writer, writer.dossier.to_measure),
        *_second_look(writer, writer.package),
        writer.cautions("measuring"),
    ]
    return writer.document("measuring", blocks)


def _places(writer: Writer, names: list[str]) -> list[Block]:
    """Return a page per opening in the order of importance, then one for parts and the car itself.

    A frame for a sketch fills the rest of an opening's page.
    """
    places: dict[str, list[str]] = {}
    for name in sorted(names, key=lambda name: not writer.wanted(name).opening_id):
        opening_id = writer.wanted(name).opening_id
        place = writer.place(opening_id) if opening_id else writer.say("measuring.elsewhere")
        places.setdefault(place, []).append(name)
    numbers, made = count(1), list[Block]()
    for place, own in places.items():
        unknown_first = sorted(own, key=lambda name: not _is_unknown(writer, name))
        forms = tuple(figure_form(writer, next(numbers), name) for name in unknown_first)
        made.append(Section(title=place, blocks=forms, new_page=bool(made)))
        if writer.wanted(own[0]).opening_id:
            made.append(Frames(labels=(writer.say("measuring.notes"),), high_mm=None))
    return made


def _is_unknown(writer: Writer, name: str) -> bool:
    """Whether a figure is missing; otherwise it is imprecise."""
    stake = writer.dossier.at_stake(name)
    if stake is not None:
        return stake.is_missing
    return any(name in check.missing for check in writer.package.checks)


def figure_form(writer: Writer, number: int, name: str) -> Form:
    """Return the form of one figure: label, precision, effect, boxes to write in, and how to enter the result."""
    figure = writer.wanted(name)
    checks = _deciding(writer.package, name)
    lines = [_wanted_to(writer, figure, checks, name)]
    stake = writer.dossier.at_stake(name)
    lines += [] if stake is None else _stake(writer, stake)
    if checks:
        lines.append(writer.say("measuring.decides", what="; ".join(dict.fromkeys(map(writer.compares, checks)))))
    page = writer.dossier.settings.word("page_address")
    return Form(
        title=f"{number} · {_title(writer, figure)}",
        lines=tuple(filter(None, lines)),
        rows=(_boxes(writer, figure),),
        command="" if page else _command(writer, figure),
        drawing=_sketch(writer, name),
        code=_code(writer, figure, page),
        quiet=not _is_unknown(writer, name),
    )


def _title(writer: Writer, figure: FigureName) -> str:
    """Return the label of the figure, with its place unless the whole page is about that opening."""
    if figure.opening_id and not figure.item:
        return writer.what(figure)
    return f"{writer.where(figure)}: {writer.what(figure)}"


def _boxes(writer: Writer, figure: FigureName) -> tuple[Box, ...]:
    """Return a box for the figure (two for a pair of places), its precision, and the initials."""
    unit = SIGNS.get(figure.unit, figure.unit)
    is_pair = figure.unit != "" and (writer.dossier.opening(figure.opening_id).get("count") or 1) > 1
    sides = ("left", "right") if is_pair else ("value",)
    close = [Box(label=writer.say("measuring.tolerance"), unit=unit)] if figure.unit else []
    values = [Box(label=writer.say(f"measuring.{side}"), unit=unit, wide=True) for side in sides]
    return (*values, *close, Box(label=writer.say("measuring.by")))


def _code(writer: Writer, figure: FigureName, page: str) -> Picture | None:
    if not page or not figure.subject:
        return None
    address = page_address(page, "reading", subject=figure.subject, field=figure.path)
    return code(address, writer.say("measuring.code", what=writer.what(figure)), writer.say("measuring.scan"))


def _stake(writer: Writer, stake: Measure) -> list[str]:
    """Describe the deciding value, and the winner on either side of it."""
    bounds = (("from", stake.fits_from, ROUND_CEILING), ("up_to", stake.fits_up_to, ROUND_FLOOR))
    sentences = [
        writer.say(f"measuring.{name}", value=writer.numbers.bound(value, stake.unit, rounding))
        for name, value, rounding in bounds
        if value is not None
    ]
    prices = [None if one is None else writer.money(one.price.total) for one in (stake.inside, stake.outside)]
    sentences.append(writer.say("measuring.inside", price=prices[0] or ""))
    sentences.append(writer.say("measuring.outside" if prices[1] else "measuring.nothing_else", price=prices[1] or ""))
    return [" ".join(sentences)]


def _deciding(package: Package, name: str) -> list[Check]:
    """Return the checks that a figure leaves open."""
    return [check for check in package.checks if check.verdict == "measure" and name in (*check.missing, *check.loose)]


def _wanted_to(writer: Writer, figure: FigureName, checks: list[Check], name: str) -> str:
    """Return the precision to which a length has to be measured."""
    if figure.unit != "mm":
        return ""
    finely = figure.kind == "part" or any(name in check.loose for check in checks)
    stake = writer.dossier.at_stake(name)
    if stake is not None and stake.within is not None:
        if not stake.within:
            return writer.say("measuring.on_limit")
        return writer.say("measuring.decided_within", tolerance=writer.numbers.bound(stake.within, "mm", ROUND_FLOOR))
    tolerance = writer.dossier.settings["tolerance_mm.caliper" if finely else "tolerance_mm.measured"]
    tool = "sheet" if figure.kind == "part" else "caliper" if finely else "tape"
    precision = writer.amount(tolerance, "mm")
    return writer.say("measuring.within", tolerance=precision, tool=writer.say(f"measuring.{tool}"))


def _command(writer: Writer, figure: FigureName) -> str:
    """Return the command that enters the result."""
    if not figure.subject:
        return ""
    value = " ".join(filter(None, (writer.say("measuring.typed"), figure.unit)))
    return f"boltback reading add {quote(figure.subject)} {quote(figure.path)} '{value}'"


def _sketch(writer: Writer, name: str) -> Picture | None:
    drawn = writer.dossier.sketches.get(name)
    return None if drawn is None else writer.drawing(drawn, most_mm=SKETCH_MM)


def _second_look(writer: Writer, package: Package) -> list[Block]:
    """Return the smallest clearances, which decide if a figure was mismeasured."""
    checks = tightest(package.checks)[:SECOND_LOOK]
    if not checks:
        return []
    lead = Para(text=writer.say("measuring.second.lead"))
    title = writer.say("measuring.second.title")
    return [Section(title=title, blocks=(lead, clearance_table(writer, checks, place=True)))]
