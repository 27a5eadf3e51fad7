"""The whole system as a block diagram: battery, fuses, cables, head unit, amplifiers and loudspeakers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from catalog_schema.answers import Line, Link, Package
from catalog_schema.wiring import channels_of, joins_coils
from matcher.drawings.dimension import LegendEntry, finished, legend
from matcher.drawings.pens import BLUE, INK, PAPER, Pen
from matcher.drawings.svg import LINE_MM, Canvas, Drawing, Point, wrapped
from matcher.drawings.words import WORDS, DrawingWords
from matcher.lengths import length_text, shown_unit

LEFT_MM, MIDDLE_MM, RIGHT_MM = 32.0, 41.0, 42.0
"""Widths of the three columns: battery, sources of power, loudspeakers."""
MIDDLE_X, RIGHT_X = 44.0, 122.0
GAP_MM = 6.0
SMALL_MM = 2.6
"""Height of small letters: slightly over 7 points."""
FUSE_APART_MM, FUSES_END_MM = 14.0, 32.0
"""Distance between two fuses, and from the battery's top to the turn of the first cable."""
SUPPLY, SIGNAL = Pen(width=1.1), Pen(stroke=BLUE, width=0.4, dash=(2, 1))
FEED, BLOCK = Pen(stroke=INK, width=0.4), Pen(width=0.5, fill=PAPER)


def system_diagram(
    package: Package, names: Mapping[str, str] | None = None, *, words: DrawingWords = WORDS, prefix: str = "system"
) -> Drawing:
    """Draw a package as a block diagram, not to scale.

    Parameters
    ----------
    package
        A package of an answer: its lines, links, bass and supply are drawn.
    names
        Labels of openings by id; without a label, the id is used.
    """
    return _System(package, dict(names or {}), words, Canvas(prefix)).drawn()


@dataclass
class _Block:
    """A block that feeds others, with its links and position."""

    line: Line | None
    links: list[Link] = field(default_factory=list)
    top: float = 0.0
    bottom: float = 0.0


