"""The proposal: a first page that suffices to choose and sign, then the details."""

from __future__ import annotations

import math
from collections.abc import Callable

from catalog_schema.answers import Line, Package
from catalog_schema.ladder import step_rank
from matcher.papers.cautions import ORIGINALS
from matcher.papers.columns import ASKED_FOR, OfferColumn, same
from matcher.papers.days import ready, valid_until
from matcher.papers.limits import asked, given_up, lifted
from matcher.papers.model import Bar, Block, Box, Card, Cards, Document, Form, Items, Para, Section, Table
from matcher.papers.no_package import no_package
from matcher.papers.offer_titles import offer_title
from matcher.papers.today import sound_today
from matcher.papers.writer import Writer

ADDED = "bolt_on"
"""The last step of the ladder that alters nothing of the car."""
LOUD_DB, BASS_HZ, TREBLE_HZ = (70.0, 120.0), (200.0, 20.0), (2_000.0, 20_000.0)
"""Ends of the bars: loudness on a linear scale, frequencies in octaves."""


def proposal(writer: Writer) -> Document:
    """Return the paper on which a customer chooses; every amount includes tax."""
    offered, best = writer.dossier.offered, writer.dossier.package
    if not offered or best is None:
        return writer.document("proposal", no_package(writer))
    shown: list[Block] = [
        Para(text=offer_lead(writer, offered), tone="lead"),
        *_dashes(writer, offered),
        Cards(cards=tuple(package_card(writer, offered, column) for column in offered)),
        *_response(writer),
        _goes_back(writer, offered),
    ]
    is_short = len(offered) == 1
    parts = (Para(text=asked(writer)), _parts(writer, offered), *_empty_amounts(writer))
    details: list[Block] = [
        Section(title=writer.say("proposal.behind"), blocks=parts, new_page=not is_short),
        *given_up(writer, best, offered),
        *lifted(writer),
        *_altered(writer, offered),
        *_to_measure(writer, offered),
        writer.cautions("proposal", beside=True),
    ]
    # A single package leaves room for its details on the page that is signed.
    last = [*details, _signed(writer)] if is_short else [_signed(writer), *details]
    return writer.document("proposal", [*shown, *last], facts=_facts(writer))


def _facts(writer: Writer) -> dict[str, str]:
    until = valid_until(writer.dossier)
    return {"valid": "" if until is None else writer.date(until.isoformat())}


def offer_lead(writer: Writer, offered: list[OfferColumn]) -> str:
    """State the number of packages on offer, and whether anything is cut or lost."""
    is_cut = any(step_rank(line.alteration) > step_rank(ADDED) for one in offered for line in one.package.lines)
    is_lost = not all(column.package.reversible for column in offered)
    key = "lost" if is_lost else "cut" if is_cut else "back"
    return f"{writer.say(f'proposal.ways.{len(offered)}')} {writer.say(f'proposal.promise.{key}')}"


def _dashes(writer: Writer, offered: list[OfferColumn]) -> list[Block]:
    """Return the dash today, and with the unit of the best package."""
    drawn, best = writer.dossier.drawings, writer.dossier.package
    shown = next((one for one in offered if best is not None and same(best, one.package)), offered[0])
    today, after = drawn.get("offer/today"), drawn.get(f"offer/{shown.letter}")
    unit = _unit(shown.package)
    if today is None or after is None or unit is None:
        return []
    alike = [one.letter for one in offered if (other := _unit(one.package)) and other.part_id == unit.part_id]
    others = [
        writer.say("proposal.dash.other", letter=one.letter, part=_line_text(writer, other))
        for one in offered
        if one.letter not in alike and (other := _unit(one.package))
    ]
    told = writer.say("proposal.dash.after", letters=writer.listed(alike), part=_line_text(writer, unit))
    captions = (writer.say("proposal.dash.today"), " ".join([told, *others]))
    return [writer.pictures([today, after], captions)]


def _unit(package: Package) -> Line | None:
    return next((line for line in package.lines if line.slot == "head_unit" and line.part_id), None)


def package_card(writer: Writer, offered: list[OfferColumn], column: OfferColumn) -> Card:
    """Return the summary of a package: parts, price, sound, and completion date."""
    package, best, choice = column.package, writer.dossier.package, writer.dossier.choice
    chosen = choice is not None and same(choice.package, package)
    rate = writer.dossier.settings["tax_pct"]
    taxed = writer.say("proposal.taxed", rate=writer.numbers.number(rate)) if rate else writer.say("proposal.untaxed")
    return Card(
        title=f"{column.letter} · {offer_title(writer, offered, column)}",
        total=writer.total(package),
        under=f"{taxed}{_beyond(writer, column)}",
        bars=tuple(_bars(writer, package)),
        text=" · ".join(_sold(writer, package)),
        note=_ready(writer, package),
        strong=best is not None and same(best, package),
        ticked=chosen,
    )


