"""A customer's limits on paper: what was asked for, what each costs, what stands in the way of all together."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from catalog_schema.answers import Package, TradeOff
from catalog_schema.whys import LimitChange, LimitPrice, Relaxation
from matcher.explain.said import Amount
from matcher.papers.columns import Column
from matcher.papers.gains import gain_text, how_loud
from matcher.papers.model import Block, Items, Para, Section, Table
from matcher.papers.writer import Writer

REASONS = 3
"""Reasons told of each slot that nothing fills."""
PLACED = ("per_opening", "keep", "choose")
"""Limits that are of a place."""
HELPS = 4
"""Changes of limits that are told."""
LEFT_AS_IT_IS = "bolt_on"
"""The step that a job without one allows."""


def asked(writer: Writer) -> str:
    """The customer's limits in a sentence."""
    limits = writer.dossier.job["limits"]
    told = [
        writer.step(limits["alteration"] or LEFT_AS_IT_IS),
        *([writer.say("limit.budget", amount=writer.money(limits["budget"]))] if limits["budget"] is not None else []),
        *(
            [writer.say("limit.screen", size=_inches(writer, limits["screen_min_in"]))]
            if limits["screen_min_in"]
            else []
        ),
        *([writer.say("limit.must", features=features_text(writer, limits["must"]))] if limits["must"] else []),
    ]
    return writer.say("proposal.asked", limits="; ".join(told))


def _inches(writer: Writer, figure: object) -> str:
    value = figure["value"] if isinstance(figure, dict) else figure
    return writer.amount(value, "in")  # type: ignore[arg-type]


def features_text(writer: Writer, features: list[str]) -> str:
    """Features of a head unit, one after the other."""
    return ", ".join(map(writer.feature, features))


def given_up(writer: Writer, best: Package, offered: list[Column]) -> list[Block]:
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
        gains.append(writer.say(key, how=how_loud(writer, one.gains_db), amount=writer.amount(abs(one.gains_db), "dB")))
    if one.gains_hz:
        key = "gain.low_hz.short.less" if one.gains_hz > 0 else "gain.low_hz.short.more"
        gains.append(writer.say(key, amount=writer.amount(abs(one.gains_hz), "Hz")))
    price = "–" if one.price is None else writer.money(one.price, signed=True)
    heard = ", ".join(gains) or writer.say("proposal.given.better")
    return writer.place(one.opening_id), heard, writer.takes(one.needs.alteration, one.needs.cut), price


def lifted(writer: Writer) -> list[Block]:
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
    told = [text for gain in changes if gain.criterion != "price" and (text := gain_text(writer, gain))]
    price = "–" if one.difference is None else writer.money(one.difference.price, signed=True)
    return _limit(writer, one.limit), "; ".join(told) or writer.say("proposal.given.better"), price


def _limit(writer: Writer, name: str) -> str:
    """A limit as the customer named it."""
    stem, _, what = name.partition(".")
    key = f"lifted.{stem}"
    limits = writer.dossier.job["limits"]
    amount = writer.money(limits["budget"]) if stem == "budget" else ""
    place = writer.place(what) if stem in PLACED else what
    return writer.say(key, amount=amount, place=place, feature=features_text(writer, [what]))


def no_package(writer: Writer) -> list[Block]:
    """Where no package meets every limit: which limits cannot hold together, and what would help."""
    clashes = ["; ".join(map(writer.again, clash.limits)) for clash in writer.dossier.options.clash]
    blocks: list[Block] = [
        Para(text=writer.say("proposal.nothing"), tone="lead"),
        Para(text=asked(writer)),
        Section(title=writer.say("proposal.clash"), blocks=(Items(items=tuple(clashes)),)),
    ]
    return [*blocks, *(_helps(writer) or _reasons(writer)), writer.cautions("proposal")]


def _reasons(writer: Writer) -> list[Block]:
    """Why nothing fills a slot."""
    empty = [slot for slot in writer.dossier.options.slots if not slot.fits + slot.measure]
    told = dict.fromkeys(writer.sentence(reason) for slot in empty for reason in slot.reasons[:REASONS])
    title = writer.say("proposal.reasons")
    return [Section(title=title, blocks=(Items(items=tuple(told)),))] if told else []


def _helps(writer: Writer) -> list[Block]:
    """The smallest changes of limits that would give a package, each with its price."""
    found = [] if writer.dossier.why is None else writer.dossier.why.relaxations[:HELPS]
    if not found:
        return []
    heads = tuple(writer.say(f"helps.{name}") for name in ("changes", "price"))
    rows = tuple(_help(writer, one) for one in found)
    blocks = (Para(text=writer.say("helps.lead")), Table(heads=heads, rows=rows, right=(1,), widths=(3, 1)))
    return [Section(title=writer.say("helps.title"), blocks=blocks)]


def _help(writer: Writer, one: Relaxation) -> tuple[str, str]:
    told = "\n".join(f"– {_change(writer, change)}" for change in one.changes)
    return told, writer.money(one.package.price.total)


def _change(writer: Writer, change: LimitChange) -> str:
    stem, _, what = change.limit.partition(".")
    place = writer.place(what) if stem in PLACED else what
    if change.after is None:
        return writer.say(f"helps.gone.{stem}", place=place, feature=writer.feature(what))
    if stem == "keep":
        return writer.say(f"helps.keep.{change.after.replace(' ', '_')}", place=place)
    return writer.say(f"helps.to.{stem}", place=place, value=_value(writer, stem, change.after))


def _value(writer: Writer, stem: str, after: str) -> str:
    """What a limit would be."""
    if stem in ("alteration", "per_opening"):
        return writer.step(after)
    if isinstance(after, Amount):
        return writer.amount(after.number, after.unit)
    if stem != "budget":
        return after
    try:
        return writer.money(Decimal(after))
    except InvalidOperation:
        return after
