"""The proposal if no package meets every limit: the reasons in plain words, and what would help."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from catalog_schema.answers import SlotCount
from catalog_schema.whys import LimitChange, Relaxation, Why
from matcher.answers.sentences import Amount, Sentence
from matcher.papers.limits import PLACED, asked, is_sold
from matcher.papers.model import Block, Items, Para, Section, Table
from matcher.papers.writer import Writer

REASONS = 3
"""Number of reasons for each empty slot."""
CONFLICTS = 3
"""Number of conflicting sets of limits, smallest first."""
HELPS = 3
"""Number of changes of limits, those with the fewest limits first."""


def no_package(writer: Writer) -> list[Block]:
    """Return the reasons against the customer's wishes, and changes that would help."""
    return [
        Para(text=writer.say("proposal.nothing"), tone="lead"),
        Para(text=asked(writer)),
        *_reasons(writer),
        *_conflicts(writer),
        *_supply_helps(writer),
        *_helps(writer),
    ]


def _reasons(writer: Writer) -> list[Block]:
    """Return why nothing fills a slot: the car's supply if that rules out everything, or the most common faults."""
    empty = [slot for slot in writer.dossier.options.slots if not slot.fits + slot.measure]
    told = dict.fromkeys(text for slot in empty for text in _slot_reasons(writer, slot))
    title = writer.say("proposal.reasons")
    return [Section(title=title, blocks=(Items(items=tuple(told)),))] if told else []


def _slot_reasons(writer: Writer, slot: SlotCount) -> list[str]:
    refused = [rule for rule in map(_supply_rule, slot.reasons) if rule]
    if refused:
        return [_supply_told(writer, "why", rule) for rule in refused]
    where = f"{writer.say(f'slot.{slot.slot}')}, {writer.place(slot.opening_id)}" if slot.opening_id else ""
    where = where or writer.say(f"slot.{slot.slot}")
    return [f"{where}: {_plain(writer, reason)}" for reason in slot.reasons[:REASONS]]


def _supply_rule(reason: str) -> str:
    """Return the rule by which the car's supply rules out every part; empty if that is not the reason."""
    facts = reason.facts if isinstance(reason, Sentence) else {}
    rule = str(facts.get("rule", ""))
    return rule if rule.startswith("supply.") else ""


def _supply_told(writer: Writer, what: str, rule: str) -> str:
    electrical = writer.dossier.vehicle.get("electrical") or writer.dossier.vehicle
    has, made_for = electrical.get("system_v"), writer.dossier.settings["system_v"]
    key = f"proposal.{what}.{rule.removeprefix('supply.')}"
    return writer.say(key, has=writer.amount(_known(has), "V"), made_for=writer.amount(made_for, "V"))


def _known(figure: object) -> Decimal | None:
    value = figure.get("value") if isinstance(figure, dict) else figure
    return None if value is None else Decimal(str(value))


def _plain(writer: Writer, reason: str) -> str:
    """Return a reason without its rule and nearest part, which are not for customers."""
    facts = reason.facts if isinstance(reason, Sentence) else {}
    told = writer.again(reason).replace(f" ({facts.get('rule', '')})", "")
    return told.partition(";")[0] if "nearest" in facts else told


def _supply_helps(writer: Writer) -> list[Block]:
    """Return changes that would make the car's supply suitable for the parts."""
    rules = dict.fromkeys(
        rule for slot in writer.dossier.options.slots for rule in map(_supply_rule, slot.reasons) if rule
    )
    told = tuple(_supply_told(writer, "fix", rule) for rule in rules)
    return [Section(title=writer.say("proposal.supply"), blocks=(Items(items=told),))] if told else []


def _conflicts(writer: Writer) -> list[Block]:
    """Return the smallest conflicting sets of limits, without single wishes, which have their own reasons."""
    found = [conflict.limits for conflict in writer.dossier.options.conflicts if len(conflict.limits) > 1]
    told = tuple(" + ".join(map(writer.again, limits)) for limits in sorted(found, key=len)[:CONFLICTS])
    return [Section(title=writer.say("proposal.conflict"), blocks=(Items(items=told),))] if told else []


def _helps(writer: Writer) -> list[Block]:
    """Return the smallest changes of limits that would give a package, with its price."""
    found = helpful(writer.dossier.why)
    if not found:
        return []
    heads = tuple(writer.say(f"helps.{name}") for name in ("changes", "price"))
    rows = tuple(_help(writer, one) for one in found)
    blocks = (Para(text=writer.say("helps.lead")), Table(heads=heads, rows=rows, right=(1,), widths=(3, 1)))
    return [Section(title=writer.say("helps.title"), blocks=blocks)]


def helpful(why: Why | None) -> list[Relaxation]:
    """Return the relaxations that are offered, those with the fewest changes first, then the cheapest."""
    bought = [one for one in (why.relaxations if why else ()) if one.package.price.total]
    sold = [one for one in bought if all(is_sold(change.limit) for change in one.changes)]
    return sorted(sold, key=lambda one: (len(one.changes), one.package.price.total))[:HELPS]


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
    """Return the proposed value of a limit."""
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
