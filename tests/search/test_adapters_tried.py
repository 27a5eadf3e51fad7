"""A part that does not go in by itself is tried with the catalog's adapters before the answer is no."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from matcher.answers.messages import alteration_says, without_says
from tests.factories import (
    Bench,
    Row,
    adapter,
    amp_spot,
    amplifier,
    dash_kit,
    dash_opening,
    floating_unit,
    head_unit,
    speaker,
    speaker_opening,
    thing,
    vehicle,
)

SMALL = speaker(cutout_w_mm=120, flange_w_mm=140)
"""Its flange covers no hole of 145: it wants a plate."""
STEEL = {"w_mm": 170, "h_mm": 170, "material": "steel", "piece": "body"}
HIGH = dash_opening(h_mm=112, w_mm=184)


@pytest.fixture
def bench() -> Iterator[Bench]:
    """A store in memory."""
    made = Bench()
    yield made
    made.con.close()


CASES: list[tuple[str, Row, Row, list[Row], str, tuple[str, str | None, str | None]]] = [
    # part, opening, catalog's adapters, step asked for: verdict, least alteration, adapter
    ("as found", speaker(), speaker_opening(), [adapter()], "bolt_on", ("fits", "bolt_in", None)),
    ("ring", SMALL, speaker_opening(), [adapter()], "bolt_on", ("fits", "bolt_on", "adapter-1")),
    # The screen of the demo's best package: "no alteration would make it fit" was printed for it.
    ("kit", head_unit(), HIGH, [dash_kit()], "bolt_on", ("fits", "bolt_on", "kit-1")),
    ("none in the catalog", SMALL, speaker_opening(), [], "bolt_on", ("no", None, None)),
    ("one for the dash only", SMALL, speaker_opening(), [dash_kit()], "bolt_on", ("no", None, None)),
    ("too deep for any", SMALL | {"depth_mm": 200}, speaker_opening(), [adapter()], "bolt_on", ("no", None, None)),
    ("step too low", SMALL, speaker_opening(), [adapter()], "bolt_in", ("no", "bolt_on", "adapter-1")),
    (
        "cheapest of two",
        SMALL,
        speaker_opening(),
        [adapter(price=9), adapter(part_id="cheap", price=8)],
        "bolt_on",
        ("fits", "bolt_on", "cheap"),
    ),
    (
        "sure before cheap",
        SMALL,
        speaker_opening(),
        [adapter(price=9), adapter(part_id="cheap", price=1, forward_mm=None)],
        "bolt_on",
        ("fits", "bolt_on", "adapter-1"),
    ),
    (
        "unknown figure of the only one",
        SMALL,
        speaker_opening(),
        [adapter(forward_mm=None)],
        "bolt_on",
        ("measure", "bolt_on", "adapter-1"),
    ),
    (
        "adapter instead of a cut",
        SMALL,
        speaker_opening(cut=STEEL),
        [adapter()],
        "metal_cut",
        ("fits", "bolt_on", "adapter-1"),
    ),
    (
        "adapter instead of new holes",
        speaker(bolt_circle_mm=140),
        speaker_opening(),
        [adapter(gives_w_mm=145, gives_bolt_circle_mm=140, gives_bolt_count=4)],
        "bolt_on",
        ("fits", "bolt_on", "adapter-1"),
    ),
    (
        "something to reach in front of the screen",
        floating_unit(),
        HIGH | {"keep_clear": [thing(y_mm=0)]},
        [dash_kit()],
        "bolt_on",
        ("no", None, None),
    ),
    ("nothing between amplifier and spot", amplifier(w_mm=900), amp_spot(), [adapter()], "bolt_on", ("no", None, None)),
]


@pytest.mark.parametrize(
    ("one", "opening", "adapters", "step", "expected"), [case[1:] for case in CASES], ids=[case[0] for case in CASES]
)
def test_best_adapter(
    bench: Bench,
    one: Row,
    opening: Row,
    adapters: list[Row],
    step: str,
    expected: tuple[str, str | None, str | None],
) -> None:
    bench.lay(one, *adapters, vehicle(opening))
    fit = bench.fit(one["part_id"], f"tern/{opening['opening_id']}", alteration=step)
    assert (fit.verdict, fit.alteration, fit.adapter_id) == expected
    assert (fit.without is None) is (fit.adapter_id is None)


def test_answer_is_that_of_the_adapter_asked_by_name(bench: Bench) -> None:
    bench.lay(SMALL, adapter(), vehicle(speaker_opening()))
    found = bench.fit("speaker-1", "tern/door")
    named = bench.fit("speaker-1", "tern/door", adapter="adapter-1")
    assert found.checks == named.checks
    assert named.without is None


def test_answer_tells_what_it_is_without_the_adapter(bench: Bench) -> None:
    bench.lay(SMALL, adapter(), vehicle(speaker_opening()))
    fit = bench.fit("speaker-1", "tern/door")
    assert fit.without is not None
    assert (fit.without.verdict, fit.without.alteration) == ("no", None)
    assert without_says(fit).startswith("without the adapter it does not fit: the flange does not cover")


@pytest.mark.parametrize(
    ("adapters", "says"),
    [
        ([], "no alteration would make it fit, and the catalog has no adapter for this kind of opening"),
        (
            [adapter(), adapter(part_id="other")],
            "no alteration would make it fit, and none of the catalog's 2 adapters for this kind of opening helps",
        ),
    ],
)
def test_no_adapter_helps(bench: Bench, adapters: list[Row], says: str) -> None:
    bench.lay(SMALL | {"depth_mm": 200}, *adapters, vehicle(speaker_opening()))
    assert alteration_says(bench.fit("speaker-1", "tern/door")) == says