def _beyond(writer: Writer, column: OfferColumn) -> str:
    """Describe the limit that a package exceeds."""
    if not column.lifted:
        return ""
    over = column.package.price.total - (writer.dossier.job["limits"]["budget"] or 0)
    name = column.lifted.removeprefix("choose.")
    return f"; {writer.say(f'proposal.beyond.{name}', amount=writer.money(over))}"


def _bars(writer: Writer, package: Package) -> list[Bar]:
    """Return bars for the known audible and visible figures of a package."""
    parts = [writer.dossier.parts.get(str(line.part_id), {}) for line in package.lines if line.slot == "speaker"]
    highest = max((float(part["high_hz"]) for part in parts if part.get("high_hz")), default=None)
    lows = [float(line.low_hz) for line in package.lines if line.low_hz is not None]
    f3 = None if package.bass is None else package.bass.f3_hz
    lowest = min([*lows, *([] if f3 is None else [f3])], default=None)
    loud = None if package.hearing is None or package.hearing.level_db is None else float(package.hearing.level_db)
    told = {
        "loud": (loud, "dB", LOUD_DB),
        "treble": (highest, "Hz", TREBLE_HZ),
        "bass": (lowest, "Hz", BASS_HZ),
    }
    today = sound_today(writer.dossier.vehicle)
    return [
        Bar(
            label=writer.say(f"proposal.bar.{name}"),
            value=writer.rounded(figure, unit),
            share=_share(figure, *ends),
            today=_share(today[name], *ends) if name in today else None,
        )
        for name, (figure, unit, ends) in told.items()
        if figure is not None
    ]


def _share(figure: float, least: float, most: float) -> float:
    """Return the position of a figure along its bar."""
    if (least, most) != LOUD_DB:
        figure, least, most = math.log(figure), math.log(least), math.log(most)
    return round(min(max((figure - least) / (most - least), 0.02), 1.0), 3)


def _sold(writer: Writer, package: Package) -> list[str]:
    """Describe the customer's wishes, and the number of amplifiers needed for them."""
    told = [_line_text(writer, line) for line in package.lines if line.slot in ASKED_FOR and line.part_id]
    amplifiers = sum(line.slot in ("amplifier", "bass_amplifier") for line in package.lines)
    return told + ([writer.say(f"proposal.amplifiers.{min(amplifiers, 2)}")] if amplifiers else [])


def _line_text(writer: Writer, line: Line) -> str:
    screen = writer.say("proposal.screen", size=writer.amount(line.screen_in, "in")) if line.screen_in else ""
    return ", ".join(filter(None, (writer.line(line), screen)))


def _ready(writer: Writer, package: Package) -> str:
    day, is_certain = ready(writer.dossier, package, package.bought().items())
    if day is None:
        return writer.say("proposal.ready.unknown")
    return writer.say(f"proposal.ready.{'day' if is_certain else 'earliest'}", date=writer.date(day.isoformat()))


def _response(writer: Writer) -> list[Block]:
    drawn = writer.dossier.drawings.get("offer/response")
    if drawn is None:
        return []
    is_known = {"loud", "bass", "treble"} <= set(sound_today(writer.dossier.vehicle))
    notes = [writer.say(f"proposal.response.{name}") for name in ("note", "today" if is_known else "no_today")]
    blocks = (writer.drawing(drawn, most_mm=84), Para(text=" ".join(notes), tone="note"))
    return [Section(title=writer.say("proposal.response.title"), blocks=blocks, beside=True)]


def _goes_back(writer: Writer, offered: list[OfferColumn]) -> Section:
    """Return the picture of the parts kept for restoring the car, and those that cannot be restored."""
    drawn = writer.dossier.drawings.get("offer/back")
    lost = [column.letter for column in offered if not column.package.reversible]
    told = writer.say("proposal.back.lost", letters=writer.listed(lost)) if lost else writer.say("proposal.back.all")
    loose = [column.letter for column in offered if column.package.measure]
    more = [Para(text=writer.say("proposal.measured", letters=writer.listed(loose)), tone="note")] if loose else []
    blocks: list[Block] = [] if drawn is None else [writer.drawing(drawn, most_mm=84)]
    return Section(
        title=writer.say("proposal.back.title"), blocks=(*blocks, Para(text=told, tone="note"), *more), beside=True
    )


