"""The wiring page: wires with terminals, fuses with amperes, ground, remote, lengths, and filters."""

from __future__ import annotations

from collections import Counter

from catalog_schema.answers import Link, Package
from catalog_schema.wiring import Supply, channels_of, link_of
from matcher.papers.filters import filter_text
from matcher.papers.model import Block, Para, Picture, Section, Table
from matcher.papers.writer import Writer

PLUGS = {"A": tuple(range(1, 9)), "B": tuple(range(1, 9))}
"""Contacts of the two ISO 10487 connectors that every radio has."""
POWERED = ("amplifier", "bass_amplifier")


def wiring(writer: Writer, package: Package) -> list[Section]:
    """Return a page with the feeds, then the coils, the supply, and the radio's connectors."""
    if not package.links:
        return _supply(writer, package)
    notes = (Para(text=writer.say(f"feed.{name}"), tone="note") for name in ("filters", "wire_note"))
    blocks: tuple[Block, ...] = (*_drawings(writer, "system"), _feeds(writer, package), *notes)
    coils = _drawings(writer, "coils")
    return [
        Section(title=writer.say("feed.title"), blocks=blocks, new_page=True),
        *([Section(title=writer.say("wire.coils"), blocks=tuple(coils), whole=True)] if coils else []),
        *_supply(writer, package),
        _plugs(writer),
    ]


def _feeds(writer: Writer, package: Package) -> Table:
    """Return a row per channel group: terminals, places with polarity, wire, load, power, and filter."""
    heads = tuple(writer.say(f"feed.{name}") for name in ("from", "channels", "to", "wire", "load", "power", "filter"))
    rows = tuple(
        _feed(writer, package, link, group.to)
        for group in package.filters
        if (link := link_of(package.links, group.to[0])) is not None
    )
    return Table(heads=heads, rows=rows, right=(4, 5), widths=(1.1, 0.9, 1.6, 0.8, 0.55, 0.85, 1.4))


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


def _supply(writer: Writer, package: Package) -> list[Section]:
    """Return the cable, fuses, ground and remote of each amplifier, and the spare current of the car."""
    supply = package.supply
    if supply is None:
        return []
    rows = {
        "full": writer.amount(supply.full_a, "A"),
        "music": writer.amount(supply.music_a, "A"),
        "spare": writer.amount(supply.spare_a, "A"),
        "idle": _at_idle(writer, supply),
        "rest": writer.amount(supply.standby_ma, "mA"),
    }
    cells = tuple((writer.say(f"supply.{name}"), value) for name, value in rows.items())
    blocks: tuple[Block, ...] = (
        _leads(writer, package),
        *([_other_wires(writer, package)] if _powered(package) else []),
        Table(heads=("", ""), rows=cells, widths=(2, 1), side=True),
    )
    return [Section(title=writer.say("supply.title"), blocks=blocks, whole=True)]


def _at_idle(writer: Writer, supply: Supply) -> str:
    """Charging left over at idle; if the battery has to add to it, for how long."""
    amps, minutes = writer.amount(supply.idle_spare_a, "A"), supply.idle_battery_min
    if minutes is None:
        return amps
    return writer.say("supply.idle_for", amps=amps, hours=writer.rounded(float(minutes) / 60, "h"))


def _powered(package: Package) -> list[str]:
    return list(dict.fromkeys(str(line.part_id) for line in package.lines if line.slot in POWERED))


def _other_wires(writer: Writer, package: Package) -> Table:
    """Return the ground and remote wires, and each amplifier's internal fuse."""
    rows = []
    for part_id in _powered(package):
        lead = package.lead_of(part_id)
        area = None if lead is None else lead.cable_mm2
        ground = "wire.ground_cable" if lead is not None and lead.ground == "cable" else "wire.ground_to"
        own = writer.dossier.parts.get(part_id, {}).get("fuse_a")
        name = writer.part(part_id)
        rows += [
            (name, writer.say("wire.ground"), writer.say(ground, area=writer.amount(area, "mm2"))),
            (name, writer.say("wire.remote"), writer.say("wire.remote_to")),
            (name, writer.say("wire.own_fuse"), writer.amount(own, "A")),
        ]
    heads = tuple(writer.say(f"wire.{name}") for name in ("at", "terminal", "goes"))
    return Table(heads=heads, rows=tuple(rows), widths=(1.6, 1.2, 2.2))


def _leads(writer: Writer, package: Package) -> Table:
    """Return a row per amplifier: its current, its fuse at the battery, its cable, and the cable's route."""
    heads = tuple(writer.say(f"lead.{name}") for name in ("amplifier", "full", "fuse", "cable", "run"))
    rows = tuple(_lead(writer, package, part_id) for part_id in _powered(package))
    return Table(heads=heads, rows=rows, right=(1, 2, 3, 4), widths=(1.5, 1, 1.2, 0.7, 0.7))


def _lead(writer: Writer, package: Package, part_id: str | None) -> tuple[str, ...]:
    lead = package.lead_of(part_id)
    if lead is None:
        return (writer.part(part_id), *(writer.say("word.unknown"),) * 4)
    color = f", {writer.say(f'color.{lead.fuse_color}')}" if lead.fuse_color else ""
    return (
        writer.part(part_id),
        writer.amount(lead.full_a, "A"),
        f"{writer.amount(lead.fuse_a, 'A')}{color}",
        writer.amount(lead.cable_mm2, "mm2"),
        writer.amount(lead.run_m, "m"),
    )


def _plugs(writer: Writer) -> Section:
    """Return the contacts of the radio's connectors, with the warning that cars differ."""
    heads = (writer.say("plugs.contact"), *(writer.say(f"plugs.{plug}") for plug in PLUGS))
    rows = tuple((str(contact), *(writer.say(f"plugs.{plug}{contact}") for plug in PLUGS)) for contact in PLUGS["A"])
    blocks = (Para(text=writer.say("plugs.warning"), tone="warn"), Table(heads=heads, rows=rows, widths=(0.5, 2, 2)))
    return Section(title=writer.say("plugs.title"), blocks=blocks, whole=True)
