"""The page of scoring: what earns points and what costs some, each with an example that the code computes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from markdown_text import amount, code, plain, table

from catalog_schema.jobs import LADDER, Wishes
from matcher.search.scoring import CRITERIA, Scoring
from matcher.settings import DEFAULT_SETTINGS, DEFAULTS

EXAMPLE = Scoring(Wishes(), DEFAULT_SETTINGS)
"""The points of a job whose wishes are all in the middle, in a shop that changed no setting."""


@dataclass(frozen=True)
class Points:
    """One way to earn or to lose points."""

    criterion: str
    says: str
    settings: tuple[str, ...]
    example: str
    hundredths: Callable[[], int]


POINTS = (
    Points(
        "loudness",
        "each decibel that the loudspeakers of an opening reach over the floor: the lower of what the power they get "
        "and the travel of their cones at their high-pass allow",
        ("points_level", "level_floor_db"),
        "95 dB",
        lambda: EXAMPLE.level(9_500),
    ),
    Points(
        "loudness",
        "each octave that a loudspeaker reaches above the floor of the treble: treble that is missing is heard at once",
        ("points_treble", "treble_floor_hz", "treble_top_hz"),
        "up to 12 kHz",
        lambda: EXAMPLE.treble(Decimal(12_000)),
    ),
    Points(
        "loudness",
        "a feed whose power lies within the aim for the loudspeaker",
        ("points_aim", "power_aim_least", "power_aim_most"),
        "50 W into one rated 50 W",
        lambda: EXAMPLE.aim(Decimal(50), Decimal(50)),
    ),
    Points(
        "bass",
        "each octave that a loudspeaker reaches below the floor, as much as 12 dB of level, which a cone loses by "
        "travel where it plays an octave lower; a bass system plays what is below the high-pass",
        ("points_low", "low_floor_hz", "high_pass_hz"),
        "down to 50 Hz, without a bass system",
        lambda: EXAMPLE.low(Decimal(50)),
    ),
    Points(
        "bass",
        "the sound of a place behind the listeners counts less: its level, its reach and its aim",
        ("place_weight.front", "place_weight.rear"),
        "down to 50 Hz, behind",
        lambda: EXAMPLE.at_place(is_rear=True, over_bass=False).low(Decimal(50)),
    ),
    Points(
        "bass",
        "each decibel of bass over the floor: the mean over 31.5 to 80 Hz less a fifth of the spread",
        ("points_bass_level", "bass_floor_db"),
        "100 dB",
        lambda: EXAMPLE.bass(10_000),
    ),
    Points(
        "bass",
        "a bass feed whose power lies within the aim for its drivers",
        ("points_aim", "power_aim_least", "power_aim_most"),
        "250 W into drivers rated 250 W",
        lambda: EXAMPLE.bass_aimed,
    ),
    Points("screen", "each inch of screen", ("points_screen",), "a screen of 7 in", lambda: EXAMPLE.screen(Decimal(7))),
    Points(
        "original_look",
        "each step up the alteration ladder that a part takes costs points",
        ("points_look",),
        "a step of `spare_piece`",
        lambda: EXAMPLE.look(LADDER.index("spare_piece")),
    ),
    Points(
        "original_look",
        "film on the glass costs as many points as one step, whichever film it is: no wish asks for darker glass",
        ("points_look",),
        "any film",
        lambda: EXAMPLE.look(1),
    ),
    Points(
        "original_look",
        "a layer of security that has to be put on each time costs points: the car is no longer used as it was",
        ("points_effort.habit", "points_effort.chore"),
        "a layer that is a chore",
        lambda: EXAMPLE.effort("chore"),
    ),
    Points(
        "original_look",
        "each percent that a film is lighter or darker than the customer wants costs points, whatever the wishes weigh",
        ("points_film",),
        "a film of 35 % where 20 % is wanted",
        lambda: EXAMPLE.film(Decimal(35), Decimal(20)),
    ),
    Points(
        "price", "each unit of money costs points", ("points_price",), "a part of 100", lambda: EXAMPLE.price(10_000)
    ),
    Points(
        "known",
        "each part, and each feed, of which something must be measured first costs points",
        ("points_unknown",),
        "one such part",
        lambda: EXAMPLE.unknown(True),
    ),
)


def scoring_page() -> str:
    """What each criterion of a package is, point by point."""
    silent = set(CRITERIA) - {each.criterion for each in POINTS}
    if silent:
        raise SystemExit(f"docs/scoring_page.py: say in POINTS what earns points of {', '.join(sorted(silent))}")
    rows = [
        [code(each.criterion), plain(each.says), _settings(each.settings), each.example, f"{each.hundredths() / 100:g}"]
        for each in sorted(POINTS, key=lambda each: CRITERIA.index(each.criterion))
    ]
    return "\n".join(
        [
            "# Scoring\n",
            "A package's score is the sum of its points. Every point belongs to one part at one place, or to one "
            "feed, so that nothing is counted twice, and whatever is not known earns nothing. Points are counted in "
            "whole hundredths.\n",
            "Each criterion but `known` is weighed by the job's wish of the same name, 0 (not at all) to 5 (most). "
            "The [settings](settings.md) are the shop's own choice; the examples are for wishes of 3 and the "
            "defaults.\n",
            table(["criterion", "points for", "settings", "example", "earns"], rows),
            "Of packages with as many points the cheaper stands first, then the one whose part numbers come first. "
            "`boltback options JOB --wish bass=5` weighs a wish otherwise for one question; `boltback limits JOB "
            "--weights` tells for each wish how far it may weigh otherwise before another package wins.\n",
        ]
    )


def _settings(names: tuple[str, ...]) -> str:
    return ", ".join(f"{code(name)} = {amount(DEFAULTS[name])}" for name in names)
