"""The proposal: what the customer may choose from, what each step buys, what the limits leave out."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from itertools import pairwise

from catalog_schema.answers import Gain, Line, Package, TradeOff
from catalog_schema.ladder import step_rank
from catalog_schema.whys import LimitPrice
from matcher.explain.gains import gains
from matcher.papers.columns import Column, bought_nothing, columns
from matcher.papers.model import Block, Box, Document, Form, Items, Para, Section, Table
from matcher.papers.writer import Writer

PERCENT = Decimal(100)
ADDED = "bolt_on"
"""The last step of the ladder at which nothing of the car is altered."""
REASONS = 3
"""Reasons told of each slot that nothing fills."""
LOUDER_DB = ((10, "far"), (5, "clearly"), (2, "little"), (0, "barely"))
"""From how many decibels on a change of loudness is called what; common practice, no published source."""


def proposal(writer: Writer) -> Document:
    """The paper on which a customer chooses."""
    offered, best = columns(writer.dossier.options), writer.dossier.package
    if not offered or best is None:
        return writer.document("proposal", _nothing(writer))
    blocks: list[Block] = [
        Para(text=_lead(writer, offered), tone="lead"),
        Para(text=_asked(writer)),
        _side_by_side(writer, offered),
        *_amounts_without(writer),
        *_steps(writer, offered),
        *_given_up(writer, best, offered),
        *_lifted(writer),
        _altered(writer, offered),
        *_to_measure(writer, offered),
        writer.cautions(),
        _choice(writer, offered),
    ]
    return writer.document("proposal", blocks)


def _nothing(writer: Writer) -> list[Block]:
    """Where no package meets every limit: which limits cannot hold together."""
    clashes = tuple(writer.sentence(clash.says) for clash in writer.dossier.options.clash)
    reasons = tuple(
        writer.sentence(reason)
        for slot in writer.dossier.options.slots
        if not slot.fits
        for reason in slot.reasons[:REASONS]
    )
    return [
        Para(text=writer.say("proposal.nothing"), tone="lead"),
        Para(text=_asked(writer)),
        Section(title=writer.say("proposal.clash"), blocks=(Items(items=clashes),)),
        *([Section(title=writer.say("proposal.reasons"), blocks=(Items(items=reasons),))] if reasons else []),
        writer.cautions(),
    ]


def _lead(writer: Writer, offered: list[Column]) -> str:
    known = sum(1 for column in offered if column.package.verdict == "fits")
    key = "all" if known == len(offered) else "some" if known else "none"
    return f"{writer.say(f'proposal.ways.{len(offered)}')} {writer.say(f'proposal.known.{key}')}"


def _asked(writer: Writer) -> str:
    """The customer's limits in a sentence."""
    limits = writer.dossier.job["limits"]
    told = [
        writer.step(limits["alteration"] or ADDED),
        *([writer.say("limit.budget", amount=writer.money(limits["budget"]))] if limits["budget"] is not None else []),
        *(
            [writer.say("limit.screen", size=_inches(writer, limits["screen_min_in"]))]
            if limits["screen_min_in"]
            else []
        ),
        *([writer.say("limit.must", features=_features(writer, limits["must"]))] if limits["must"] else []),
    ]
    return writer.say("proposal.asked", limits="; ".join(told))


def _inches(writer: Writer, figure: object) -> str:
    value = figure["value"] if isinstance(figure, dict) else figure
    return writer.amount(value, "in")  # type: ignore[arg-type]


def _features(writer: Writer, features: list[str]) -> str:
    return ", ".join(
        writer.say(f"feature.{name}") if writer.words.holds(f"feature.{name}") else name.replace("_", " ")
        for name in features
    )


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
        told = [text for gain in gains(below.package, column.package) if (text := _gain(writer, gain))]
        if told:
            title = writer.say("proposal.step", letter=column.letter, below=below.letter)
            made.append(Section(title=title, blocks=(Items(items=tuple(told)),), beside=True))
    return made


