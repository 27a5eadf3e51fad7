"""What to measure first: the open figures that could change the winner, by how much it would change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from catalog_schema.answers import Check
from catalog_schema.jobs import Job
from catalog_schema.kinds import ChoiceKind, FieldError, FigureKind, FlagKind, WordsKind
from catalog_schema.whys import Brief, Measure, MeasureFirst
from matcher.explain.briefs import brief
from matcher.explain.packages import Describer
from matcher.explain.wording_measure import entry_says, first_says, measure_says
from matcher.rules.rule import rule_named
from matcher.rules.terms import Figure
from matcher.search.exact.packages import Found
from matcher.search.fits.sweep import Sweeps
from matcher.search.options import best_of, bounds_of, rank
from matcher.search.question import read_question
from matcher.search.what_if.contenders import contenders
from matcher.settings import Settings
from matcher.store.connection import Connection
from matcher.store.subjects import find_subject
from matcher.store.supposed import column_of, split_figure, supposed

STEP = Decimal("0.1")
"""What counts as just beyond a deciding value, in the figure's unit."""

Value = Decimal | str | bool


@dataclass(frozen=True, slots=True)
class Sides:
    """Values of a figure on either side of the one that decides."""

    good: Value
    bad: Value
    decides: Decimal | None = None
    is_least: bool = False
    """Whether it fits from the deciding value on, or up to it."""
    within: Decimal | None = None
    """How exactly it must be known to decide where it stands now; none where it is not known at all."""


@dataclass
class Asking:
    """One job, ranked again and again with figures supposed."""

    con: Connection
    job: Job
    settings: Settings
    sweeps: Sweeps
    _known: dict[tuple[tuple[str, object], ...], tuple[Found | None, Brief | None]] = field(default_factory=dict)

    def best(self, figures: dict[str, Value]) -> tuple[Found | None, Brief | None]:
        """The best package with some figures supposed, and what is told of it."""
        key = tuple(sorted(figures.items()))
        if key not in self._known:
            with supposed(self.con, figures):
                self._known[key] = self._ranked(figures)
        return self._known[key]

    def _ranked(self, figures: dict[str, Value]) -> tuple[Found | None, Brief | None]:
        openings = {name for name in figures if name.startswith("opening:")}
        sweeps = Sweeps(self.con, self.settings, self.sweeps.codes)
        if len(openings) == len(figures):
            sweeps = self.sweeps
            for name in openings:
                sweeps = sweeps.apart_from(split_figure(name)[0].rpartition("/")[2])
        question = read_question(self.con, self.job, self.settings)
        found = best_of(sweeps, question, bounds_of(question, self.job.limits.budget))
        if found is None:
            return None, None
        sure = bounds_of(question, None, sure=True)
        return found, brief(Describer(sweeps, question), found, sure)


def answer_measure(con: Connection, job: Job, version: int, settings: Settings, looks: int) -> MeasureFirst:
    """The open figures that could change a job's winner, the most at stake first.

    Parameters
    ----------
    looks
        How many packages that could still win are looked at.
    """
    sweeps = Sweeps(con, settings)
    ranked = rank(sweeps, replace(job, tiers=()), 1)
    best = ranked.found[0] if ranked.found else None
    sure, describer = bounds_of(ranked.question, None, sure=True), Describer(sweeps, ranked.question)
    hopeful = list(contenders(con, job, settings, best, looks))
    weighing = Weighing(Asking(con, job, settings, sweeps), describer, best)
    for found in ([best] if best is not None else []) + hopeful:
        weighing.look_at(found)
    told = MeasureFirst(
        job_id=job.job_id,
        catalog_version=version,
        best=None if best is None else brief(describer, best, sure),
        sure=None if ranked.sure is None else brief(describer, ranked.sure, sure),
        figures=sorted(weighing.found.values(), key=lambda one: (-one.points, one.figure)),
        complete=len(hopeful) < looks,
        untold=sorted(weighing.untold - weighing.found.keys()),
    )
    return replace(told, says=first_says(told))