@dataclass
class _System:
    package: Package
    names: dict[str, str]
    words: DrawingWords
    sheet: Canvas

    def drawn(self) -> Drawing:
        blocks = self._blocks()
        y = 0.0
        for block in blocks:
            y = self._draw_block(block, y) + GAP_MM
        self._supply(blocks)
        self._signals(blocks)
        legend(
            self.sheet, [*(self._entries() if _powered(blocks) else []), LegendEntry("", [self.words("not_to_scale")])]
        )
        return finished(self.sheet, self.words, self.words("system"), self._sentences(), scaled=False)

    def _entries(self) -> list[LegendEntry]:
        """Return the meaning of the lines to amplifiers."""
        within = None if self.package.supply is None else self.package.supply.fuse_within_mm
        length = "?" if within is None else f"{length_text(within)} {shown_unit('mm')}"
        converter = next((line for line in self.package.lines if "line_output" in line.covers), None)
        signal = [self.words("signal")]
        signal += [] if converter is None else [self.words("signal_converted", part=self._label(converter))]
        return [LegendEntry(SUPPLY, [self.words("supply_fused", length=length)]), LegendEntry(SIGNAL, signal)]

    def _blocks(self) -> list[_Block]:
        """Return the head unit, then every part that feeds others, in the order of the lines."""
        fed = {link.from_ for link in self.package.links}
        lines = [line for line in self.package.lines if line.slot == "head_unit" or line.part_id in fed]
        blocks = [_Block(line, [link for link in self.package.links if link.from_ == line.part_id]) for line in lines]
        blocks.sort(key=lambda block: block.line is None or block.line.slot != "head_unit")
        # An original head unit feeds under a name that no line has.
        drawn = {line.part_id for line in lines}
        others = [link for link in self.package.links if link.from_ not in drawn]
        if others and blocks and blocks[0].line is not None and blocks[0].line.part_id is None:
            blocks[0].links.extend(others)
        elif others:
            blocks.insert(0, _Block(None, others))
        return blocks

    def _draw_block(self, block: _Block, top: float) -> float:
        """Draw a block with everything that it feeds, and return the height of its end."""
        texts = self._block_texts(block)
        y = top
        feeds = []
        for link in block.links:
            for place in link.to:
                feeds.append((link, y))
                y = self._draw_fed(link, place, y) + GAP_MM / 2
        bottom = max(y - GAP_MM / 2 if block.links else top, top + LINE_MM * len(texts) + 4)
        self._box((MIDDLE_X, top), MIDDLE_MM, bottom - top, texts, "block")
        for link, level in feeds:
            self._draw_feed(link, level)
        block.top, block.bottom = top, bottom
        return bottom

    def _block_texts(self, block: _Block) -> list[str]:
        if block.line is None:
            return wrapped(self.words.again(block.links[0].from_), 22, 3)
        kind = "head_unit" if block.line.slot == "head_unit" else "amplifier"
        label = self._label(block.line)
        lead = self.package.lead_of(block.line.part_id)
        ground = [] if lead is None else [self.words("ground", area=self._known(lead.cable_mm2, "mm²"))]
        return [self.words(kind), *wrapped(label, 22, 3), *self._place(block.line.opening_id), *ground]

    def _label(self, line: Line) -> str:
        return self.words.again(line.label) or line.part_id or self.words("original")

    def _place(self, opening_id: str | None) -> list[str]:
        return [] if opening_id is None else wrapped(self.names.get(opening_id, opening_id), 21, 3)

    def _draw_fed(self, link: Link, place: str, top: float) -> float:
        texts = self._fed_texts(place)
        high = max(LINE_MM * len(texts) + 4, 5 * LINE_MM + 3)
        self._box((RIGHT_X, top), RIGHT_MM, high, texts, "fed")
        return top + high

    def _fed_texts(self, place: str) -> list[str]:
        lines = [line for line in self.package.lines if line.opening_id == place and line.slot in ("speaker", "bass")]
        labels = [self._label(line) for line in lines] or [self.words("original")]
        bass = self.package.bass
        if not lines or lines[0].slot != "bass" or bass is None:
            return [*self._place(place), *wrapped(labels[0], 21, 2)]
        net = "? l" if bass.box_net_l is None else f"{self.words.number(bass.box_net_l, 1)} l"
        drivers = wrapped(f"{bass.drivers} × {labels[0]}", 21, 2)
        coils = wrapped(bass.net, 21, 2) if joins_coils(bass.net) else []
        return [*self._place(place), *drivers, *coils, self.words("box", net=net)]

    def _draw_feed(self, link: Link, top: float) -> None:
        """Draw the wire from a block to a load, with its known figures above and below."""
        y, start, end = top + 2 * LINE_MM + 1, MIDDLE_X + MIDDLE_MM, RIGHT_X
        self.sheet.line((start, y), (end, y), FEED, "feed")
        self.sheet.polygon(((end, y), (end - 2.4, y - 1), (end - 2.4, y + 1)), Pen(stroke="none", fill=INK))
        self.sheet.text(((start + end) / 2, y - 2.6), self._load(link), "middle", bold=True)
        labels = [*wrapped(self._channels(link), 21, 3), *self._filter(link)]
        for row, line in enumerate(labels):
            self.sheet.text(((start + end) / 2, y + 2.6 + 3.4 * row), line, "middle", SMALL_MM)

    def _channels(self, link: Link) -> str:
        """Return the channel numbers, and whether another place shares them."""
        numbers = channels_of(self.package.links, self.package.filters, link.to[0])
        if not numbers:
            return self.words.again(link.channels)
        key = "channels_shared" if link.beside else "channel_numbers" if len(numbers) > 1 else "channel_number"
        return self.words(key, numbers="–".join(str(one) for one in dict.fromkeys((numbers[0], numbers[-1]))))

    def _filter(self, link: Link) -> list[str]:
        """Return the filter of a link's channels."""
        found = self.package.filter_of(link.to[0])
        if found is None:
            return []
        above, below = found.high_pass_hz, found.low_pass_hz
        labels = [] if above is None else [self.words("high_pass", hz=self.words.number(above))]
        return labels + ([] if below is None else [self.words("low_pass", hz=self.words.number(below))])

    def _load(self, link: Link) -> str:
        load = "? Ω" if link.load_ohm is None else f"{self.words.number(link.load_ohm)} Ω"
        power = "? W" if link.power_w is None else f"{self.words.number(link.power_w, 1)} W"
        return f"{load}  {power}"

    def _box(self, at: Point, wide: float, high: float, texts: list[str], of: str) -> None:
        self.sheet.rect(at[0], at[1], wide, high, BLOCK, of)
        top = at[1] + high / 2 - LINE_MM * (len(texts) - 1) / 2
        self.sheet.lines((at[0] + wide / 2, top), texts, "middle")

    def _supply(self, blocks: list[_Block]) -> None:
        """Draw a cable with its own fuse from the battery to each amplifier; the head unit keeps the car's feed."""
        powered = _powered(blocks)
        if not powered:
            return
        top = blocks[0].top
        self._box((0, top), LEFT_MM, 12, [self.words("battery")], "battery")
        for place, block in enumerate(powered):
            # The uppermost amplifier has the outermost cable, so that no two cross.
            x = LEFT_MM - FUSE_APART_MM * (place + 0.5)
            self._lead(block, (x, top + 12), top + FUSES_END_MM + LINE_MM * place)

    def _lead(self, block: _Block, start: Point, least: float) -> None:
        """Draw the cable to one amplifier: its fuse, area and length."""
        x, y = start
        end = max((block.top + block.bottom) / 2, least)
        self.sheet.line((x, y), (x, end), SUPPLY, "supply")
        self.sheet.line((x, end), (MIDDLE_X, end), SUPPLY, "supply")
        self.sheet.rect(x - 2.5, y + 8, 5, 8, BLOCK, "fuse")
        self.sheet.line((x, y + 8), (x, y + 16), Pen(width=0.5))
        lead = self.package.lead_of(None if block.line is None else block.line.part_id)
        fuse = None if lead is None else lead.fuse_a
        self.sheet.text((x + 3.5, y + 12), self._known(fuse, "A"), bold=True)
        area, run = (None, None) if lead is None else (lead.cable_mm2, lead.run_m)
        for level, label in ((end - 2.4, self._known(area, "mm²")), (end + 2.8, self._known(run, "m"))):
            self.sheet.text((MIDDLE_X - 3.5, level), label, "end", SMALL_MM)

    def _known(self, number: Decimal | None, unit: str) -> str:
        return f"{'?' if number is None else self.words.number(number)} {unit}"

    def _signals(self, blocks: list[_Block]) -> None:
        """Draw the signal lines from the head unit to every amplifier, past those between."""
        head = next((block for block in blocks if block.line is not None and block.line.slot == "head_unit"), None)
        others = [block for block in blocks if block is not head]
        if head is None or not others:
            return
        x, start = MIDDLE_X - 2.2, head.bottom - 3
        self.sheet.path(((MIDDLE_X, start), (x, start), (x, others[-1].top + 3)), SIGNAL, "signal")
        for block in others:
            y = block.top + 3
            self.sheet.line((x, y), (MIDDLE_X, y), SIGNAL)
            tip = ((MIDDLE_X, y), (MIDDLE_X - 2, y - 0.9), (MIDDLE_X - 2, y + 0.9))
            self.sheet.polygon(tip, Pen(stroke="none", fill=BLUE))

    def _sentences(self) -> list[str]:
        labels = []
        for link in self.package.links:
            source = next((line.label for line in self.package.lines if line.part_id == link.from_), link.from_)
            to = ", ".join(self.names.get(place, place) for place in link.to)
            load, _, power = self._load(link).partition("  ")
            labels.append(
                self.words(
                    "feeds", source=source, to=to, channels=self.words.again(link.channels), load=load, power=power
                )
            )
        return labels


def _powered(blocks: list[_Block]) -> list[_Block]:
    """Return the blocks with a supply cable of their own."""
    return [block for block in blocks if block.line is not None and block.line.slot != "head_unit"]