def _gain(writer: Writer, gain: Gain) -> str:
    """One change in words that a customer hears, sees or pays."""
    place = writer.place(gain.where)
    if gain.before is None or gain.after is None:
        return ""
    change = gain.after - gain.before
    key = f"gain.{gain.criterion}.{'more' if change > 0 else 'less'}"
    if gain.criterion == "price":
        return writer.say(key, amount=writer.money(abs(change)))
    by = writer.amount(abs(change), gain.unit)
    if gain.unit == "dB":
        return writer.say(key, place=place, how=_how_loud(writer, change), amount=by)
    return writer.say(key, place=place, amount=by)


def _how_loud(writer: Writer, change: Decimal) -> str:
    word = next(word for least, word in LOUDER_DB if abs(change) >= least)
    return writer.say(f"louder.{word}")


def _given_up(writer: Writer, best: Package, offered: list[Column]) -> list[Block]:
    """What the customer's limits leave out, and what having it would take."""
    if not best.tradeoffs:
        return []
    letter = next((column.letter for column in offered if column.package is best), offered[-1].letter)
    rows = tuple(_tradeoff(writer, one) for one in best.tradeoffs)
    heads = tuple(writer.say(f"proposal.given.{name}") for name in ("where", "gains", "takes", "price"))
    table = Table(heads=heads, rows=rows, right=(3,), widths=(1, 1.3, 1.5, 0.8))
    return [
        Section(
            title=writer.say("proposal.given.title"),
            blocks=(Para(text=writer.say("proposal.given.lead", letter=letter)), table),
        )
    ]


def _tradeoff(writer: Writer, one: TradeOff) -> tuple[str, ...]:
    gains = []
    if one.gains_db:
        key = "gain.level_db.short.more" if one.gains_db > 0 else "gain.level_db.short.less"
        gains.append(
            writer.say(key, how=_how_loud(writer, one.gains_db), amount=writer.amount(abs(one.gains_db), "dB"))
        )
    if one.gains_hz:
        key = "gain.low_hz.short.less" if one.gains_hz > 0 else "gain.low_hz.short.more"
        gains.append(writer.say(key, amount=writer.amount(abs(one.gains_hz), "Hz")))
    price = "–" if one.price is None else writer.money(one.price, signed=True)
    heard = ", ".join(gains) or writer.say("proposal.given.better")
    return writer.place(one.opening_id), heard, writer.takes(one.needs.alteration, one.needs.cut), price


def _lifted(writer: Writer) -> list[Block]:
    """What lifting each limit would buy, and what it would cost; limits that cost nothing are told in a line."""
    limits = [] if writer.dossier.limits is None else writer.dossier.limits.limits
    dear = [one for one in limits if one.costs and one.difference is not None]
    if not limits:
        return []
    heads = tuple(writer.say(f"proposal.lifted.{name}") for name in ("limit", "gains", "price"))
    rows = tuple(_lift(writer, one) for one in dear)
    blocks: list[Block] = [Para(text=writer.say("proposal.lifted.lead"))]
    blocks += [Table(heads=heads, rows=rows, right=(2,), widths=(1.3, 2.4, 0.9))] if rows else []
    if len(dear) < len(limits):
        blocks.append(Para(text=writer.say("proposal.lifted.rest" if rows else "proposal.lifted.none"), tone="note"))
    return [Section(title=writer.say("proposal.lifted.title"), blocks=tuple(blocks))]


def _lift(writer: Writer, one: LimitPrice) -> tuple[str, ...]:
    changes = [] if one.difference is None else one.difference.gains
    told = [text for gain in changes if gain.criterion != "price" and (text := _gain(writer, gain))]
    price = "–" if one.difference is None else writer.money(one.difference.price, signed=True)
    return _limit(writer, one), "; ".join(told) or writer.say("proposal.given.better"), price


def _limit(writer: Writer, one: LimitPrice) -> str:
    """A limit as the customer named it."""
    stem, _, what = one.limit.partition(".")
    key = f"lifted.{stem}"
    if not writer.words.holds(key):
        return writer.sentence(one.value)
    limits = writer.dossier.job["limits"]
    amount = writer.money(limits["budget"]) if stem == "budget" else ""
    place = writer.place(what) if stem in ("per_opening", "keep", "choose") else what
    return writer.say(key, amount=amount, place=place, feature=_features(writer, [what]))


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
