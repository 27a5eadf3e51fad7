"""The wiring page: every wire with its terminals, every fuse with its amperes, ground, remote, lengths, filters."""

from __future__ import annotations

import re

from catalog_schema.answers import Link, Package
from matcher.papers.filters import filter_text
from matcher.papers.model import Block, Drawing, Para, Section, Table
from matcher.papers.writer import Writer

PLUGS = {"A": tuple(range(1, 9)), "B": tuple(range(1, 9))}
"""Contacts of the two plugs of ISO 10487 that every radio has."""
POWERED = ("amplifier", "bass_amplifier")


def wiring(writer: Writer, package: Package) -> list[Section]:
    """A page of what feeds what, with the radio's plugs, then one of the terminals and the supply."""
    pages: list[Section] = []
    if package.links:
        blocks: tuple[Block, ...] = (
            *_drawings(writer, "system"),
            _feeds(writer, package),
            Para(text=writer.say("feed.filters"), tone="note"),
        )
        pages += [Section(title=writer.say("feed.title"), blocks=blocks, new_page=True), _plugs(writer)]
        terminals: tuple[Block, ...] = (_terminals(writer, package), *_drawings(writer, "coils"))
        pages.append(Section(title=writer.say("wire.title"), blocks=terminals, new_page=True))
    return [*pages, *_supply(writer, package)]


def _feeds(writer: Writer, package: Package) -> Table:
    """What feeds each place, with its load, its power and its filter."""
    heads = tuple(writer.say(f"feed.{name}") for name in ("to", "from", "channels", "load", "power", "filter"))
    rows = tuple(_feed(writer, link, package) for link in package.links)
    return Table(heads=heads, rows=rows, right=(3, 4), widths=(1.3, 1.3, 1.6, 0.7, 0.7, 1.2))


def _feed(writer: Writer, link: Link, package: Package) -> tuple[str, ...]:
    return (
        ", ".join(writer.place(name) for name in link.to),
        writer.part(link.from_),
        writer.channels(link),
        writer.amount(link.load_ohm, "ohm"),
        writer.amount(link.power_w, "W"),
        filter_text(writer, package, link.to[0]),
    )


def _terminals(writer: Writer, package: Package) -> Table:
    """A row for each pair of terminals that feeds loudspeakers: channels counted from the amplifier's first."""
    rows: list[tuple[str, ...]] = []
    numbers = channel_numbers(package)
    for group in package.filters:
        link = next((one for one in package.links if one.to[0] in group.to), None)
        if link is not None:
            first = int(numbers[group.to[0]].partition("–")[0])
            rows += _group_rows(writer, link, group.to, first, _count(link))
    heads = tuple(writer.say(f"wire.{name}") for name in ("from", "terminals", "to"))
    return Table(heads=heads, rows=tuple(rows), widths=(1.3, 1.6, 2.2))


def channel_numbers(package: Package) -> dict[str, str]:
    """By the first place of a channel group: its channels, counted from the first of what feeds it."""
    numbers: dict[str, str] = {}
    used: dict[str, int] = {}
    for group in package.filters:
        link = next((one for one in package.links if one.to[0] in group.to), None)
        if link is not None:
            first, count = used.get(group.from_, 0) + 1, _count(link)
            used[group.from_] = first + count - 1
            numbers[group.to[0]] = str(first) if count == 1 else f"{first}–{first + count - 1}"
    return numbers


def _count(link: Link) -> int:
    """How many channels a feed uses, as its phrase says."""
    found = re.match(r"\d+", str(link.channels))
    return 2 if found is None else int(found[0])


