"""The kit on papers: the extra items that the van has to carry, with quantity and source."""

from __future__ import annotations

from catalog_schema.answers import KitLine, Package
from matcher.papers.model import Para, Section, Table
from matcher.papers.writer import Writer


def kit_section(writer: Writer, package: Package) -> list[Section]:
    """Return a table of the kit; empty if the package needs none."""
    if not package.kit:
        return []
    heads = tuple(writer.say(f"kit.{name}") for name in ("what", "quantity", "part"))
    rows = tuple((kit_name(writer, item), kit_quantity(writer, item), _from(writer, item)) for item in package.kit)
    notes = [Para(text=writer.sentence(note), tone="note") for note in package.notes]
    table = Table(heads=heads, rows=rows, widths=(2, 0.6, 2.4))
    return [Section(title=writer.say("kit.title"), blocks=(table, *notes), whole=True)]


def kit_name(writer: Writer, item: KitLine) -> str:
    """Return the name of an item, with its size."""
    name = writer.say(f"kit.{item.kind}")
    return f"{name}, {writer.amount(item.size, item.size_unit)}" if item.size_unit else name


def kit_quantity(writer: Writer, item: KitLine) -> str:
    """Return the quantity of an item, approximate if the car's cable run was not measured."""
    quantity = writer.amount(item.quantity, "" if item.unit == "piece" else item.unit)
    return writer.say("kit.about", quantity=quantity) if item.estimated else quantity


def _from(writer: Writer, item: KitLine) -> str:
    if item.part_id is None:
        return writer.say("kit.open")
    return f"{writer.part(item.part_id)} ({item.part_id})"
