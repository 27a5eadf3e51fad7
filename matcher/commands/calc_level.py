"""`calc gain`, `calc film` and `calc exposure`: volts, light and hearing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import JsonOption, SureOption
from matcher.commands.calc_base import CalcStore, check_usual, figure, give, read_piece, settings_here

if TYPE_CHECKING:
    from matcher.calculators.exposure import Spell
    from matcher.calculators.film import PaneInputs


def gain(
    power: Annotated[float | None, figure("w", "Power wanted from the channel, RMS.")] = None,
    load: Annotated[float | None, figure("ohm", "Load on the channel.")] = None,
    log: Annotated[
        Path | None,
        typer.Option(help="Set-up log of the head unit: CSV with step, volts, clean (yes or no).", show_default=False),
    ] = None,
    clean: Annotated[float | None, figure("v", "Clean output of the head unit, where there is no log.")] = None,
    input_min: Annotated[float | None, figure("v", "Amplifier's input for full power, gain up.")] = None,
    input_max: Annotated[float | None, figure("v", "Amplifier's input for full power, gain down.")] = None,
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Gain: target volts at 0, -5 and -10 dB; the last clean step of a set-up log; match with the input's range."""
    from matcher.calculators.gain import GainInputs, gain_for
    from matcher.calculators.setup_log import read_setup_log

    inputs = GainInputs(
        power_w=power,
        load_ohm=load,
        clean_v=clean,
        log=None if log is None else str(log),
        input_min_v=input_min,
        input_max_v=input_max,
    )
    check_usual(inputs, sure=sure)
    steps = None if log is None else read_setup_log(log, settings_here(store).notation())
    give(gain_for(inputs, steps), as_json=as_json)


def read_pane(text: str) -> PaneInputs:
    """Read a pane written NAME:GLASS:LIMIT, with `:frameless` if its edge is exposed; unknown figures are left blank.

    >>> read_pane("rear:75%::frameless")
    PaneInputs(pane='rear', glass_pct=75.0, limit_pct=None, frameless=True)
    """
    from matcher.calculators.film import PaneInputs

    name, *pieces = [piece.strip() for piece in text.split(":")]
    frameless = pieces[-1:] == ["frameless"]
    glass, limit, *more = [*(pieces[:-1] if frameless else pieces), "", ""]
    if not name or any(more):
        raise typer.BadParameter(f"found {text!r}, expected NAME:GLASS:LIMIT[:frameless], such as rear:75%:70%")
    return PaneInputs(
        pane=name,
        glass_pct=read_piece(glass, "pct"),
        limit_pct=read_piece(limit, "pct", zero=True),
        frameless=frameless,
    )


PaneOption = Annotated[
    list[Any] | None,
    typer.Option(
        "--pane",
        parser=read_pane,
        metavar="<NAME:GLASS:LIMIT[:frameless]>",
        help="A pane by name, with its own transmittance and limit in %, blank where not known. As often as there "
        "are panes.",
        show_default=False,
    ),
]


def film(
    film: Annotated[float | None, figure("pct", "Light that the film lets through.")] = None,
    glass: Annotated[float | None, figure("pct", "Light that the glass lets through, for one pane.")] = None,
    limit: Annotated[float | None, figure("pct", "Least that the law allows there: your own entry.", zero=True)] = None,
    frameless: Annotated[bool, typer.Option("--frameless", help="The pane has no frame.")] = False,
    pane: PaneOption = None,
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Film on glass: light through both, against your own limit; the verdict is unknown without a limit."""
    from matcher.calculators.film import FilmInputs, PaneInputs, film_for

    panes = list(pane or [])
    if not panes or glass is not None or limit is not None:
        panes.insert(0, PaneInputs(pane="pane", glass_pct=glass, limit_pct=limit, frameless=frameless))
    inputs = FilmInputs(film_pct=film, panes=panes)
    check_usual(inputs, sure=sure)
    give(film_for(inputs), as_json=as_json)


def read_spell(text: str) -> Spell:
    """Read a level and its hours, written LEVEL:HOURS.

    >>> read_spell("95:30 min")
    Spell(level_dba=95.0, hours_h=0.5)
    """
    from matcher.calculators.exposure import Spell

    level, colon, hours = text.partition(":")
    if not colon:
        raise typer.BadParameter(f"found {text!r}, expected LEVEL:HOURS, such as 95:1.5h")
    return Spell(level_dba=read_level(level), hours_h=read_piece(hours, "h", zero=True))


def read_level(text: str) -> float | None:
    """Read a level in dBA; the unit may follow it."""
    return read_piece(text.strip().removesuffix("A"), "db", zero=True)


LevelOption = Annotated[
    float | None,
    typer.Option(parser=read_level, metavar="<figure>", help="Level at the ear. [dBA]", show_default=False),
]
AlsoOption = Annotated[
    list[Any] | None,
    typer.Option(
        "--also",
        parser=read_spell,
        metavar="<LEVEL:HOURS>",
        help="Another spell of the same day. As often as there are spells.",
        show_default=False,
    ),
]


def exposure(
    level: LevelOption = None,
    hours: Annotated[float | None, figure("h", "How long in a day.", zero=True)] = None,
    also: AlsoOption = None,
    sensitive: Annotated[
        bool, typer.Option("--sensitive", help="For children and others who are to be spared more.")
    ] = False,
    sure: SureOption = False,
    store: CalcStore = None,
    as_json: JsonOption = False,
) -> None:
    """Hearing: the allowed time at a level by NIOSH, OSHA and WHO, and the day's dose."""
    from matcher.calculators.exposure import ExposureInputs, exposure_for

    inputs = ExposureInputs(level_dba=level, hours_h=hours, also=also or [], sensitive=sensitive)
    check_usual(inputs, sure=sure)
    give(exposure_for(inputs), as_json=as_json)
