"""The tree of a job from its candidates: tables, electrical classes, line levels, pairs of amplifiers, bass."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from matcher.rules.rule import FITS
from matcher.search.candidates.common import WITH_HEAD
from matcher.search.candidates.draws import own_music_ma
from matcher.search.candidates.head_units import HeadGroup, head_groups
from matcher.search.candidates.loudspeakers import at_place
from matcher.search.candidates.table import CandidateTable, SetSlot, table_of
from matcher.search.exact.choices import USES, Ints
from matcher.search.exact.enumeration import Taken
from matcher.search.feeds.filtering import code_of
from matcher.search.feeds.links import Inputs, Outputs, inputs_of, outputs_of
from matcher.search.feeds.parts import (
    AmplifierSignature,
    ByIdentity,
    Candidate,
    HeadSignature,
    LineAid,
    made_of,
)
from matcher.search.feeds.plans import BASS_MODES
from matcher.search.rooms import NO_ROOM
from matcher.search.tree.amplifiers import AmplifierClasses, AmplifierPair, AmplifierTable
from matcher.search.tree.bass import BassOptions
from matcher.search.tree.found import Reader
from matcher.search.tree.heads import (
    HeadOption,
    HeadUnitSlot,
    head_options,
    line_table,
)
from matcher.search.tree.job import JobTree
from matcher.search.tree.places import PlaceLoudspeakers
from matcher.search.tree.ways import AmplifierWays
from matcher.store.catalog.owned import owned_of

if TYPE_CHECKING:
    from matcher.search.candidates.amplifiers import Amplifiers
    from matcher.search.field import RankingField

_Table = tuple["Amplifiers", CandidateTable]
"""Amplifiers, and the table of their candidates."""


@dataclass(frozen=True)
class BuiltTree:
    """A job's tree, and the reader of its combinations."""

    job: JobTree
    reader: Reader


def build_tree(field: RankingField, *, sure: bool) -> BuiltTree:
    """Return the tree of a job; only of candidates and feeds that fit if nothing may be open."""
    return _Builder(field, sure).tree()


