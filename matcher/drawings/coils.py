"""Coil wiring: every coil with its plus and minus, every wire, and the amplifier's two screws."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from matcher.drawings.dimension import finished
from matcher.drawings.pens import INK, PAPER, Pen
from matcher.drawings.svg import Canvas, Drawing, Point, num, wrapped
from matcher.drawings.words import WORDS, DrawingWords
from matcher.formulas.coils import Coil, Net, Series, Terminal, coils_of, load_ohm, net_signs, wires
from matcher.formulas.nets import equal_power_nets

COIL_W, COIL_H, GAP_W, GAP_H = 26.0, 26.0, 6.0, 8.0
"""Size of a coil and gaps between coils, mm on paper."""
TURN_MM = (COIL_H - 12.0) / 4
WIRE, TURNS = Pen(width=0.5), Pen(width=0.45)
TERMINAL = Pen(width=0.35, fill=PAPER)


def coil_net(
    net: Net,
    coil_ohm: float | Decimal | None = None,
    *,
    block: str | None = None,
    words: DrawingWords = WORDS,
    prefix: str = "coils",
) -> Drawing:
    """Draw coil wiring from terminal to terminal.

    Parameters
    ----------
    net
        The tree of coils.
    coil_ohm
        Impedance of each coil, ohm.
    block
        Name of the amplifier's channel group.
    """
    return _Net(net, words, Canvas(prefix), block or words("amplifier"), coil_ohm).drawn()


def net_of_signs(signs: str, drivers: int) -> Net | None:
    """Return the wiring named in an answer, such as ``(1.1 + 1.2) | (2.1 + 2.2)``; None if there is no such wiring."""
    ways = [(drivers, coils) for coils in (1, 2)] + [(coils, 1) for coils in (3, 4) if drivers == 1]
    for count, coils in ways:
        for found in equal_power_nets(count, coils) or ():
            if net_signs(found.net, single=coils == 1) == signs:
                return found.net
    return None


@dataclass
class _Net:
    net: Net
    words: DrawingWords
    sheet: Canvas
    block: str
    coil_ohm: float | Decimal | None

    def drawn(self) -> Drawing:
        w, h = _size(self.net)
        top, bottom = -GAP_H, h + GAP_H
        self._draw(self.net, (0.0, 0.0), h)
        self._rail(top, 0.0, "+")
        self._rail(bottom, h, "-")
        self._amplifier(top, bottom)
        ohm = load_ohm(self.net, None if self.coil_ohm is None else float(self.coil_ohm))
        load = "?" if ohm is None else f"{self.words.number(ohm)} Ω"
        self.sheet.text((w / 2, bottom + 7), self.words("load", ohm=load), "middle", bold=True)
        sentences = [self.words("net_says", count=str(len(coils_of(self.net))), load=load)]
        sentences += [
            self.words("wire", start=self._name(wire.start), end=self._name(wire.end)) for wire in wires(self.net)
        ]
        signs = net_signs(self.net, single=self._single)
        return finished(self.sheet, self.words, self.words("net", net=signs), sentences, scaled=False)

    @property
    def _single(self) -> bool:
        return all(coil.coil == 1 for coil in coils_of(self.net))

    def _name(self, terminal: Terminal) -> str:
        coil = terminal.coil
        return f"{self.block if coil is None else self._coil_name(coil)} {terminal.pole}"

    def _coil_name(self, coil: Coil) -> str:
        if self._single:
            return self.words("coil", driver=str(coil.driver))
        return self.words("coil_of", driver=str(coil.driver), coil=str(coil.coil))

    def _draw(self, net: Net, at: Point, high: float) -> None:
        """Draw a net from its plus at the top to its minus at the bottom, stretched to a height."""
        x, y = at
        own_w, own_h = _size(net)
        if isinstance(net, Coil):
            spare = (high - COIL_H) / 2
            middle = x + COIL_W / 2
            self.sheet.line((middle, y), (middle, y + spare), WIRE, "wire")
            self.sheet.line((middle, y + high - spare), (middle, y + high), WIRE, "wire")
            self._coil(net, (x, y + spare))
        elif isinstance(net, Series):
            spare = (high - own_h) / len(net.parts)
            for part in net.parts:
                w, h = _size(part)
                self._draw(part, (x + (own_w - w) / 2, y), h + spare)
                y += h + spare
                if part is not net.parts[-1]:
                    self.sheet.line((x + own_w / 2, y), (x + own_w / 2, y + GAP_H), WIRE, "wire")
                    y += GAP_H
        else:
            self._side_by_side(net.parts, at, high)

    def _side_by_side(self, parts: tuple[Net, ...], at: Point, high: float) -> None:
        x, y = at
        middles = []
        for part in parts:
            w, _ = _size(part)
            self._draw(part, (x, y), high)
            middles.append(x + w / 2)
            x += w + GAP_W
        center = (at[0] + x - GAP_W) / 2
        for level in (y, y + high):
            self.sheet.line((min(middles), level), (max(middles), level), WIRE, "wire")
            for middle in dict.fromkeys((*middles, center)):
                self.sheet.ellipse((middle, level), 1.5, 1.5, Pen(stroke="none", fill=INK), "joint")

    def _coil(self, coil: Coil, at: Point) -> None:
        """Draw four turns between two screws, with the coil's name next to them."""
        middle, top = at[0] + COIL_W / 2, at[1]
        bows = "".join(f"a2.4 {num(TURN_MM / 2)} 0 0 1 0 {num(TURN_MM)}" for _ in range(4))
        first, last = top + 6.0, top + COIL_H - 6.0
        within = ((middle, top), (middle + 2.4, top + COIL_H))
        self.sheet.curve(f"M{num(middle)} {num(top)}V{num(first)}{bows}V{num(top + COIL_H)}", within, TURNS, "coil")
        for y, pole in ((first - 2.6, "+"), (last + 2.6, "−")):
            self._terminal((middle, y), pole)
        number = f"{coil.driver}" if self._single else f"{coil.driver}.{coil.coil}"
        self.sheet.text((middle - 4.0, top + 11.0), number, "end", 3.6, bold=True)
        ohm = "?" if self.coil_ohm is None else self.words.number(self.coil_ohm)
        self.sheet.text((middle - 4.0, top + 15.6), f"{ohm} Ω", "end")

    def _terminal(self, at: Point, pole: str) -> None:
        """Draw a screw with its sign."""
        self.sheet.ellipse(at, 4.0, 4.0, TERMINAL, "terminal")
        self.sheet.text(at, pole, "middle", 3.4, bold=True)

    def _rail(self, level: float, end: float, pole: str) -> None:
        """Draw the wire from the net's end to the amplifier's screw."""
        middle = _size(self.net)[0] / 2
        self.sheet.line((middle, end), (middle, level), WIRE, "wire")
        self.sheet.line((-14.0, level), (middle, level), WIRE, "wire")

    def _amplifier(self, top: float, bottom: float) -> None:
        left, wide = -42.0, 28.0
        self.sheet.rect(left, top - 6, wide, bottom - top + 12, Pen(width=0.5, fill=PAPER), "amplifier")
        for level, pole in ((top, "+"), (bottom, "−")):
            self._terminal((left + wide, level), pole)
        lines = wrapped(self.block, 13, 5)
        self.sheet.lines((left + wide / 2 - 1, (top + bottom) / 2 - 2.1 * (len(lines) - 1)), lines, "middle")


def _size(net: Net) -> tuple[float, float]:
    """Return width and minimum height of a net, mm on paper."""
    if isinstance(net, Coil):
        return COIL_W, COIL_H
    sizes = [_size(part) for part in net.parts]
    if isinstance(net, Series):
        return max(w for w, _ in sizes), sum(h for _, h in sizes) + GAP_H * (len(sizes) - 1)
    return sum(w for w, _ in sizes) + GAP_W * (len(sizes) - 1), max(h for _, h in sizes)
