"""Head units, each by itself or with an accessory that makes its line level, by what an amplifier and a plan see."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache

import numpy as np

from matcher.kernel.columns import Column, Columns
from matcher.kernel.distinct import distinct
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.line_level import LINE_LEVEL
from matcher.rules.package import HEAD_CHANNELS
from matcher.rules.rule import FITS, NO, rules_of
from matcher.search.candidates.head_units import NO_SETS, Features, HeadGroup
from matcher.search.candidates.line_aids import LineAids
from matcher.search.candidates.table import CandidateTable
from matcher.search.exact.arrays import MICRO, group_max, group_min
from matcher.search.exact.choices import ENDLESS, USES, Alternative, Ints, Part, Slot, Union, relaxed, sum_of
from matcher.search.feeds.links import CONVERTER, PAIR, channel_codes
from matcher.search.feeds.parts import AmplifierSignature, HeadSignature, LineAid
from matcher.search.fits.refusing import refused_or_not, refuses
from matcher.search.tree.beside import EQUIPMENT, SetSlot
from matcher.search.tree.channels import ChannelGroups, Figures, channel_groups, figures_of
from matcher.settings import Settings

TURN, AID_TURN = 1, 2

Outputs = tuple[int | None, int | None, Decimal | None, Decimal | None]
"""Loudspeaker channels, line outputs, their volts and tolerance: all that an amplifier's inputs are held against."""
Inputs = tuple[Decimal | None, Decimal | None, bool | None, Decimal | None, Decimal | None]
"""Least and greatest volts, whether it takes a loudspeaker output, tolerances."""


def outputs_of(head: HeadSignature) -> Outputs:
    """Figures of the head unit that a line depends on."""
    return head.amp_channels, head.preouts, head.preout_v, head.preout_v_tol


def inputs_of(amplifier: AmplifierSignature) -> Inputs:
    """Figures of the amplifier that a line depends on."""
    tols = amplifier.input_min_v_tol, amplifier.input_max_v_tol
    return amplifier.input_min_v, amplifier.input_max_v, amplifier.high_level_in, *tols


def line_table(
    outputs: Sequence[Outputs], inputs: Sequence[Inputs], aids: Sequence[LineAid], settings: Settings
) -> Ints:
    """The worst that the rules say of each line, shape (inputs, outputs, 1 + aids): the first is without any aid."""
    plain = _line_codes(*_plain_outputs(outputs, inputs), None, inputs, settings)
    made = [_line_codes(*_made_outputs(aid, outputs, inputs), aid, inputs, settings) for aid in aids]
    return np.stack([plain, *made], axis=2)


def _plain_outputs(outputs: Sequence[Outputs], inputs: Sequence[Inputs]) -> tuple[Figures, Figures, Column, Column]:
    """Line outputs, usable outputs, greatest and least volts of head units by themselves, against some inputs."""
    channels, preouts, volts, tols = (figures_of([one[at] for one in outputs]) for at in range(4))
    by_line = Figures(np.where(preouts.known & (preouts.values < PAIR * MICRO), 0, preouts.values), preouts.known)
    level = Column(volts.values, volts.known, np.where(tols.known, tols.values, 0))
    return by_line, _usable(channels, preouts, [one[2] for one in inputs]), level, level


def _usable(channels: Figures, preouts: Figures, high_level: Sequence[bool | None]) -> Figures:
    """Outputs that each amplifier takes, shape (inputs, outputs): line outputs, or those for loudspeakers."""
    taken = np.array([one is True for one in high_level])[:, None]
    spoken_known = np.where(taken, channels.known, np.array([one is False for one in high_level])[:, None])
    spoken = np.where(taken & channels.known, channels.values, 0)
    few = preouts.known & (preouts.values < PAIR * MICRO)
    # Outputs that nobody has counted may do if there are no loudspeaker outputs.
    uncounted = np.where(spoken_known & (spoken > 0), spoken, 0)
    values = np.where(preouts.known, np.where(few, np.maximum(preouts.values, spoken), preouts.values), uncounted)
    known = np.where(preouts.known, ~few | spoken_known, uncounted > 0)
    return Figures(values, known)