@dataclass
class _Builder:
    field: RankingField
    sure: bool

    def tree(self) -> BuiltTree:
        field = self.field
        tree = JobTree(
            plans=field.plans,
            places=[self._place(place.opening_id) for place in field.question.speakers],
            heads=self._head_units(),
            amplifiers=self._of_amplifiers(("ways", ByIdentity(field.bass), ByIdentity(self._classes)), self._ways),
            beside=[
                SetSlot(at, slot.slot, [some for some in slot.alternatives if self._counts(some)])
                for at, slot in enumerate(field.beside)
            ],
            scoring=field.scoring,
            must_amplify=self._is_pinned("amplifier") or self._is_pinned("line_aid"),
        )
        openings = [place.opening_id for place in field.question.speakers]
        with_bass = field.bass is not None
        code, owned = self._lines.code, owned_of(field.question.job)
        reader = Reader(field.plans, openings, with_bass, field.scoring, code, self._pair_code, owned)
        return BuiltTree(tree, reader)

    @property
    def _question_key(self) -> tuple[object, ...]:
        """Key of the question behind the candidates: results for equal questions are computed once."""
        scoring = self.field.scoring
        return self.sure, scoring.wishes, scoring.hopeful, scoring.settings

    def _of_amplifiers(self, key: object, make: Callable[[], Any]) -> Any:
        """Results of the amplifiers, once for all jobs with equal ones; if one is pinned, only for it."""
        return make() if self.field.pins else made_of(self.field.amplifiers, (key, self._question_key), make)

    def _counts(self, some: Sequence[Candidate]) -> bool:
        """Whether parts can occur in the question."""
        return not self.sure or not any(one.is_open for one in some)

    def _place(self, opening_id: str) -> PlaceLoudspeakers:
        field = self.field
        (place,) = (one for one in field.question.speakers if one.opening_id == opening_id)
        count = place.count
        untouched = field.question.dash_id is None
        wanted = field.nets_wanted.get(opening_id)

        def make() -> PlaceLoudspeakers:
            table = table_of(field.speakers[opening_id])
            table = table.some(table.code == FITS) if self.sure else table
            return PlaceLoudspeakers(
                opening_id, count, table, at_place(field.scoring, place), self.sure, untouched, wanted
            )

        made: PlaceLoudspeakers = made_of(
            field.speakers[opening_id], ("place", place, untouched, wanted, self._question_key), make
        )
        return made

    # Head units and the lines to amplifiers.

    @cached_property
    def _heads(self) -> list[HeadGroup]:
        def make() -> list[HeadGroup]:
            groups = head_groups(self.field.heads)
            if not self.sure:
                return list(groups)
            sure = [group.some(np.flatnonzero(~group.table.open)) for group in groups]
            return [group._replace(sets=[some for some in group.sets if self._counts(some)]) for group in sure]

        groups: list[HeadGroup] = made_of(self.field.heads, ("groups", self.sure), make)
        return groups

    @cached_property
    def _lines(self) -> _Lines:
        outputs = list(dict.fromkeys(outputs_of(one) for group in self._heads for one in group.table.classes))
        inputs = list(dict.fromkeys(inputs_of(one) for one in self.field.amplifiers.classes))
        aids = [] if self.field.aids is None else self.field.aids.signatures
        key = ("lines", tuple(outputs), tuple(aids), self.field.scoring.settings)
        lines: _Lines = made_of(self.field.amplifiers, key, lambda: _Lines.of(outputs, inputs, aids, self.field))
        return lines

    def _head_units(self) -> HeadUnitSlot:
        """The head units, built once for all jobs with the same head units and lines."""
        lines, aids, extra, settings = self._lines, self.field.aids, self.field.with_head, self.field.scoring.settings
        stays = self.field.question.dash_id is None  # its current is part of what the vehicle itself uses

        def make() -> HeadUnitSlot:
            return HeadUnitSlot(
                self._head_options(),
                lines.codes,
                lines.outputs,
                lines.filters,
                lambda channels, power_w: 0 if stays else own_music_ma(channels, power_w, settings),
                lambda *how: SetSlot(None, WITH_HEAD, [[extra(*how)]]),
                self.field.scoring.unknown,
                sure=self.sure,
            )

        if self.field.pins:
            return make()
        added = extra(1, 0, tuple(place.opening_id for place in self.field.question.speakers))
        key = ("units", ByIdentity(lines), ByIdentity(None if aids is None else aids.rows), added, self._question_key)
        units: HeadUnitSlot = made_of(self.field.heads, key, make)
        return units

    def _head_options(self) -> list[HeadOption]:
        aids = self.field.aids
        plain = not self._is_pinned("line_aid")
        return [option for group in self._heads for option in head_options(group, aids, sure=self.sure, plain=plain)]

    # Amplifiers.

    @cached_property
    def _classes(self) -> AmplifierClasses:
        profile = [self._lines.profile[inputs_of(one)] for one in self.field.amplifiers.classes]

        def make() -> AmplifierClasses:
            return AmplifierClasses(self.field.amplifiers.classes, np.array(profile, dtype=np.int64))

        classes: AmplifierClasses = made_of(self.field.amplifiers, ("classes", *profile), make)
        return classes

    def _is_pinned(self, fills: str) -> bool:
        return any(pin.fills == fills for pin in self.field.pins)

    def _amplifiers(self, some: Amplifiers, table: CandidateTable, fills: str) -> AmplifierTable:
        """Amplifiers for one task, with the table of their candidates."""
        kept = ~table.open if self.sure else np.ones(len(table), np.bool_)
        for pin in self.field.pins:
            kept = kept & pin.wanted(some) if pin.fills == fills else kept
        return AmplifierTable(table.some(kept), len(table.classes), fills)

    @cached_property
    def _pairs(self) -> list[AmplifierPair]:
        """Two amplifiers on two spots, or side by side on one."""
        pairs: list[AmplifierPair] = self._of_amplifiers("pairs", self._every_pair)
        return pairs

    def _every_pair(self) -> list[AmplifierPair]:
        amplifiers, rooms = self.field.amplifiers, self.field.rooms
        spots = {spot: amplifiers.cells["spot"] == spot for spot in sorted(set(amplifiers.cells["spot"].tolist()))}
        found = []
        for here in spots.values() if len(spots) > 1 else ():
            first, second = amplifiers.some(here), amplifiers.some(~here)
            found.append(self._pair(FITS, (first, first.table(playing=False)), (second, second.table(playing=True))))
        if rooms is None:
            return found
        for spot, at in spots.items():
            if spot in self.field.question.kept:  # nothing goes beside the factory amplifier
                continue
            here, board = amplifiers.some(at), rooms.board(spot)
            for way in rooms.ways(spot, here.cells["part_id"], sure=self.sure):
                both = here.sharing(board, playing=False), here.sharing(None, playing=True)
                rooms_taken = zip(both, (way.first, way.second), strict=True)
                found.append(self._pair(way.code, *(_in_room(here, table, room) for table, room in rooms_taken)))
        return found

    def _pair(self, code: int, first: _Table, second: _Table) -> AmplifierPair:
        return AmplifierPair(code, self._amplifiers(*first, "amplifier"), self._amplifiers(*second, "bass_amplifier"))

    def _pair_code(self, taken: Taken) -> int:
        """Verdict code of two amplifiers of a combination on one spot."""
        codes = {id(pair.first.table): pair.code for pair in self._pairs} if self.field.bass is not None else {}
        tables = (slot.tag[1] for slot, _ in taken if getattr(slot, "fills", None) == "amplifier")
        return min((codes.get(id(table), FITS) for table in tables), default=FITS)

    def _ways(self) -> AmplifierWays:
        every = self.field.amplifiers
        return AmplifierWays(
            self._classes,
            len(self._lines.codes),
            self._amplifiers(every, every.table(playing=True), "amplifier"),
            self._pairs if self.field.bass is not None else [],
            self._bass(),
            self.sure,
            must_pair=self._is_pinned("bass_amplifier"),
        )

    def _bass(self) -> BassOptions | None:
        side = self.field.bass
        if side is None:
            return None
        groups = {mode: self._classes.groups[mode] for mode in BASS_MODES}
        return BassOptions(side, groups, self.field.scoring, sure=self.sure)


