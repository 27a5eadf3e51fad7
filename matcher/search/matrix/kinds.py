"""What is asked at each kind of opening: the same rules, in the same order, as of one part there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from matcher.rules import adapter, amp_board, cargo, dash, holding, speaker, step, supply
from matcher.rules.rule import Rule, rule_named, rules_of

STANDING = frozenset({"amp_spot", "cargo"})
"""Kinds in which a part stands on a board or is strapped, in one way, instead of filling a hole."""


@dataclass(frozen=True)
class Asking:
    """The rules of a kind of opening."""

    kind: str
    family: str
    scope: str
    gate: tuple[Rule, ...]
    """Asked first, of each set of figures once: what they refuse is counted, and never formed as a pair."""
    of_vehicle: str = ""
    """The question asked of the vehicle alone."""
    of_place: str = ""
    """The question asked of the opening alone."""
    of_things: str = ""
    """The question asked about each thing that must stay reachable."""
    of_adapter: str = ""
    """The question asked of an adapter in the hole."""

    @property
    def is_standing(self) -> bool:
        """Whether a part stands there in one way, instead of filling a hole."""
        return self.kind in STANDING

    @cached_property
    def own(self) -> list[Rule]:
        """The rules that no part has a say in."""
        return [rule for scope in (self.of_vehicle, self.of_place) if scope for rule in rules_of(scope)]

    @cached_property
    def plates(self) -> list[Rule]:
        """The rules of an adapter in the hole."""
        return rules_of(self.of_adapter) if self.of_adapter else []

    @cached_property
    def mated(self) -> list[Rule]:
        """The rules of part and opening, those of the gate first."""
        return [*self.gate, *(rule for rule in rules_of(self.scope) if rule not in self.gate)]

    @cached_property
    def things(self) -> list[Rule]:
        """The rules about each thing that must stay reachable."""
        return rules_of(self.of_things) if self.of_things else []

    @cached_property
    def rules(self) -> list[Rule]:
        """All of them, in the order in which what is refused is counted."""
        return [rule_named(step.ALLOWED.name), *self.own, *self.plates, *self.mated, *self.things]

    def at(self, rule: Rule) -> int:
        """Where a rule stands among them."""
        return self.rules.index(rule)


_SPEAKER = Asking(
    "speaker",
    "speaker",
    speaker.SPEAKER,
    (
        speaker.HOLE_WIDTH,
        speaker.HOLE_HEIGHT,
        speaker.HOLE_CORNER,
        speaker.FLANGE_WIDTH,
        speaker.FLANGE_HEIGHT,
    ),
    of_adapter=adapter.ADAPTER,
)
_DASH = Asking(
    "dash",
    "head_unit",
    dash.DASH,
    (dash.MOUNT, dash.BODY_WIDTH, dash.BODY_HEIGHT),
    of_vehicle=supply.POWERED,
    of_things=dash.SCREEN,
    of_adapter=adapter.ADAPTER,
)
_BOARD = Asking(
    "amp_spot",
    "amplifier",
    amp_board.BOARD,
    (amp_board.WIDTH, amp_board.DEPTH, amp_board.HEIGHT),
    of_vehicle=supply.POWERED,
    of_place=holding.HOLDING,
)
_CARGO = replace(
    _BOARD,
    kind="cargo",
    family="enclosure",
    scope=cargo.CARGO,
    gate=(cargo.WIDTH, cargo.HEIGHT),
    of_vehicle="",
)

ASKED = {one.kind: one for one in (_DASH, _SPEAKER, _CARGO, _BOARD)}
"""Every kind of opening into which a rule places a part."""
KINDS = tuple(ASKED)
