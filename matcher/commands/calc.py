"""Calculators as commands, such as `boltback calc wire`."""

from __future__ import annotations

import typer

from matcher.commands import calc_bass, calc_fit, calc_level, calc_supply

app = typer.Typer(
    help="The trade's computations by themselves; figures left out stay unknown.",
    no_args_is_help=True,
)
app.command("fit")(calc_fit.fit)
app.command("wire")(calc_supply.wire)
app.command("coils")(calc_bass.coils)
app.command("box")(calc_bass.box)
app.command("gain")(calc_level.gain)
app.command("supply")(calc_supply.supply)
app.command("film")(calc_level.film)
app.command("exposure")(calc_level.exposure)