def _in_room(some: Amplifiers, table: CandidateTable, room: Ints) -> _Table:
    """Amplifiers on a shared spot, each with the room that it takes."""
    uses = np.zeros((len(table), USES), np.int64) if table.uses is None else table.uses.copy()
    uses[:, -1] = room
    fits = room < NO_ROOM
    return some.some(fits), replace(table, uses=uses).some(fits)


@dataclass(frozen=True)
class _Lines:
    """Verdict codes of every line from head units to amplifiers; inputs with equal codes and filters are merged."""

    codes: Ints
    filters: Ints
    """Codes of the high-pass and the low-pass of amplifiers with these inputs."""
    outputs: Sequence[Outputs]
    profile: dict[Inputs, int]
    aids: Sequence[LineAid]

    @classmethod
    def of(cls, outputs: list[Outputs], inputs: list[Inputs], aids: list[LineAid], field: RankingField) -> _Lines:
        if not inputs or not outputs:
            nothing = np.zeros((1, len(outputs), 1 + len(aids)), dtype=np.int64)
            return cls(nothing, np.zeros((1, 2), dtype=np.int64), outputs, dict.fromkeys(inputs, 0), aids)
        table = line_table(outputs, inputs, aids, field.scoring.settings)
        filters = np.array([[code_of(has) for has in one[-2:]] for one in inputs], dtype=np.int64)
        alike = np.concatenate([table.reshape(len(inputs), -1), filters], axis=1)
        _, first, at = np.unique(alike, axis=0, return_index=True, return_inverse=True)
        numbers = dict(zip(inputs, at.ravel().tolist(), strict=True))
        return cls(table[first], filters[first], outputs, numbers, aids)

    def code(self, head: HeadSignature, amplifier: AmplifierSignature, aid: LineAid | None) -> int:
        """Verdict codes of one line."""
        makes = 0 if aid is None else 1 + self.aids.index(aid)
        return int(self.codes[self.profile[inputs_of(amplifier)], self.outputs.index(outputs_of(head)), makes])