@dataclass
class Weighing:
    """Looks at one package after another for figures whose value would change the winner."""

    asking: Asking
    describer: Describer
    best: Found | None
    found: dict[str, Measure] = field(default_factory=dict)
    untold: set[str] = field(default_factory=set)
    _weighed: set[tuple[str, Sides]] = field(default_factory=set)
    _checks: dict[tuple[str, ...], list[Check]] = field(default_factory=dict)

    def look_at(self, found: Found) -> None:
        """Weigh every open figure of a package that was not weighed at the same value."""
        checks = self.open_checks(found)
        sides = _sides_of(self.asking, checks)
        names = {name for check in checks for name in (*check.missing, *check.loose)}
        self.untold |= {name for name in names - sides.keys() if is_read(name)}
        for name, side in sides.items():
            if name not in self.found and (name, side) not in self._weighed:
                self._weighed.add((name, side))
                measure = self.weigh(name, side, _company(name, sides), checks)
                if measure is not None:
                    self.found[name] = measure

    def open_checks(self, found: Found) -> list[Check]:
        """What is open about a package, as things are."""
        if found.name not in self._checks:
            checks = self.describer.package(found, 1).checks
            self._checks[found.name] = [check for check in checks if check.verdict == "measure"]
        return self._checks[found.name]

    def weigh(self, name: str, side: Sides, company: dict[str, Value], checks: list[Check]) -> Measure | None:
        """A figure with the winner on either side of what decides; none where it is the winner of now on both."""
        inside, told = self.asking.best({**company, name: side.good})
        if inside is not None and (self.best is None or inside.name != self.best.name):
            own = self.open_checks(inside)  # another wins once it is known: its own value decides
            if (other := _sides_of(self.asking, own).get(name)) is not None and other != side:
                side, checks = other, own
                inside, told = self.asking.best({**company, name: side.good})
        outside, told_outside = self.asking.best({**company, name: side.bad})
        names = {one and one.name for one in (inside, outside, self.best)}
        if len(names) == 1 or told is None:
            return None
        return _measure_of(self.asking.con, name, side, (told, told_outside), company, checks)


def _company(name: str, sides: dict[str, Sides]) -> dict[str, Value]:
    """What else is open about the same subject, as it should be: alone a figure may decide nothing."""
    subject = split_figure(name)[0]
    return {other: side.good for other, side in sides.items() if other != name and split_figure(other)[0] == subject}


def _measure_of(
    con: Connection,
    name: str,
    side: Sides,
    told: tuple[Brief, Brief | None],
    company: dict[str, Value],
    checks: list[Check],
) -> Measure:
    check = next(one for one in checks if name in (*one.missing, *one.loose))
    inside, outside = told
    measure = Measure(
        figure=name,
        rule=check.rule,
        is_missing=name in check.missing,
        unit=column_of(con, name).unit,
        fits_from=side.decides if side.is_least else None,
        fits_up_to=None if side.is_least else side.decides,
        within=side.within,
        points=inside.score - (outside.score if outside else 0),
        inside=inside,
        outside=outside,
        also=sorted(company),
        enter=entry_says(name, *split_figure(name)),
    )
    return replace(measure, says=measure_says(measure))


def is_read(name: str) -> bool:
    """Whether a figure is of something of which readings are taken."""
    return name.partition(":")[0] in ("part", "opening", "vehicle")


def _sides_of(asking: Asking, checks: list[Check]) -> dict[str, Sides]:
    """For each open figure of some checks what would be good and bad of it; the strictest check decides."""
    found: dict[str, Sides] = {}
    for check in checks:
        for name in (*check.missing, *check.loose):
            side = _sides(asking, name, check) if is_read(name) else None
            if (
                side is not None
                and _can_be(asking, name, side)
                and (name not in found or _is_stricter(side, found[name]))
            ):
                found[name] = side
    return found


def _can_be(asking: Asking, name: str, side: Sides) -> bool:
    """Whether the field can hold what would be good and bad of it: no length is under nothing."""
    kind = column_of(asking.con, name).kind
    try:
        kind.read(side.good), kind.read(side.bad)
    except FieldError:
        return False
    return True


def _is_stricter(side: Sides, other: Sides) -> bool:
    if side.decides is None or other.decides is None:
        return other.decides is None and side.decides is not None
    return side.decides > other.decides if side.is_least else side.decides < other.decides


