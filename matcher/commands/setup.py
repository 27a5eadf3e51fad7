"""Set-up of a car: values to measure, and measured values."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from catalog_schema.notation import EITHER, Notation
from matcher.commands.base import (
    ByOption,
    JobArgument,
    JsonOption,
    StoreOption,
    open_shop,
    print_item,
    print_json,
    print_table,
    say,
)

if TYPE_CHECKING:
    from catalog_schema.choices import OutputStep, Setup


def each(flag: str, metavar: str, text: str) -> Any:
    """Declare a repeatable option."""
    return typer.Option(flag, metavar=metavar, help=text, show_default=False)


Texts = list[str] | None


def setup(
    job: JobArgument,
    log: Annotated[
        Path | None,
        typer.Argument(help="CSV with what, where, step, value, clean, tone_db; or a head unit's log alone."),
    ] = None,
    step: Annotated[Texts, each("--step", "STEP:VOLTS:CLEAN", "Output at a step of the volume, as 30:2.2:yes.")] = None,
    gain: Annotated[Texts, each("--gain", "OPENING=VOLTS[@DB]", "A gain as set, as door=12.1, door=6.8@-5.")] = None,
    polarity: Annotated[Texts, each("--polarity", "OPENING=right|wrong", "Polarity at an opening.")] = None,
    high_pass: Annotated[Texts, each("--high-pass", "OPENING=HERTZ", "A high-pass as set, as door=80.")] = None,
    low_pass: Annotated[Texts, each("--low-pass", "OPENING=HERTZ", "A low-pass as set, as cargo=80.")] = None,
    delay: Annotated[Texts, each("--delay", "OPENING=MILLISECONDS", "A delay as set, as dash-top=2.4.")] = None,
    current: Annotated[Texts, each("--current", "music|full=AMPERES", "Current of all amplifiers.")] = None,
    drain: Annotated[
        str | None, typer.Option(help="Standby drain as the car is left. [mA]", show_default=False)
    ] = None,
    drain_before: Annotated[
        str | None, typer.Option(help="Standby drain as the car was found. [mA]", show_default=False)
    ] = None,
    replace_claims: Annotated[
        bool, typer.Option("--replace-claims", help="The measured output takes the place of the head unit's claim.")
    ] = False,
    note: Annotated[str | None, typer.Option("--note", help="How, with what.", show_default=False)] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what was measured at set-up and compare it with the chosen package; alone, list what to measure."""
    shop = open_shop(store)
    values = {
        **_pairs("--gain", gain, "gain_v", tones=True),
        **_pairs("--polarity", polarity, "polarity"),
        **_pairs("--high-pass", high_pass, "high_pass_hz"),
        **_pairs("--low-pass", low_pass, "low_pass_hz"),
        **_pairs("--delay", delay, "delay_ms"),
        **{CURRENTS[what]: text for what, text in _split("--current", current, CURRENTS)},
        **({} if drain is None else {"rest_ma": drain}),
        **({} if drain_before is None else {"rest_before_ma": drain_before}),
    }
    notation = shop.settings().notation() if step else EITHER
    steps = [_step(text, notation) for text in step or []]
    if log is None and not values and not steps:
        answer = shop.choices.setup_record(job)
    else:
        answer = shop.choices.set_up(
            job, file=log, steps=steps, values=values, replace_claims=replace_claims, note=note, by=by
        )
        say(f"set-up {answer.number} of {job} is written down: {len(answer.values)} values by now")
    if as_json:
        print_json(answer.to_dict())
    else:
        show_setup(answer)


CURRENTS = {"music": "music_a", "full": "full_a"}


def _split(flag: str, texts: Texts, known: Collection[str] = ()) -> list[tuple[str, str]]:
    """Split NAME=VALUE texts into names and values; names have to be among `known`, if any."""
    pairs = [text.partition("=") for text in texts or []]
    for name, sign, value in pairs:
        if not (name and sign and value):
            raise typer.BadParameter(f"found {name + sign + value!r}; expected NAME=VALUE", param_hint=flag)
    twins = sorted({name for name, _, _ in pairs if [one for one, _, _ in pairs].count(name) > 1})
    if twins:
        raise typer.BadParameter(f"found {', '.join(twins)} twice; expected each once", param_hint=flag)
    strange = [name for name, _, _ in pairs if known and name not in known]
    if strange:
        raise typer.BadParameter(f"found {strange[0]!r}; expected {' or '.join(known)}", param_hint=flag)
    return [(name.strip(), value.strip()) for name, _, value in pairs]


def _pairs(flag: str, texts: Texts, field: str, *, tones: bool = False) -> dict[str, str]:
    found = {}
    for place, value in _split(flag, texts):
        volts, sign, tone = value.partition("@") if tones else (value, "", "")
        found[f"{field}.{place}"] = volts
        if sign:
            found[f"tone_db.{place}"] = tone
    return found


def _step(text: str, notation: Notation) -> OutputStep:
    """Read a step written STEP:VOLTS:CLEAN; volts or the word may be blank."""
    from matcher.errors import InputError
    from matcher.jobs.setup_list import read_step

    step, volts, word, *more = [*(piece.strip() for piece in text.split(":")), "", ""]
    wrong = typer.BadParameter(f"found {text!r}; expected STEP:VOLTS:yes or no, such as 30:2.2:yes")
    if any(more):
        raise wrong
    try:
        return read_step(step, volts, word, notation)
    except InputError as error:
        (one,) = error.problems
        if one.fix:
            raise typer.BadParameter(f"found {text!r}; expected {one.expected}; {one.fix}") from None
        raise wrong from None


def show_setup(answer: Setup) -> None:
    """Print targets and measured values, checks, claims, and values still to measure."""
    from matcher.answers.messages import amount
    from matcher.jobs.messages import SETUP_WORDS, setup_headline, tone_says

    print(setup_headline(answer))
    if answer.gains:
        heads = ["gain at", "fed by", "target", "tone -5 dB", "tone -10 dB", "as set"]
        rows = [
            [gain.opening_id, gain.source, amount(gain.target_v, "V"), *map(tone_says, gain.tones[1:]), gain.says]
            for gain in answer.gains
        ]
        print_table(heads, rows, right=frozenset({2, 3, 4}))
    if answer.checks:
        print()
        print_table(["check", "verdict"], [[one.says, SETUP_WORDS[one.verdict]] for one in answer.checks])
    for met in answer.claims:
        print_item(met.says)
    for name in answer.replaced:
        print_item(f"measured in place of the claim: {name}")
    if answer.to_measure:
        print("\nStill to measure")
        for name in answer.to_measure:
            print_item(f"- {name}")
    for caution in answer.cautions:
        print_item(f"caution: {caution}")
