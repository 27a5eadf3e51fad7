"""Vehicles and jobs: take in a file, show what is held."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, print_table, say

vehicle_app = typer.Typer(help="Vehicles, as measured.", no_args_is_help=True)
job_app = typer.Typer(help="Jobs: one customer's car, wishes and limits.", no_args_is_help=True)

FileArgument = Annotated[list[Path], typer.Argument(help="JSON files.", show_default=False)]


@vehicle_app.command("load")
def load_vehicle(
    files: FileArgument, by: ByOption = None, store: StoreOption = None, as_json: JsonOption = False
) -> None:
    """Take in a vehicle, in place of one with the same name."""
    names = [open_shop(store).load_vehicle(file, by=by) for file in files]
    if as_json:
        print_json({"vehicles": names})
    else:
        say("\n".join(f"vehicle {name} is in the store" for name in names))


@vehicle_app.command("show")
def show_vehicle(
    vehicle: Annotated[str | None, typer.Argument(help="The vehicle's name; all where none is given.")] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show a vehicle with its openings, or list the vehicles."""
    answer = open_shop(store).vehicle(vehicle) if vehicle else open_shop(store).vehicles()
    if as_json:
        print_json(answer.to_dict())
        return
    print_table(*answer.table())


@job_app.command("load")
def load_job(files: FileArgument, by: ByOption = None, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Take in a job, in place of one with the same name."""
    names = [open_shop(store).load_job(file, by=by) for file in files]
    if as_json:
        print_json({"jobs": names})
    else:
        say("\n".join(f"job {name} is in the store" for name in names))


@job_app.command("show")
def show_job(
    job: Annotated[str | None, typer.Argument(help="The job's name; all where none is given.")] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show a job with its limits and wishes, or list the jobs."""
    answer = open_shop(store).job(job) if job else open_shop(store).jobs()
    if as_json:
        print_json(answer.to_dict())
        return
    print_table(*answer.table())
