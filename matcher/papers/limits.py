"""A customer's limits on paper: the requirements, the options they exclude, and their prices."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.answers import Package, StepGain, TradeOff
from catalog_schema.whys import LimitPrice
from matcher.papers.columns import OfferColumn, same
from matcher.papers.gains import gained_and_lost
from matcher.papers.model import Block, Para, Section, Table
from matcher.papers.writer import Writer

PLACED = ("per_opening", "keep", "choose", "pin")
"""Limits of a place."""
NOT_SOLD = ("security_routes", "choose.security", "keep_clear.", "charging")
"""Limits that no proposal offers to lift: security layers, the driver's reach, the car's own supply."""
LEFT_AS_IT_IS = "bolt_on"
"""The alteration step of a job that states none."""


def asked(writer: Writer) -> str:
    """Describe the customer's limits in a sentence."""
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
    """List features of a head unit."""
    return ", ".join(map(writer.feature, features))


def given_up(writer: Writer, best: Package, offered: list[OfferColumn]) -> list[Block]:
    """Return the options that the customer's limits exclude, with the alteration or price of each."""
    letter = next((column.letter for column in offered if same(column.package, best)), offered[-1].letter)
    rows = [row for one in best.tradeoffs if (row := _tradeoff(writer, best, one))]
    if not rows:
        return []
    heads = tuple(writer.say(f"proposal.given.{name}") for name in ("where", "gains", "losses", "takes", "price"))
    table = Table(heads=heads, rows=tuple(rows), right=(4,), widths=(1, 1.2, 0.9, 1.4, 0.9))
    return [
        Section(
            title=writer.say("proposal.given.title"),
            blocks=(Para(text=writer.say("proposal.given.lead", letter=letter)), table),
        )
    ]


def _tradeoff(writer: Writer, best: Package, one: TradeOff) -> tuple[str, ...]:
    """Return a row for the loss at a place; None if nobody would notice the gain."""
    line = next((line for line in best.lines if line.opening_id == one.opening_id and line.slot == "speaker"), None)
    if line is None:
        return ()
    changes = (("level_db", line.level_db, one.gains_db, "dB"), ("low_hz", line.low_hz, _negative(one.gains_hz), "Hz"))
    gains = [
        StepGain(criterion=name, where=one.opening_id, before=before, after=before + by, unit=unit)
        for name, before, by, unit in changes
        if before is not None and by is not None
    ]
    gained, lost = gained_and_lost(writer, gains, short=True)
    if not gained:
        return ()
    price = "–" if one.price is None else writer.money(one.price, signed=True)
    takes = writer.takes(one.needs.alteration, one.needs.cut)
    return writer.place(one.opening_id), _joined(gained), _joined(lost), takes, price


def _negative(number: Decimal | None) -> Decimal | None:
    return None if number is None else -number


def _joined(texts: list[str]) -> str:
    return "; ".join(texts) or "–"


def lifted(writer: Writer) -> list[Block]:
    """Return gain and price of lifting each limit, for limits that a customer may be offered to lift."""
    limits = [] if writer.dossier.limits is None else writer.dossier.limits.limits
    rows = [row for one in limits if one.costs and is_sold(one.limit) and (row := _lift(writer, one))]
    if not rows:
        return []
    heads = tuple(writer.say(f"proposal.lifted.{name}") for name in ("limit", "gains", "losses", "price"))
    blocks = (
        Para(text=writer.say("proposal.lifted.lead")),
        Table(heads=heads, rows=tuple(rows), right=(3,), widths=(1.1, 1.7, 1.1, 0.8)),
    )
    return [Section(title=writer.say("proposal.lifted.title"), blocks=blocks)]


def is_sold(limit: str) -> bool:
    """Whether a customer may be offered to lift a limit: never one that protects the car or its people."""
    return not limit.startswith(NOT_SOLD)


def _lift(writer: Writer, one: LimitPrice) -> tuple[str, ...]:
    """Return a row for the effect of lifting a limit; None if nobody would notice the gain."""
    if one.difference is None:
        return ()
    gained, lost = gained_and_lost(writer, [gain for gain in one.difference.gains if gain.criterion != "price"])
    if not gained:
        return ()
    price = writer.money(one.difference.price, signed=True)
    return _limit(writer, one.limit), _joined(gained), _joined(lost), price


def _limit(writer: Writer, name: str) -> str:
    """Return a limit in the customer's words."""
    stem, _, what = name.partition(".")
    key = f"lifted.{stem}"
    limits = writer.dossier.job["limits"]
    amount = writer.money(limits["budget"]) if stem == "budget" else ""
    place = writer.place(what) if stem in PLACED else what
    return writer.say(key, amount=amount, place=place, feature=features_text(writer, [what]))
