"""The proposal: what the customer may choose from, what each step buys, what the limits leave out."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from itertools import pairwise

from catalog_schema.answers import Line, Package
from catalog_schema.ladder import step_rank
from matcher.explain.gains import gains
from matcher.papers.columns import Column, bought_nothing, columns
from matcher.papers.gains import gain_text
from matcher.papers.limits import asked, given_up, lifted, no_package
from matcher.papers.model import Block, Box, Document, Form, Items, Para, Section, Table
from matcher.papers.writer import Writer

PERCENT = Decimal(100)
ADDED = "bolt_on"
"""The last step of the ladder at which nothing of the car is altered."""


def proposal(writer: Writer) -> Document:
    """The paper on which a customer chooses."""
    offered, best = columns(writer.dossier.options), writer.dossier.package
    if not offered or best is None:
        return writer.document("proposal", no_package(writer))
    blocks: list[Block] = [
        Para(text=_lead(writer, offered), tone="lead"),
        Para(text=asked(writer)),
        _side_by_side(writer, offered),
        *_amounts_without(writer),
        *_steps(writer, offered),
        *given_up(writer, best, offered),
        *lifted(writer),
        _altered(writer, offered),
        *_to_measure(writer, offered),
        writer.cautions("proposal"),
        _choice(writer, offered),
    ]
    return writer.document("proposal", blocks)


def _lead(writer: Writer, offered: list[Column]) -> str:
    known = sum(1 for column in offered if column.package.verdict == "fits")
    key = "all" if known == len(offered) else "some" if known else "none"
    return f"{writer.say(f'proposal.ways.{len(offered)}')} {writer.say(f'proposal.known.{key}')}"


def _side_by_side(writer: Writer, offered: list[Column]) -> Table:
    """The columns: what goes in, what it alters, what it costs."""
    keys = list(dict.fromkeys((line.slot, line.opening_id) for one in offered for line in one.package.lines))
    rows = [_slot_row(writer, offered, key) for key in dict.fromkeys(_row_of(*key) for key in keys)]
    tail = [
        _row(writer, "proposal.row.back", offered, lambda package: _back(writer, package)),
        _row(writer, "proposal.row.open", offered, lambda package: _open(writer, package)),
        _row(writer, "word.parts", offered, lambda package: writer.money(package.price.parts)),
        _row(writer, "word.labor", offered, lambda package: writer.money(package.price.labour)),
        *_tax_rows(writer, offered),
        _row(writer, "word.total", offered, lambda package: writer.money(_total(writer, package))),
    ]
    heads = ["", *(_head(writer, column) for column in offered)]
    return Table(
        heads=tuple(heads),
        rows=tuple(rows + tail),
        strong=(len(rows) + len(tail) - 1,),
        widths=(0.8, *(1.0 for _ in offered)),
        side=True,
    )


def _head(writer: Writer, column: Column) -> str:
    tier = column.tier
    if tier is None or tier.budget is None:
        return column.letter
    return writer.say("proposal.head", letter=column.letter, amount=writer.money(tier.budget))


def _row_of(slot: str, opening_id: str | None) -> tuple[str, str | None]:
    """Where lines share a row: places each have one, everything else one for its slot."""
    return slot, opening_id if slot == "speaker" else None


def _slot_row(writer: Writer, offered: list[Column], key: tuple[str, str | None]) -> tuple[str, ...]:
    slot, opening_id = key
    name = writer.say(f"slot.{slot}")
    title = f"{name}: {writer.place(opening_id)}" if opening_id else name
    return (title, *(_slot_cell(writer, column.package, key) for column in offered))


def _slot_cell(writer: Writer, package: Package, key: tuple[str, str | None]) -> str:
    lines = [line for line in package.lines if _row_of(line.slot, line.opening_id) == key]
    return "; ".join(_line_cell(writer, line) for line in lines) or "–"


def _line_cell(writer: Writer, line: Line) -> str:
    extra = f", {writer.say('proposal.screen', size=writer.amount(line.screen_in, 'in'))}" if line.screen_in else ""
    return f"{writer.line(line)}{extra}"


def _row(writer: Writer, key: str, offered: list[Column], cell: Callable[[Package], str]) -> tuple[str, ...]:
    return (writer.say(key), *(cell(column.package) for column in offered))


def _back(writer: Writer, package: Package) -> str:
    return writer.say("proposal.back.yes" if package.reversible else "proposal.back.no")


def _open(writer: Writer, package: Package) -> str:
    count = len(package.measure)
    return writer.say("proposal.open.none") if not count else writer.say("proposal.open.some", count=str(count))


def _tax_rows(writer: Writer, offered: list[Column]) -> list[tuple[str, ...]]:
    rate = writer.dossier.settings["tax_pct"]
    if not rate:
        return []
    title = writer.say("word.tax", rate=writer.numbers.number(rate))
    return [(title, *(writer.money(_tax(writer, column.package)) for column in offered))]


def _tax(writer: Writer, package: Package) -> Decimal:
    return package.price.total * writer.dossier.settings["tax_pct"] / PERCENT


def _total(writer: Writer, package: Package) -> Decimal:
    return package.price.total + _tax(writer, package)


def _amounts_without(writer: Writer) -> list[Block]:
    """What the columns do not show: amounts that buy nothing, and that limits are without tax."""
    empty = [writer.money(tier.budget) for tier in bought_nothing(writer.dossier.options) if tier.budget is not None]
    told = [writer.say("proposal.empty", amounts=", ".join(empty))] if empty else []
    if writer.dossier.settings["tax_pct"]:
        told.append(writer.say("proposal.before_tax"))
    return [Para(text=" ".join(told), tone="note")] if told else []


def _steps(writer: Writer, offered: list[Column]) -> list[Block]:
    """What each column buys over the one before."""
    made: list[Block] = []
    for below, column in pairwise(offered):
        told = [text for gain in gains(below.package, column.package) if (text := gain_text(writer, gain))]
        if told:
            title = writer.say("proposal.step", letter=column.letter, below=below.letter)
            made.append(Section(title=title, blocks=(Items(items=tuple(told)),), beside=True))
    return made


def _altered(writer: Writer, offered: list[Column]) -> Section:
    """What of the car is altered: nothing, or exactly this; and that it can be put back."""
    told = [text for column in offered for text in _alterations(writer, column)]
    lost = [column.letter for column in offered if not column.package.reversible]
    back = writer.say("proposal.altered.lost", letters=", ".join(lost)) if lost else writer.say("proposal.altered.back")
    kept = tuple(
        dict.fromkeys(writer.again(step.keeps) for column in offered for step in column.package.undo if step.keeps)
    )
    blocks = [
        Items(items=tuple(told)) if told else Para(text=writer.say("proposal.altered.nothing")),
        Para(text=back),
        *([Para(text=writer.say("proposal.altered.kept", things="; ".join(kept)), tone="note")] if kept else []),
    ]
    return Section(title=writer.say("proposal.altered.title"), blocks=tuple(blocks))


def _alterations(writer: Writer, column: Column) -> list[str]:
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


def _to_measure(writer: Writer, offered: list[Column]) -> list[Block]:
    """What has to be measured before anything is ordered."""
    names = dict.fromkeys(name for column in offered for name in column.package.measure)
    if not names:
        return []
    told: dict[str, list[str]] = {}
    for name in names:
        figure = writer.wanted(name)
        told.setdefault(writer.where(figure), []).append(writer.what(figure))
    items = tuple(f"{where}: {'; '.join(whats)}" for where, whats in told.items())
    lead = Para(text=writer.say("proposal.measure.lead"))
    return [Section(title=writer.say("proposal.measure.title"), blocks=(lead, Items(items=items)))]


def _choice(writer: Writer, offered: list[Column]) -> Form:
    letters = tuple(Box(label=column.letter, tick=True) for column in offered)
    signed = tuple(Box(label=writer.say(f"proposal.sign.{name}")) for name in ("name", "date"))
    return Form(title=writer.say("proposal.sign.title"), rows=((*letters, *signed),))
