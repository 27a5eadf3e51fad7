"""The wiring page: wires with terminals, fuses with amperes, ground, remote, lengths, and filters."""

from __future__ import annotations

from collections import Counter

from catalog_schema.answers import Link, Package
from catalog_schema.wiring import Lead, Supply, channels_of, joins_coils, link_of
from matcher.papers.filters import filter_text
from matcher.papers.kit import kit_quantity
from matcher.papers.model import Block, Para, Picture, Section, Table
from matcher.papers.writer import Writer

PLUGS = {"A": tuple(range(1, 9)), "B": tuple(range(1, 9))}
"""Contacts of the two ISO 10487 connectors that every radio has."""


def wiring(writer: Writer, package: Package) -> list[Section]:
    """Return a page with the feeds, then the coils, the supply, and the radio's connectors."""
    if not package.links:
        return _supply(writer, package)
    has_wires = any(link.slot != "head_unit" for link in package.links)
    notes = [writer.say(f"feed.{name}") for name in ("filters", "wire_note") if has_wires or name == "filters"]
    note = Para(text=" ".join(notes), tone="note")
    blocks: tuple[Block, ...] = (*_drawings(writer, "system"), _feeds(writer, package), note)
    coils = _drawings(writer, "coils") if package.bass is not None and joins_coils(package.bass.net) else []
    return [
        Section(title=writer.say("feed.title"), blocks=blocks, new_page=True),
        *([Section(title=writer.say("wire.coils"), blocks=tuple(coils), whole=True)] if coils else []),
        *_supply(writer, package, _plugs(writer)),
    ]


def _feeds(writer: Writer, package: Package) -> Table:
    """Return a row per channel group: terminals, places with polarity, wire, load, power, and filter."""
    heads = tuple(writer.say(f"feed.{name}") for name in ("from", "channels", "to", "wire", "load", "power", "filter"))
    rows = tuple(
        _feed(writer, package, link, group.to)
        for group in package.filters
        if (link := link_of(package.links, group.to[0])) is not None
    )
    return Table(heads=heads, rows=rows, right=(4, 5), widths=(1.1, 0.95, 1.6, 0.75, 0.5, 0.85, 1.85))


def _feed(writer: Writer, package: Package, link: Link, places: list[str]) -> tuple[str, ...]:
    named = writer.listed([writer.place(place) for place in places])
    key = "feed.shared" if len(places) > 1 else "feed.pair" if _is_pair(writer, link) else "feed.single"
    return (
        writer.part(link.from_),
        _terminals(writer, package, link),
        writer.say(key, places=named),
        _wires(writer, link, places),
        writer.amount(link.load_ohm, "ohm"),
        writer.amount(link.power_w, "W"),
        filter_text(writer, package, places[0]),
    )


def _terminals(writer: Writer, package: Package, link: Link) -> str:
    """Return the channel numbers of a link, and the side that each plays."""
    numbers = [str(number) for number in channels_of(package.links, package.filters, link.to[0])]
    if link.mode == "bridged":
        pairs = (f"{first}+{second}" for first, second in zip(numbers[::2], numbers[1::2], strict=True))
        return writer.say("feed.bridged", pairs=", ".join(pairs))
    is_pair = len(numbers) > 1 and _is_pair(writer, link)
    return writer.say("feed.sides", numbers=", ".join(numbers)) if is_pair else ", ".join(numbers)


def _is_pair(writer: Writer, link: Link) -> bool:
    """Whether a link feeds a loudspeaker on each side."""
    opening = writer.dossier.opening(link.to[0])
    return opening.get("kind") == "speaker" and (opening.get("count") or 2) > 1


def _wires(writer: Writer, link: Link, places: list[str]) -> str:
    """Return the number of loudspeaker wires and their expected lengths; a head unit uses those of the car."""
    if link.slot == "head_unit":
        return "–"
    counts = Counter[tuple[str, str]]()
    for opening in map(writer.dossier.opening, places):
        is_place, measured = opening.get("kind") == "speaker", opening.get("wire_m")
        expected = writer.dossier.settings[f"kit_wire_m.{'place' if is_place else 'bass'}"]
        length = writer.amount(expected if measured is None else measured, "m")
        key = "feed.wires" if measured is None else "feed.wires_measured"
        counts[key, length] += (opening.get("count") or 2) if is_place else 1
    return "; ".join(writer.say(key, count=str(count), length=length) for (key, length), count in counts.items())


def _drawings(writer: Writer, *names: str) -> list[Picture]:
    drawings = writer.dossier.drawings
    return [writer.drawing(drawings[name]) for name in names if name in drawings]


