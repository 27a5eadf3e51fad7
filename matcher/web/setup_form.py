"""A set-up as a form: earlier readings as fields, and new ones among the typed values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from starlette.datastructures import FormData

from catalog_schema.choices import Choice, GainTarget, OutputStep, Setup
from catalog_schema.notation import Notation
from matcher.answers.messages import amount
from matcher.errors import InputError, Problem
from matcher.jobs.setup_list import read_step
from matcher.store.readings.job_fields import JOB_FIELDS
from matcher.web.form_edit import Fields
from matcher.web.pages import single

AT_PLACE = tuple(name for name, field in JOB_FIELDS.items() if field.at_opening)
CURRENTS = ("music_a", "full_a", "rest_before_ma", "rest_ma")
"""Readings of the whole car."""
FREE_STEPS = 3
"""Empty rows for steps of the volume."""
CLEAN = {True: "yes", False: "no", None: ""}


@dataclass(frozen=True, slots=True)
class FedPlace:
    """A place with a feed and its settings."""

    opening_id: str
    label: str
    source: str
    """Label of its feed."""
    gain: GainTarget | None
    """None if its feed has no gain control."""


def places_fed(choice: Choice, record: Setup, names: Mapping[str, str]) -> list[FedPlace]:
    """Return every place that a package feeds, with its gain."""
    gains = {gain.opening_id: gain for gain in record.gains}
    called = {line.part_id: f"{line.label} ({line.part_id})" for line in choice.package.lines if line.label}
    feeds = {name: called.get(link.from_, link.from_) for link in choice.package.links for name in link.to}
    return [FedPlace(name, names.get(name, name), source, gains.get(name)) for name, source in feeds.items()]


def kept_fields(record: Setup) -> Fields:
    """Return earlier readings by field."""
    steps = {_step_name(one): _step_text(one) for one in record.output}
    return {one.field: one.value for one in record.values if one.field.partition(".")[0] in FORM_FIELDS} | steps


FORM_FIELDS = frozenset({*AT_PLACE, *CURRENTS})


def _step_name(one: OutputStep) -> str:
    return f"output.{amount(one.step)}"


def _step_text(one: OutputStep) -> str:
    return "|".join(_cells(one)[1:])


def _cells(one: OutputStep) -> tuple[str, str, str]:
    return amount(one.step), "" if one.volts is None else amount(one.volts), CLEAN[one.clean]


@dataclass
class Typed:
    """Return the values typed into the form."""

    fields: Fields = field(default_factory=dict)
    steps: dict[str, OutputStep] = field(default_factory=dict)
    rows: list[tuple[str, str, str]] = field(default_factory=list)
    """Typed rows of volume steps."""
    problems: list[Problem] = field(default_factory=list)


def typed_setup(form: FormData, places: Sequence[str], seen: Fields, notation: Notation) -> Typed:
    """Typed values; an empty box keeps its reading."""
    found = Typed()
    for name in [*(f"{stem}.{place}" for place in places for stem in AT_PLACE), *CURRENTS]:
        found.fields[name] = single(form, name) or seen.get(name, "")
    for place in places:
        if not found.fields.get(f"gain_v.{place}"):
            found.fields[f"tone_db.{place}"] = ""
    for number, (step, volts, clean) in enumerate(_rows(form), 1):
        found.rows.append((step, volts, clean))
        if not (step or volts):
            continue
        try:
            one = read_step(step, volts, clean, notation)
        except InputError as error:
            boxes = {"step": "step", "value": "volts", "clean": "clean"}
            found.problems += [one._replace(column=f"{boxes[one.column]}-{number}") for one in error.problems]
            continue
        found.steps[_step_name(one)] = one
        found.fields[_step_name(one)] = _step_text(one)
    return found


def _rows(form: FormData) -> Iterator[tuple[str, str, str]]:
    columns = ([str(cell).strip() for cell in form.getlist(name)] for name in ("step", "volts", "clean"))
    yield from zip(*columns, strict=False)


def step_rows(record: Setup) -> list[tuple[str, str, str]]:
    """Return volume steps as rows of the form, with some empty ones."""
    return [*map(_cells, record.output), *[("", "", "")] * FREE_STEPS]
