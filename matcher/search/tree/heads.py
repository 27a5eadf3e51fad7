"""Head units, alone or with a line-level accessory, by their properties for amplifiers and plans."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, cached_property, lru_cache
from itertools import pairwise

import numpy as np

from matcher.kernel.distinct import distinct
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.line_level import LINE_LEVEL
from matcher.rules.package import HEAD_CHANNELS
from matcher.rules.rule import FITS, NO, rules_of
from matcher.search.candidates.head_units import NO_SETS, Features, HeadGroup
from matcher.search.candidates.line_aids import LineAids
from matcher.search.candidates.table import EQUIPMENT, CandidateTable, SetSlot
from matcher.search.exact.arrays import group_max, group_min
from matcher.search.exact.choices import (
    ENDLESS,
    ROWS,
    SCALE,
    USES,
    Alternative,
    Ints,
    Part,
    Slot,
    Union,
    relaxed,
    sum_of,
)
from matcher.search.feeds.filtering import NOTHING, PlanWants, code_of, needed_filters
from matcher.search.feeds.links import Inputs, Outputs, channel_codes, line_columns, outputs_of
from matcher.search.feeds.parts import HeadSignature, LineAid
from matcher.search.fits.refusing import refused_or_not, refuses
from matcher.search.tree.channels import ChannelGroups, channel_groups
from matcher.settings import Settings

TURN, AID_TURN = 1, 2


def line_table(
    outputs: Sequence[Outputs], inputs: Sequence[Inputs], aids: Sequence[LineAid], settings: Settings
) -> Ints:
    """Return the worst verdict code of each line, shape (inputs, outputs, 1 + aids): the first is without accessory."""
    every = [Evaluation(line_columns(outputs, inputs, aid), settings) for aid in (None, *aids)]
    codes = [np.broadcast_to(worst(rules_of(LINE_LEVEL), at), (len(inputs), len(outputs))) for at in every]
    return refused_or_not(np.stack(codes, axis=2).astype(np.int64))  # type: ignore[no-any-return]


@dataclass(frozen=True)
class HeadOption:
    """One way to fill the dash: head units of one class, possibly with accompanying parts."""

    signature: HeadSignature
    aid: int
    """Index among the line-level accessories, from 1; 0: none."""
    bounds: tuple[Ints, int, Ints]
    """As in `sum_of`."""
    parts: Callable[[], Sequence[Part]]


@lru_cache(maxsize=100)
def groups_of(blocks: tuple[tuple[Decimal | None, Decimal | None], ...]) -> ChannelGroups:
    """The channel groups of head units; equal ones and their feeds are built once."""
    return channel_groups([(power, None, None, least) for power, least in blocks])


@dataclass
class _Allowed:
    """Bounds of some options, sorted by channel group and verdict; `make` creates one as an alternative."""

    values: Ints
    cents: Ints
    uses: Ints
    group: Ints
    code: Ints
    make: Callable[[int], Alternative]

    @cached_property
    def first(self) -> Ints:
        """First option of each pair of channel group and verdict."""
        return np.flatnonzero(np.diff(self.group * (FITS + 1) + self.code, prepend=-1))

    @cached_property
    def tops(self) -> Ints:
        """Maximum relaxed values of each pair."""
        found: Ints = np.maximum.reduceat(self.values, self.first, axis=0)
        return found

    @cached_property
    def unions(self) -> dict[tuple[int, int], Union]:
        """The options of each pair."""
        return {
            (int(self.group[start]), int(self.code[start])): self._union(start, end)
            for start, end in pairwise([*self.first.tolist(), len(self.cents)])
        }

    def _union(self, start: int, end: int) -> Union:
        some = slice(start, end)
        return Union(self.values[some], self.cents[some], self.uses[some], lambda at: self.make(start + at))


class HeadUnitSlot:
    """Every way to fill the dash, by channel group and line.

    Parameters
    ----------
    options
        Head units by class, with and without a line-level accessory.
    lines
        As in `line_table`.
    outputs
        Outputs of `lines`, in order.
    filters
        By kind of inputs: codes of the amplifier's high-pass and low-pass.
    own_ma, extra
        Current on music of some own channels; additions of a plan: in-line filters, that current, wire to places.
    unknown
        Points lost for a verdict code.
    sure
        Whether nothing may be open.
    """

    def __init__(
        self,
        options: Sequence[HeadOption],
        lines: Ints,
        outputs: Sequence[Outputs],
        filters: Ints,
        own_ma: Callable[[int, Decimal | None], int],
        extra: Callable[..., Slot],
        unknown: Callable[[int], int],
        *,
        sure: bool,
    ) -> None:
        self.options, self._lines, self._sure = options, lines, sure
        self._inputs_filters, self._own_ma, self._extra = filters, own_ma, cache(extra)
        held = [(code_of(one.signature.high_pass), code_of(one.signature.low_pass)) for one in options]
        self._filters = np.array(held, dtype=np.int64).reshape(-1, 2).T
        number = {one: at for at, one in enumerate(outputs)}
        blocks: dict[tuple[Decimal | None, Decimal | None], int] = {}
        self._block = _whole(
            blocks.setdefault((one.signature.amp_w, one.signature.amp_min_ohm), len(blocks)) for one in options
        )
        self.groups = groups_of(tuple(blocks))
        """The channel groups of head units, by power and least load."""
        self._outputs = _whole(number[outputs_of(one.signature)] for one in options)
        self._channels = _whole(
            -1 if one.signature.amp_channels is None else one.signature.amp_channels for one in options
        )
        self._aid = _whole(one.aid for one in options)
        self._values = np.array([one.bounds[0] for one in options], dtype=np.int64).reshape(-1, ROWS)
        self._cents = _whole(one.bounds[1] for one in options)
        self._uses = np.array([one.bounds[2] for one in options], dtype=np.int64).reshape(-1, USES)
        self._own_currents, self._unknown = cache(self._own_currents_of), unknown
        self._allowed, self.every = cache(self._allowed_of), cache(self._every)

    def by_group(
        self, needed: int, profiles: tuple[int, ...], wanted: PlanWants = NOTHING, *, bounding: bool = False
    ) -> dict[tuple[int, int], Union]:
        """Return head units for amplifiers with these inputs, by channel group and verdict; group 0 if none is used.

        A line-level accessory is added only if it improves the verdict, except in bounds for further amplifiers and if
        nothing is refused. `profiles` are the inputs of the amplifier, or of those for loudspeakers and for bass;
        bounds leave out filters and wire.
        """
        return self._allowed(needed, profiles, NOTHING if bounding else wanted, bounding).unions

    def _allowed_of(self, needed: int, profiles: tuple[int, ...], wanted: PlanWants, bounding: bool) -> _Allowed:
        """The options for amplifiers with these inputs, sorted by channel group and verdict."""
        code, bought = self._filtered(wanted, profiles)
        code = np.minimum(code, self._codes(needed, profiles, bounding=bounding))
        own = self._own_currents(needed if profiles and not bounding else 0)
        group = self._block if needed else np.zeros_like(self._block)
        some = np.flatnonzero(code == FITS if self._sure else code != NO)
        some = some[np.lexsort((code[some], group[some]))]
        added = distinct([bought[some], own[some]], len(some))
        kinds = zip(*(each[some[added.first]].tolist() for each in (bought, own)), strict=True)
        more: list[list[Slot]] = [
            [self._extra(*one, wanted.wired)] if wanted.wired or any(one) else [] for one in kinds
        ]
        bounds = [sum_of(slots) for slots in more] or [sum_of([])]
        values, cents, uses = (np.array([one[at] for one in bounds])[added.number] for at in range(3))

        def make(at: int) -> Alternative:
            return 0, [*self.options[int(some[at])].parts(), *more[int(added.number[at])]]

        sums = self._values[some] + values, self._cents[some] + cents, self._uses[some] + uses
        return _Allowed(*sums, group[some], code[some], make)

    def _every(self, needed: int, inputs: int | None, wanted: PlanWants, *, bounding: bool) -> tuple[Ints, Ints, int]:
        """Head units for any amplifier, or for none: channel groups, bounds, minimum money.

        `inputs` is the number of kinds of line inputs; None without an amplifier.
        """
        wanted = NOTHING if bounding else wanted
        profiles = [()] if inputs is None else [(at,) for at in range(inputs)]
        every = [self._allowed(needed, one, wanted, bounding) for one in profiles]
        some = [one for one in every if len(one.cents)]
        if not some:
            return np.zeros(0, np.int64), np.zeros((0, ROWS), np.int64), ENDLESS
        lost = np.array([self._unknown(code) for one in some for code in one.code[one.first].tolist()], np.int64)
        tops = np.concatenate([one.tops for one in some]) + SCALE * lost[:, None]
        return np.concatenate([one.group[one.first] for one in some]), tops, min(int(one.cents.min()) for one in some)

    def _filtered(self, wanted: PlanWants, profiles: tuple[int, ...]) -> tuple[Ints, Ints]:
        """Verdict codes of the filters by option, and the number to buy."""
        high, low = (self._inputs_filters[profiles[at], at] if profiles else NO for at in (0, -1))
        return needed_filters(wanted, (self._filters[0], self._filters[1]), high, low)

    def _own_currents_of(self, channels: int) -> Ints:
        """Current on music of this many own channels by option, in mA."""
        powers = [one.signature.amp_w for one in self.options]
        of_power = {power: self._own_ma(channels, power) if channels else 0 for power in set(powers)}
        return _whole(of_power[power] for power in powers)

    def _codes(self, needed: int, profiles: tuple[int, ...], *, bounding: bool) -> Ints:
        channels = channel_codes(HEAD_CHANNELS, self._channels, needed)
        if not profiles:
            return np.where(self._aid == 0, channels, NO)
        lines = self._lines[list(profiles)].min(axis=0)
        own, bare = lines[self._outputs, self._aid], lines[self._outputs, 0]
        return np.where((self._aid == 0) | (own > bare) | bounding | (not refuses()), np.minimum(own, channels), NO)


def _whole(numbers: object) -> Ints:
    return np.array(list(numbers), dtype=np.int64)  # type: ignore[call-overload]


def head_options(group: HeadGroup, aids: LineAids | None, *, sure: bool, plain: bool) -> Iterator[HeadOption]:
    """Head units of one electrical class: alone if `plain`, and with each kind of line level."""
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
        return table.slot(np.flatnonzero(number == kind), "head_unit", TURN)

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
    """Electrical classes of head units with equal features, and each row's index among them."""
    owned = [None if some is None else tuple(sorted(set(some) & set(needs))) for some in group.lists]
    every = list(dict.fromkeys(owned))
    has = np.array([every.index(one) for one in owned], np.int64)[group.features]
    first, number = distinct([group.table.group, has], len(has))
    return [(int(group.table.group[row]), every[has[row]]) for row in first.tolist()], number