def _supply(writer: Writer, package: Package, *more: Section) -> list[Section]:
    """Return every lead of each amplifier, and the demand on the car's supply, with more sections beside it."""
    supply = package.supply
    if supply is None:
        return [*more]
    demand = {
        "full": writer.amount(supply.full_a, "A"),
        "music": writer.amount(supply.music_a, "A"),
        "spare": writer.amount(supply.spare_a, "A"),
        "idle": _at_idle(writer, supply),
        "rest": writer.amount(supply.standby_ma, "mA"),
    }
    cells = tuple((writer.say(f"supply.{name}"), value) for name, value in demand.items())
    table = Table(heads=("", ""), rows=cells, widths=(2, 1), side=True)
    used = Section(title=writer.say("supply.used"), blocks=(table,), beside=True)
    leads = [_leads(writer, package)] if writer.amplifiers else []
    return [Section(title=writer.say("supply.title"), blocks=(*leads, used, *more), whole=True)]


def _at_idle(writer: Writer, supply: Supply) -> str:
    """Charging left over at idle; if the battery has to add to it, for how long."""
    amps, minutes = writer.amount(supply.idle_spare_a, "A"), supply.idle_battery_min
    if minutes is None:
        return amps
    return writer.say("supply.idle_for", amps=amps, hours=writer.rounded(float(minutes) / 60, "h"))


def _leads(writer: Writer, package: Package) -> Table:
    """Return a column per amplifier: its fuses, its cable, and what goes to its other terminals."""
    columns = [_lead(writer, package, part_id) for part_id in writer.amplifiers]
    return Table(
        heads=("", *map(writer.part, writer.amplifiers)),
        rows=tuple((writer.say(f"lead.{name}"), *(column[name] for column in columns)) for name in columns[0]),
        widths=(1, *(3 / len(columns) for _ in columns)),
        side=True,
    )


def _lead(writer: Writer, package: Package, part_id: str) -> dict[str, str]:
    lead = package.lead_of(part_id)
    own = writer.amount(writer.dossier.parts.get(part_id, {}).get("fuse_a"), "A")
    ground = "lead.ground_cable" if lead is not None and lead.ground == "cable" else "lead.ground_body"
    area = writer.amount(None if lead is None else lead.cable_mm2, "mm2")
    converter = next((line for line in package.lines if "line_output" in line.covers), None)
    source = writer.part(_source(package)) if converter is None else writer.line(converter)
    key = "lead.signal_from" if converter is None else "lead.signal_converted"
    return {
        "fuse": writer.say("word.unknown") if lead is None else _fuse(writer, lead),
        "cable": area if lead is None else f"{area}, {writer.amount(lead.run_m, 'm')}",
        "ground": writer.say(ground, area=area),
        "remote": writer.say("lead.remote_to", length=_length(writer, package, "remote_wire")),
        "signal": writer.say(key, part=source, length=_length(writer, package, "signal_lead")),
        "own_fuse": own,
    }


def _fuse(writer: Writer, lead: Lead) -> str:
    color = f", {writer.say(f'color.{lead.fuse_color}')}" if lead.fuse_color else ""
    full = writer.say("lead.full", amps=writer.amount(lead.full_a, "A"))
    return f"{writer.amount(lead.fuse_a, 'A')}{color}; {full}"


def _source(package: Package) -> str:
    """Return the head unit, under the name that it feeds by if the original stays."""
    line = next((line for line in package.lines if line.slot == "head_unit"), None)
    return "the original head unit" if line is None or line.part_id is None else line.part_id


def _length(writer: Writer, package: Package, kind: str) -> str:
    """Return the length of a kind of lead in the kit, for all amplifiers together."""
    item = next((item for item in package.kit if item.kind == kind), None)
    length = writer.say("word.unknown") if item is None else kit_quantity(writer, item)
    return writer.say("lead.in_all", length=length) if len(writer.amplifiers) > 1 else length


def _plugs(writer: Writer) -> Section:
    """Return the contacts of the radio's connectors, with the warning that cars differ."""
    heads = (writer.say("plugs.contact"), *(writer.say(f"plugs.{plug}") for plug in PLUGS))
    rows = tuple((str(contact), *(writer.say(f"plugs.{plug}{contact}") for plug in PLUGS)) for contact in PLUGS["A"])
    table = Table(heads=heads, rows=rows, widths=(0.9, 2, 1.5))
    blocks = (Para(text=writer.say("plugs.warning"), tone="warn"), table)
    return Section(title=writer.say("plugs.title"), blocks=blocks, beside=True)
