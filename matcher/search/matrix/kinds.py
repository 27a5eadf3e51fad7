"""Rules at each kind of opening: the same as for one part, in the same order."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from matcher.rules import adapter, amp_board, cargo, dash, holding, speaker, step, supply
from matcher.rules.rule import Rule, rules_of
from matcher.rules.terms import FigureTerm, Term, read_by
from matcher.search.fits.feasible import RuleGroup, grouped


@dataclass(frozen=True)
class KindRules:
    """The rules of a kind of opening."""

    kind: str
    family: str
    scope: str
    gate: tuple[Rule, ...]
    """Evaluated first, once per figure set: refused parts are counted, and never paired with openings."""
    own: tuple[Rule, ...] = ()
    """Rules that do not read the part: those of the vehicle, then of the opening."""
    plates: tuple[Rule, ...] = ()
    """Rules of an adapter in the hole; None if a part stands instead of filling a hole."""
    things: tuple[Rule, ...] = ()
    """Rules about each thing that must stay reachable."""

    @cached_property
    def rules(self) -> list[Rule]:
        """All rules, in the order in which refusals are counted."""
        return [step.ALLOWED, *self.own, *self.plates, *self.mated, *self.things]

    @cached_property
    def mated(self) -> list[Rule]:
        """The rules of part and opening, those of the gate first."""
        return [*self.gate, *(rule for rule in rules_of(self.scope) if rule not in self.gate)]

    @cached_property
    def sheets(self) -> list[RuleGroup]:
        """Return the rules of part and opening by group: the gate first, the things last."""
        things = [RuleGroup(self.things)] if self.things else []
        return [RuleGroup(self.gate), *grouped(self.mated[len(self.gate) :]), *things]

    def read_of_part(self, sheet: RuleGroup) -> list[FigureTerm]:
        """Return the figures of a part that a sheet depends on; about things, the screen's mounting as well."""
        return [*(HUNG if self.is_hung(sheet) else ()), *sheet.figures("part")]

    def is_hung(self, sheet: RuleGroup) -> bool:
        """Whether a sheet is about things that a floating screen may cover."""
        return sheet.rules == self.things


def read_of(subject: str, *rules: Rule) -> list[FigureTerm]:
    """Return the figures that some rules read of a subject."""
    terms: list[Term] = [term for rule in rules for term in rule.terms]
    return [one for one in read_by(*terms) if one.subject == subject]


HUNG = tuple(FigureTerm("part", name) for name in ("screen", "screen_rise_min_mm", "screen_rise_max_mm"))
"""Decides whether and how a screen is mounted, with its figures."""
_POWERED, _HOLDING, _PLATES = (tuple(rules_of(one)) for one in (supply.POWERED, holding.HOLDING, adapter.ADAPTER))
_SIZES = (speaker.HOLE_WIDTH, speaker.HOLE_HEIGHT, speaker.HOLE_CORNER, speaker.FLANGE_WIDTH, speaker.FLANGE_HEIGHT)
_BODY, _ROOM = (dash.MOUNT, dash.BODY_WIDTH, dash.BODY_HEIGHT), (amp_board.WIDTH, amp_board.DEPTH, amp_board.HEIGHT)
_EVERY = (
    KindRules("dash", "head_unit", dash.DASH, _BODY, _POWERED, _PLATES, tuple(rules_of(dash.SCREEN))),
    KindRules("speaker", "speaker", speaker.SPEAKER, _SIZES, (), _PLATES),
    KindRules("cargo", "enclosure", cargo.CARGO, (cargo.WIDTH, cargo.HEIGHT), _HOLDING),
    KindRules("amp_spot", "amplifier", amp_board.BOARD, _ROOM, (*_POWERED, *_HOLDING)),
)
ASKED = {one.kind: one for one in _EVERY}
"""Kinds of opening with rules for placing a part."""
KINDS = tuple(ASKED)
