"""The hand-over: the car before and after, kept parts, how to undo the work, and what to know from now on.

There are two copies. The owner's copy is complete. The car's copy, which anyone who opens the car can read, mentions
nothing of security: no part, reading, step or caution.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, Decimal
from typing import Any

from catalog_schema.answers import Line, Package
from catalog_schema.choices import Setup
from matcher.answers.undo import undo_steps
from matcher.papers.cautions import ORIGINALS
from matcher.papers.model import Block, Box, Document, Form, Frames, Items, Para, Section, Table
from matcher.papers.went_on import went_on
from matcher.papers.writer import Writer

SECRET = "security"
"""The slot that the car's copy omits."""


def car_copy(writer: Writer) -> Document:
    """Return the copy that stays in the car; its subject is the car, as a job's label may mention security."""
    return _Copy(writer, "handover-car").document(subject=writer.vehicle)


def owner_copy(writer: Writer) -> Document:
    """Return the copy that the owner takes home."""
    return _Copy(writer, "handover-owner").document()


@dataclass(frozen=True, slots=True)
class _Copy:
    writer: Writer
    kind: str

    @property
    def is_whole(self) -> bool:
        return self.kind == "handover-owner"

    def document(self, *, subject: str = "") -> Document:
        writer, package = self.writer, self.writer.package
        fitted = [line for line in package.lines if line.part_id or line.slot not in ORIGINALS]
        lines = [line for line in fitted if self.is_whole or line.slot != SECRET]
        copy = "owner" if self.is_whole else "car"
        lost = "" if package.reversible else "_lost"
        blocks: list[Block] = [
            Para(text=writer.say(f"handover.{copy}.lead{lost}"), tone="lead"),
            *(went_on(writer, "sign") if self.is_whole else []),
            _found(writer, lines),
            _left(writer, lines),
            *([_photographs(writer)] if self.is_whole else []),
            *_readings(writer, lines, package),
            _kept(writer, lines),
            _back(writer, lines),
            *_rest(writer, package),
            *_hearing(writer, package),
            self._end(),
        ]
        return writer.document(self.kind, blocks, subject=subject)

    def _end(self) -> Section:
        """Return the cautions, with the signatures on the owner's copy: nobody signs the one that stays in the car."""
        cautions = self.writer.cautions(self.kind, beside=not self.is_whole)
        if not self.is_whole:
            return cautions
        return replace(cautions, blocks=(*cautions.blocks, _signed(self.writer)), whole=True)


def _found(writer: Writer, lines: list[Line]) -> Section:
    """Return the used openings as they were before the work."""
    places = dict.fromkeys(line.opening_id for line in lines if line.opening_id)
    rows = tuple(
        (writer.place(place), _figures(writer, writer.dossier.opening(place)) or writer.say("word.unknown"))
        for place in places
    )
    heads = (writer.say("handover.where"), writer.say("handover.found.figures"))
    return Section(title=writer.say("handover.found.title"), blocks=(Table(heads=heads, rows=rows, widths=(1, 2.5)),))


FOUND = {"size": ("w_mm", "h_mm"), "hole": ("hole_w_mm", "hole_h_mm"), "depth": ("d_mm",), "behind": ("depth_mm",)}
"""Lengths printed of an original opening, those that belong together in one."""


def _figures(writer: Writer, opening: Mapping[str, Any]) -> str:
    told = []
    for name, fields in FOUND.items():
        lengths = [opening[field] for field in fields if opening.get(field) is not None]
        told += [writer.say(f"opening.{name}", length=writer.numbers.sizes(*lengths))] if lengths else []
    ohm = opening.get("factory_ohm")
    told += [] if ohm is None else [writer.say("opening.factory_ohm", load=writer.amount(ohm, "ohm"))]
    return ", ".join(told)


def _left(writer: Writer, lines: list[Line]) -> Section:
    rows = tuple(
        (
            writer.place(line.opening_id) if line.opening_id else "",
            writer.say(f"slot.{line.slot}"),
            f"{writer.line(line)}{f' + {writer.part(line.adapter_id)}' if line.adapter_id else ''}",
            writer.done(line),
        )
        for line in lines
    )
    heads = tuple(writer.say(f"handover.{name}") for name in ("where", "slot", "part", "alters"))
    table = Table(heads=heads, rows=rows, widths=(1.5, 0.9, 1.9, 1.3))
    return Section(title=writer.say("handover.left.title"), blocks=(table,))


def _photographs(writer: Writer) -> Section:
    """Return frames for photographs before and after."""
    labels = tuple(writer.say(f"handover.photo.{name}") for name in ("before", "after"))
    return Section(title=writer.say("handover.photo.title"), blocks=(Frames(labels=labels, high_mm=42),), whole=True)