def _signed(writer: Writer) -> Form:
    return Form(rows=(tuple(Box(label=writer.say(f"proposal.sign.{name}")) for name in ("place", "name", "choice")),))


def _parts(writer: Writer, offered: list[OfferColumn]) -> Table:
    """Return all parts and their total price."""
    longest = sorted((one.package.lines for one in offered), key=len, reverse=True)
    lines = [line for some in longest for line in some if line.part_id or line.slot not in ORIGINALS]
    keys = dict.fromkeys(_row_of(line.slot, line.opening_id) for line in lines)
    rows = [_slot_row(writer, offered, key) for key in keys]
    tail = [
        _row(writer, "word.parts", offered, lambda package: writer.money(package.price.parts)),
        _row(writer, "word.kit", offered, lambda package: writer.money(package.price.kit)),
        _row(writer, "word.labor", offered, lambda package: writer.money(package.price.labour)),
        _row(writer, "word.total", offered, writer.total),
        *_tax_rows(writer, offered),
    ]
    return Table(
        heads=("", *(column.letter if len(offered) > 1 else "" for column in offered)),
        rows=tuple(rows + tail),
        strong=(len(rows) + 3,),
        sums=len(tail),
        widths=(0.8, *(1.0 for _ in offered)),
        side=True,
    )


def _row_of(slot: str, opening_id: str | None) -> tuple[str, str | None]:
    """Return the key of the row that lines share: one per place, or otherwise one per slot."""
    return slot, opening_id if slot == "speaker" else None


def _slot_row(writer: Writer, offered: list[OfferColumn], key: tuple[str, str | None]) -> tuple[str, ...]:
    slot, opening_id = key
    name = writer.say(f"slot.{slot}")
    title = f"{name}: {writer.place(opening_id)}" if opening_id else name
    return (title, *(_slot_cell(writer, column.package, key) for column in offered))


def _slot_cell(writer: Writer, package: Package, key: tuple[str, str | None]) -> str:
    lines = [line for line in package.lines if _row_of(line.slot, line.opening_id) == key]
    return "; ".join(map(writer.line, lines)) or "–"


def _row(writer: Writer, key: str, offered: list[OfferColumn], cell: Callable[[Package], str]) -> tuple[str, ...]:
    return (writer.say(key), *(cell(column.package) for column in offered))


def _tax_rows(writer: Writer, offered: list[OfferColumn]) -> list[tuple[str, ...]]:
    rate = writer.dossier.settings["tax_pct"]
    if not rate:
        return []
    title = writer.say("proposal.tax_within", rate=writer.numbers.number(rate))
    taxes = (one.package.price.total * rate / (100 + rate) for one in offered)
    return [(title, *map(writer.money, taxes))]


def _empty_amounts(writer: Writer) -> list[Block]:
    """Return the budgets at which no package meets every limit."""
    tiers = writer.dossier.options.tiers
    empty = [tier for tier in tiers if tier.package is None and tier.budget is not None]
    if not empty:
        return []
    told = [writer.say("proposal.empty", amounts=writer.listed([writer.money(tier.budget or 0) for tier in empty]))]
    least = [tier.least for tier in empty if tier.least is not None]
    told += [writer.say("proposal.empty_least", amount=writer.money(min(least)))] if least else []
    return [Para(text=" ".join(told), tone="note")]


def _altered(writer: Writer, offered: list[OfferColumn]) -> list[Section]:
    """Return the alterations of the car; without any, the first sentence says so."""
    told = tuple(text for column in offered for text in _alterations(writer, column))
    return [Section(title=writer.say("proposal.altered.title"), blocks=(Items(items=told),))] if told else []


def _alterations(writer: Writer, column: OfferColumn) -> list[str]:
    return [
        writer.say(
            "proposal.altered.this",
            letter=column.letter,
            place=writer.place(line.opening_id),
            takes=writer.takes(line.alteration, line.cut),
        )
        for line in column.package.lines
        if step_rank(line.alteration) > step_rank(ADDED)
    ]


def _to_measure(writer: Writer, offered: list[OfferColumn]) -> list[Block]:
    """Return the figures to measure before anything is ordered."""
    names = dict.fromkeys(name for column in offered for name in column.package.measure)
    if not names:
        return []
    told: dict[str, list[str]] = {}
    for name in names:
        figure = writer.wanted(name)
        told.setdefault(writer.where(figure), []).append(writer.what(figure).partition(";")[0])
    items = tuple(f"{where}: {'; '.join(whats)}" for where, whats in told.items())
    lead = Para(text=writer.say("proposal.measure.lead"))
    return [Section(title=writer.say("proposal.measure.title"), blocks=(lead, Items(items=items)), beside=True)]
