"""The page of scoring: each criterion with two packages whose difference the code computes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from markdown_text import amount, code, table

from catalog_schema.jobs import LADDER, Wishes
from matcher.rules.risks import risk_of
from matcher.rules.rule import MEASURE, every_rule, rule_named
from matcher.search.scoring import CRITERIA, Scoring
from matcher.settings import DEFAULT_SETTINGS, DEFAULTS

EXAMPLE = Scoring(Wishes(), DEFAULT_SETTINGS)
"""The points of a job whose wishes are all in the middle, in a shop that changed no setting."""
REAR = EXAMPLE.at_place(is_rear=True, over_bass=False)


@dataclass(frozen=True)
class Points:
    """One thing that a listener or an owner notices, with two packages that differ in it alone."""

    criterion: str
    noticed: str
    packages: str
    settings: tuple[str, ...]
    hundredths: Callable[[], int]
    """Points that the first has over the second."""


def _unknown(rule: str) -> int:
    return -EXAMPLE.unknown(rule_named(rule).measure)


POINTS = (
    Points(
        "loudness",
        "how loud it plays in front before it distorts: the lower of what the power and the travel of the cones allow",
        "the front loudspeakers of one reach 98 dB, those of the other 95 dB: one plays over the engine, "
        "where the other is turned up to its end",
        ("points_level", "level_floor_db"),
        lambda: EXAMPLE.level(9_800) - EXAMPLE.level(9_500),
    ),
    Points(
        "loudness",
        "the same behind: the listeners sit in front",
        "the rear loudspeakers reach 98 dB or 95 dB: the back seat hears it",
        ("place_weight.rear", "place_weight.front"),
        lambda: REAR.level(9_800) - REAR.level(9_500),
    ),
    Points(
        "loudness",
        "whether consonants and cymbals are there",
        "the front loudspeakers of one reach 15 kHz, those of the other 9 kHz: there speech is dull",
        ("points_treble", "treble_floor_hz", "treble_top_hz"),
        lambda: EXAMPLE.treble(Decimal(15_000)) - EXAMPLE.treble(Decimal(9_000)),
    ),
    Points(
        "loudness",
        "whether front and rear can be faded",
        "in one they have channels of their own, in the other they share a pair",
        ("points_shared",),
        lambda: -EXAMPLE.shared,
    ),
    Points(
        "bass",
        "how low the front reaches where no bass system plays below it",
        "the front loudspeakers of one reach 60 Hz, those of the other 100 Hz: there the kick drum has no body",
        ("points_low", "low_floor_hz", "high_pass_hz"),
        lambda: EXAMPLE.low(Decimal(60)) - EXAMPLE.low(Decimal(100)),
    ),
    Points(
        "bass",
        "how loud the bass plays: the mean from 31.5 to 80 Hz, less a fifth of the spread, so one loud note is no bass",
        "the bass of one reaches 104 dB, that of the other 98 dB: there it disappears on the motorway",
        ("points_bass_level", "bass_floor_db", "bass_spread_share"),
        lambda: int(np.subtract(*EXAMPLE.bass_points(np.array([10_400, 9_800])))),
    ),
    Points(
        "screen",
        "the size of the screen",
        "9 in or 7 in: the map is read at arm's length",
        ("points_screen",),
        lambda: EXAMPLE.screen(Decimal(9)) - EXAMPLE.screen(Decimal(7)),
    ),
    Points(
        "original_look",
        "what is altered, by the step of the ladder",
        "in one the loudspeakers go in by existing holes, in the other the door panel gets new screw holes",
        ("points_look",),
        lambda: EXAMPLE.look(0) - EXAMPLE.look(LADDER.index("drilled")),
    ),
    Points(
        "original_look",
        "what the security asks of the owner every day",
        "one has a cut-out that works by itself, the other a bar to be locked on each time",
        ("points_effort.habit", "points_effort.chore"),
        lambda: EXAMPLE.effort(None) - EXAMPLE.effort("chore"),
    ),
    Points(
        "original_look",
        "how far the film is off the wanted darkness, whatever the wishes weigh",
        "20 % is wanted: one has a film of 20 %, the other of 35 %",
        ("points_film",),
        lambda: EXAMPLE.film(Decimal(20), Decimal(20)) - EXAMPLE.film(Decimal(35), Decimal(20)),
    ),
    Points(
        "price",
        "what the customer pays, with labor, kit and tax; what has no price counts with the shop's estimate",
        "one costs 100 less",
        ("points_price",),
        lambda: EXAMPLE.price(0) - EXAMPLE.price(10_000),
    ),
    Points(
        "known",
        "whether a part may turn out not to go in, or the car not to feed it: the part goes back",
        "in one the depth before the moving glass is known, in the other it is not",
        ("points_unknown.stops",),
        lambda: _unknown("speaker.depth"),
    ),
    Points(
        "known",
        "whether the port of the bass box may be heard",
        "the list of one vented box states its port, that of the other does not",
        ("points_port",),
        lambda: -EXAMPLE.port,
    ),
    Points(
        "known",
        "whether the car may wait for another part",
        "in one the bolt circle is known, in the other it is not: a plate may have to be fetched",
        ("points_unknown.delays",),
        lambda: _unknown("speaker.bolt_circle"),
    ),
    Points(
        "known",
        "whether something may have to be mended in the bay",
        "in one the travel to the grille is known, in the other it is not: foam or a ring helps",
        ("points_unknown.mended",),
        lambda: _unknown("speaker.front"),
    ),
)


def scoring_page() -> str:
    """Everything that earns points, by example, and the table of risks."""
    silent = set(CRITERIA) - {each.criterion for each in POINTS}
    if silent:
        raise SystemExit(f"docs/scoring_page.py: say in POINTS what earns points of {', '.join(sorted(silent))}")
    rows = [
        [code(each.criterion), each.noticed, each.packages, f"{each.hundredths() / 100:g}", _settings(each.settings)]
        for each in sorted(POINTS, key=lambda each: CRITERIA.index(each.criterion))
    ]
    risks: dict[str, list[str]] = {}
    for rule in every_rule():
        risks.setdefault(risk_of(rule.name), []).append(code(rule.name))
    return "\n".join(
        [
            "# Scoring\n",
            "A package's score is the sum of its points. Each criterion is something that a listener hears or an "
            "owner sees; two packages show what it weighs. Every point belongs to one part at one place, to one feed "
            "or to one plan, so nothing is counted twice, and a figure that is not known earns nothing.\n",
            "Each criterion but `known` is weighed by the job's wish of the same name, 0 (not at all) to 5 (most); "
            "the examples are for wishes of 3 and the defaults. The [settings](settings.md) are the shop's own "
            "choice; all of them are common practice, no published source.\n",
            table(["criterion", "noticed", "two packages", "points between them", "settings"], rows),
            "Of packages with as many points the cheaper stands first, then the one whose part numbers come first. "
            "`boltback options JOB --wish bass=5` weighs a wish otherwise for one question; `boltback limits JOB "
            "--weights` tells for each wish how far it may weigh otherwise before another package wins.\n",
            "## Risk of a figure that is not known\n",
            "Where a rule is to be measured first, a part loses points once, by the riskiest of its rules; a feed "
            "loses only as much as it is riskier than its part.\n",
            table(
                ["risk", "points lost", "rules"],
                [[risk, amount(DEFAULTS[f"points_unknown.{risk}"]), ", ".join(risks[risk])] for risk in MEASURE],
            ),
        ]
    )


def _settings(names: tuple[str, ...]) -> str:
    return ", ".join(f"{code(name)} = {amount(DEFAULTS[name])}" for name in names)