def _readings(writer: Writer, lines: list[Line], package: Package) -> list[Block]:
    """Return readings of the car and its parts, and those of the set-up."""
    hidden = {f"part:{line.part_id}" for line in package.lines if line.part_id and line not in lines}
    rows = [
        (writer.where(figure), writer.what(figure), _reading(writer, reading.value, figure.unit), reading.by or "")
        for reading in writer.dossier.readings
        if reading.counts
        and reading.subject not in hidden
        and (figure := writer.wanted(f"{reading.subject}.{reading.field}")).kind != "job"
    ]
    record = writer.dossier.setup
    rows += [] if record is None else _set_up(writer, record)
    if not rows:
        return []
    heads = tuple(writer.say(f"handover.read.{name}") for name in ("where", "what", "value", "by"))
    table = Table(heads=heads, rows=tuple(rows), right=(2,), widths=(1.4, 2.2, 0.8, 0.8))
    return [Section(title=writer.say("handover.read.title"), blocks=(table,))]


def _reading(writer: Writer, value: str, unit: str) -> str:
    """Format a reading: a figure with its unit, a word unchanged."""
    try:
        return writer.amount(Decimal(value), unit)
    except ArithmeticError:
        return value


def _set_up(writer: Writer, record: Setup) -> list[tuple[str, str, str, str]]:
    rows = []
    for one in record.values:
        name, _, place = one.field.partition(".")
        key = f"handover.value.{name}"
        what = writer.say(key) if key in writer.words else one.field
        word = f"setup.value.{one.value}"
        shown = writer.say(word) if word in writer.words else _reading(writer, one.value, one.unit)
        rows.append((writer.place(place) if place else "", what, shown, record.by or ""))
    return rows


def _kept(writer: Writer, lines: list[Line]) -> Section:
    kept = list(dict.fromkeys(writer.sentence(step.keeps) for step in undo_steps(lines) if step.keeps))
    blocks: list[Block] = [
        Items(items=tuple(kept), mark="tick") if kept else Para(text=writer.say("handover.kept.none")),
        Form(rows=((Box(label=writer.say("handover.kept.where")),),)),
    ]
    return Section(title=writer.say("handover.kept.title"), blocks=tuple(blocks), whole=True)


def _back(writer: Writer, lines: list[Line]) -> Section:
    """Return every step with its undo, in the reverse order of work."""
    steps = tuple(
        writer.say("handover.back.step", step=writer.sentence(one.step), undo=writer.again(one.undo))
        for one in undo_steps(lines)
    )
    lead = Para(text=writer.say("handover.back.lead"))
    return Section(title=writer.say("handover.back.title"), blocks=(lead, Items(items=steps, mark="number")))


def _rest(writer: Writer, package: Package) -> list[Section]:
    """Return the standby drain and how long the battery lasts with it, as far as they are known."""
    supply, record = package.supply, writer.dossier.setup
    read = {} if record is None else {one.field: one.value for one in record.values}
    rows = [
        ("computed", None if supply is None else supply.standby_ma, "mA"),
        ("before", read.get("rest_before_ma"), "mA"),
        ("after", read.get("rest_ma"), "mA"),
        ("days", None if supply is None or supply.days_at_rest is None else int(supply.days_at_rest), ""),
    ]
    told = tuple(
        (writer.say(f"handover.rest.{name}"), writer.amount(Decimal(value), unit))
        for name, value, unit in rows
        if value is not None
    )
    table = Table(heads=("", ""), rows=told, side=True, widths=(3, 1))
    return [Section(title=writer.say("handover.rest.title"), blocks=(table,), beside=True)] if told else []


def _hearing(writer: Writer, package: Package) -> list[Block]:
    """Return the loudness and its safe listening time."""
    hearing = package.hearing
    if hearing is None:
        return []
    minutes = {"niosh": hearing.niosh_min, "osha": hearing.osha_min, "week": hearing.week_min}
    level = [] if hearing.level_db is None else [("level", writer.amount(hearing.level_db, "dB"))]
    rows = level + [
        (name, writer.numbers.bound(value, "min", ROUND_DOWN)) for name, value in minutes.items() if value is not None
    ]
    told = tuple((writer.say(f"handover.hearing.{name}"), text) for name, text in rows)
    blocks = (
        Para(text=writer.say("handover.hearing.lead")),
        Table(heads=("", ""), rows=told, side=True, widths=(3, 1)),
    )
    return [Section(title=writer.say("handover.hearing.title"), blocks=blocks, beside=True)]


def _signed(writer: Writer) -> Form:
    names = ("shop", "owner", "date")
    return Form(
        title=writer.say("handover.sign.title"),
        rows=(tuple(Box(label=writer.say(f"handover.sign.{name}")) for name in names),),
    )