def _made_outputs(
    aid: LineAid, outputs: Sequence[Outputs], inputs: Sequence[Inputs]
) -> tuple[Figures, Figures, Column, Column]:
    """The same with an accessory: its level is set when it is fitted."""
    by_line, usable, own, _ = _plain_outputs(outputs, inputs)
    most = figures_of([aid.greatest_v] * len(outputs))
    if aid.kind != CONVERTER:  # it lifts what the head unit gives
        return by_line, usable, most.column, own
    pair = figures_of([PAIR] * len(outputs))
    return pair, figures_of([one[0] for one in outputs]), most.column, Column(np.zeros_like(most.values), most.known)


def _line_codes(
    by_line: Figures,
    usable: Figures,
    greatest: Column,
    least: Column,
    aid: LineAid | None,
    inputs: Sequence[Inputs],
    settings: Settings,
) -> Ints:
    columns = {"preouts": by_line.column, "usable": usable.column, "greatest_v": greatest, "preout_v": least}
    for at, name in enumerate(("input_min_v", "input_max_v")):
        volts, tols = figures_of([one[at] for one in inputs]), figures_of([one[3 + at] for one in inputs])
        tol = np.where(tols.known, tols.values, 0)
        columns[name] = Column(volts.values[:, None], volts.known[:, None], tol[:, None])
    evaluation = Evaluation(Columns({f"line.{name}": one for name, one in columns.items()}), settings)
    found = worst(rules_of(LINE_LEVEL), evaluation)
    codes = np.broadcast_to(found, (len(inputs), len(by_line.values))).astype(np.int64)
    return refused_or_not(codes)  # type: ignore[no-any-return]


@dataclass(frozen=True)
class HeadOption:
    """One way to fill the dash: head units of one class, perhaps with what has to come along."""

    signature: HeadSignature
    aid: int
    """Position among what accessories make of a line, from 1; 0: none."""
    bounds: tuple[Ints, int, Ints]
    """As `sum_of` has them."""
    parts: Callable[[], Sequence[Part]]


@lru_cache(maxsize=100)
def groups_of(blocks: tuple[tuple[Decimal | None, Decimal | None], ...]) -> ChannelGroups:
    """The channel groups of head units; the same ones are made once, and so is what they feed."""
    return channel_groups([(power, None, None, least) for power, least in blocks])


class HeadUnitSlot:
    """Every way to fill the dash, by the channel group and the line that it offers.

    Parameters
    ----------
    options
        Head units by class, and those with an accessory that makes a line level.
    lines
        As `line_table` has them.
    outputs
        The outputs that `lines` is about, in its order.
    sure
        Whether nothing may be left to measure.
    """

    def __init__(self, options: Sequence[HeadOption], lines: Ints, outputs: Sequence[Outputs], *, sure: bool) -> None:
        self.options, self._lines, self._sure = options, lines, sure
        number = {one: at for at, one in enumerate(outputs)}
        blocks: dict[tuple[Decimal | None, Decimal | None], int] = {}
        self._block = _whole(
            blocks.setdefault((one.signature.amp_w, one.signature.amp_min_ohm), len(blocks)) for one in options
        )
        self.groups = groups_of(tuple(blocks))
        """The channel groups of head units, by their power and least load."""
        self._outputs = _whole(number[outputs_of(one.signature)] for one in options)
        self._channels = _whole(
            -1 if one.signature.amp_channels is None else one.signature.amp_channels for one in options
        )
        self._aid = _whole(one.aid for one in options)
        self._values = np.array([one.bounds[0] for one in options])
        self._cents = _whole(one.bounds[1] for one in options)
        self._uses = np.array([one.bounds[2] for one in options])
        self._known: dict[tuple[int, tuple[int, ...], bool], dict[tuple[int, int], Union]] = {}

    def by_group(
        self, needed: int, profiles: tuple[int, ...], *, bounding: bool = False
    ) -> dict[tuple[int, int], Union]:
        """The head units for amplifiers with these inputs, by channel group and verdict; group 0 if none is used.

        An accessory that makes a line level comes along only if it betters the verdict; to bound what goes with
        further amplifiers, and if nothing is refused, whether it does or not.
        """
        key = needed, profiles, bounding
        if key not in self._known:
            code = self._codes(needed, profiles, bounding=bounding)
            group = self._block if needed else np.zeros_like(self._block)
            allowed = np.flatnonzero(code == FITS if self._sure else code != NO)
            pairs = sorted({(int(group[at]), int(code[at])) for at in allowed})
            self._known[key] = {
                (one, told): self._union(allowed[(group[allowed] == one) & (code[allowed] == told)])
                for one, told in pairs
            }
        return self._known[key]

    def _codes(self, needed: int, profiles: tuple[int, ...], *, bounding: bool) -> Ints:
        channels = channel_codes(HEAD_CHANNELS, self._channels, needed)
        if not profiles:
            return np.where(self._aid == 0, channels, NO)
        lines = self._lines[list(profiles)].min(axis=0)
        own, bare = lines[self._outputs, self._aid], lines[self._outputs, 0]
        return np.where((self._aid == 0) | (own > bare) | bounding | (not refuses()), np.minimum(own, channels), NO)

    def _union(self, some: Ints) -> Union:
        def make(at: int) -> Alternative:
            return 0, self.options[int(some[at])].parts()

        return Union(self._values[some], self._cents[some], self._uses[some], make)