def _sides(asking: Asking, name: str, check: Check) -> Sides | None:
    column = column_of(asking.con, name)
    if check.fits_from is not None:
        return Sides(check.fits_from, max(check.fits_from - 2 * check.tol - STEP, STEP), check.fits_from, is_least=True)
    if check.fits_up_to is not None:
        return Sides(check.fits_up_to, check.fits_up_to + 2 * check.tol + STEP, check.fits_up_to)
    if check.margin is not None:
        return _loose_sides(asking, name, check)
    match column.kind:
        case WordsKind():
            must = ";".join(asking.job.limits.must or ())
            return Sides(must, "none") if must and not column.kind.choices else None
        case FlagKind():
            return Sides(True, False)
        case ChoiceKind():
            return None
        case FigureKind():
            return _far_sides(asking, name)
    return None


def _loose_sides(asking: Asking, name: str, check: Check) -> Sides | None:
    """Where a figure that is known, but loosely, would have to lie for its check to be decided."""
    subject, column = split_figure(name)[0], column_of(asking.con, name)
    value, tol = _stored(asking, subject, column.name)
    rule = rule_named(check.rule)
    in_need, in_have = (_stands_in(term.figures(), name) for term in (rule.need, rule.have))
    if value is None or tol is None or check.margin is None or in_need == in_have:
        return None
    sign = -1 if in_have else 1
    others = check.tol - tol
    decides = value + sign * (check.margin - others)
    refused = value + sign * (check.margin + others + STEP)
    if abs(decides - value) > tol and abs(refused - value) > tol:
        return None  # however exactly it were known, the other figures leave it open
    return Sides(decides, refused, decides, is_least=in_have, within=abs(check.margin - others))


ABOUT = {"part": ("part", "adapter"), "opening": ("opening", "mouth", "hole")}
"""What a rule calls the subjects of readings."""


def _stands_in(figures: Sequence[Figure], name: str) -> bool:
    """Whether a figure of a subject stands on a side of a rule; an opening may keep it under a longer name."""
    kind, field_name = name.partition(":")[0], split_figure(name)[1]
    return any(one.subject in ABOUT.get(kind, ()) and field_name.endswith(one.field) for one in figures)


def _stored(asking: Asking, subject: str, name: str) -> tuple[Decimal | None, Decimal | None]:
    """A figure and its tolerance as they count now: its own, or that of its row's basis."""
    kind, _, where = subject.partition(":")
    if kind == "vehicle" or "." in name or not name.endswith("_mm"):
        return None, None
    table, place, otherwise = find_subject(asking.con, subject).table, "part_id = ?", "maker"
    if kind == "opening":
        place, otherwise = "vehicle_id = ? AND opening_id = ?", "measured"
    params = where.split("/") if kind == "opening" else [where]
    read = f'SELECT "{name}", "{name}_tol", basis FROM "{table}" WHERE {place}'
    value, tol, basis = asking.con.execute(read, params).fetchone() or (None, None, None)
    return value, asking.settings[f"tolerance_mm.{basis or otherwise}"] if tol is None else tol


def _far_sides(asking: Asking, name: str) -> Sides | None:
    """Of a figure whose deciding value no line tells: the best and the worst that the store holds of its kind."""
    subject, field_name = split_figure(name)
    kind, _, where = subject.partition(":")
    if kind != "part":
        return None
    row = asking.con.execute("SELECT family FROM part WHERE part_id = ?", [where]).fetchone()
    if row is None:
        return None
    ends = asking.con.execute(f'SELECT max("{field_name}"), min("{field_name}") FROM "{row[0]}"').fetchone()
    if ends is None or ends[0] is None or ends[0] == ends[1]:
        return None
    most, least = ({name: end} for end in ends)
    (high, _), (low, _) = asking.best(most), asking.best(least)
    if (high and high.name) == (low and low.name):
        return None
    is_least = low is None or (high is not None and high.order < low.order)
    good, bad = ends if is_least else ends[::-1]
    return _between(asking, name, good, bad, is_least=is_least)


HALVINGS = 6
"""How often the range of a figure is halved to find where the winner changes."""


def _between(asking: Asking, name: str, good: Decimal, bad: Decimal, *, is_least: bool) -> Sides:
    """The value between two at which the winner changes, to a part in some hundreds of the range."""
    winner = asking.best({name: good})[0]
    for _ in range(HALVINGS):
        middle = ((good + bad) / 2).quantize(Decimal("0.001"))
        found = asking.best({name: middle})[0]
        if (found and found.name) == (winner and winner.name):
            good = middle
        else:
            bad = middle
    return Sides(good, bad, good, is_least=is_least)