def _group_rows(writer: Writer, link: Link, places: list[str], first: int, count: int) -> list[tuple[str, ...]]:
    source, named = writer.part(link.from_), [writer.place(place) for place in places]
    last = str(first + count - 1)
    if link.mode == "bridged":
        told = writer.say("wire.bridged", first=str(first), last=last)
        return [(source, told, writer.say("wire.poles", place=writer.listed(named)))]
    if count == 1 or (len(places) == 1 and (writer.dossier.opening(places[0]).get("count") or 2) == 1):
        told = writer.say("wire.channel", number=str(first))
        return [(source, told, writer.say("wire.poles", place=writer.listed(named)))]
    key = "wire.shared" if len(places) > 1 else "wire.poles"
    return [
        (
            source,
            writer.say("wire.channel", number=str(first + at)),
            writer.say(f"wire.{side}", to=writer.say(key, place=" + ".join(named))),
        )
        for at, side in enumerate(("left", "right"))
    ]


def _drawings(writer: Writer, *names: str) -> list[Drawing]:
    drawings = writer.dossier.drawings
    return [writer.drawing(drawings[name]) for name in names if name in drawings]


def _supply(writer: Writer, package: Package) -> list[Section]:
    """The cable, fuses, ground and remote of each amplifier, and what the car has to spare."""
    supply = package.supply
    if supply is None:
        return []
    rows = {
        "full": writer.amount(supply.full_a, "A"),
        "music": writer.amount(supply.music_a, "A"),
        "within": writer.amount(supply.fuse_within_mm, "mm"),
        "spare": writer.amount(supply.spare_a, "A"),
        "idle": writer.amount(supply.idle_spare_a, "A"),
        "rest": writer.amount(supply.standby_ma, "mA"),
    }
    told = tuple((writer.say(f"supply.{name}"), value) for name, value in rows.items())
    blocks: tuple[Block, ...] = (
        _leads(writer, package),
        *([_other_wires(writer, package)] if _powered(package) else []),
        Table(heads=("", ""), rows=told, widths=(2, 1), side=True),
        Para(text=writer.say("supply.ground")),
    )
    return [Section(title=writer.say("supply.title"), blocks=blocks, whole=True)]


def _powered(package: Package) -> list[str]:
    return list(dict.fromkeys(str(line.part_id) for line in package.lines if line.slot in POWERED))


def _other_wires(writer: Writer, package: Package) -> Table:
    """Ground, remote, and the fuse in each amplifier itself."""
    rows = []
    for part_id in _powered(package):
        lead = package.lead_of(part_id)
        area = None if lead is None else lead.cable_mm2
        own = writer.dossier.parts.get(part_id, {}).get("fuse_a")
        name = writer.part(part_id)
        rows += [
            (name, writer.say("wire.ground"), writer.say("wire.ground_to", area=writer.amount(area, "mm2"))),
            (name, writer.say("wire.remote"), writer.say("wire.remote_to")),
            (name, writer.say("wire.own_fuse"), writer.amount(own, "A")),
        ]
    heads = tuple(writer.say(f"wire.{name}") for name in ("at", "terminal", "goes"))
    return Table(heads=heads, rows=tuple(rows), widths=(1.6, 1.2, 2.2))


def _leads(writer: Writer, package: Package) -> Table:
    """A row for each amplifier: its current, its fuse at the battery, its cable and the way it goes."""
    heads = tuple(writer.say(f"lead.{name}") for name in ("amplifier", "full", "fuse", "cable", "run"))
    rows = tuple(_lead(writer, package, part_id) for part_id in _powered(package))
    return Table(heads=heads, rows=rows, right=(1, 2, 3, 4), widths=(1.8, 0.8, 1, 0.8, 0.8))


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
    """The contacts of the radio's plugs, with the warning that cars differ."""
    heads = (writer.say("plugs.contact"), *(writer.say(f"plugs.{plug}") for plug in PLUGS))
    rows = tuple((str(contact), *(writer.say(f"plugs.{plug}{contact}") for plug in PLUGS)) for contact in PLUGS["A"])
    blocks = (Para(text=writer.say("plugs.warning"), tone="warn"), Table(heads=heads, rows=rows, widths=(0.5, 2, 2)))
    return Section(title=writer.say("plugs.title"), blocks=blocks, whole=True)