def _whole(numbers: object) -> Ints:
    return np.array(list(numbers), dtype=np.int64)  # type: ignore[call-overload]


def head_options(
    group: HeadGroup, aids: LineAids | None, *, sure: bool, plain: bool, by_goods: bool
) -> Iterator[HeadOption]:
    """Head units of one electrical class: as they are if `plain`, and with each kind of line level made for them."""
    table, made = group.table, dict[Features | None, list[Slot]]()
    sets = [] if group.sets is NO_SETS else [SetSlot(None, EQUIPMENT, group.sets)]
    owned, number = _kinds(group, () if aids is None else aids.needs)
    tops = group_max(relaxed(table.points, table.cents, table.uses), number, len(owned))
    cents = group_min(table.cents, number, len(owned), ENDLESS)
    uses = group_min(
        np.zeros((len(table), USES), np.int64) if table.uses is None else table.uses, number, len(owned), ENDLESS
    )

    @cache
    def heads(kind: int) -> Slot:
        return table.slot(np.flatnonzero(number == kind), "head_unit", TURN, by_goods=by_goods)

    def option(kind: int, aid: int, along: Sequence[Slot]) -> HeadOption:
        more = sum_of(along)
        bounds = tops[kind] + more[0], int(cents[kind]) + more[1], uses[kind] + more[2]
        return HeadOption(table.classes[owned[kind][0]], aid, bounds, lambda: [heads(kind), *along])

    for kind, (_, has) in enumerate(owned if group.sets else ()):
        if plain:
            yield option(kind, 0, sets)
        if has not in made:
            made[has] = [] if aids is None else [_aids(some, sure=sure) for some in aids.offered(has)]
        for aid, slot in enumerate(made[has], 1):
            if len(slot):
                yield option(kind, aid, [*sets, slot])


def _aids(table: CandidateTable, *, sure: bool) -> Slot:
    some = np.flatnonzero(~table.open) if sure else np.arange(len(table))
    return table.slot(some, "line_aid", AID_TURN)


def _kinds(group: HeadGroup, needs: Features) -> tuple[list[tuple[int, Features | None]], Ints]:
    """The electrical classes of head units, each with the same of some features; and by row its place among them."""
    owned = [None if some is None else tuple(sorted(set(some) & set(needs))) for some in group.lists]
    every = list(dict.fromkeys(owned))
    has = np.array([every.index(one) for one in owned], np.int64)[group.features]
    first, number = distinct([group.table.group, has], len(has))
    return [(int(group.table.group[row]), every[has[row]]) for row in first.tolist()], number
