"""A package as an answer: its lines, links and price, with every rule checked again on all of it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from catalog_schema.answers import Bass, Check, Filter, Fit, Line, Link, Package, Price, worst
from catalog_schema.jobs import LADDER
from matcher.answers.accessories import accessory_checks
from matcher.answers.bass_feed import bass_figures, bass_source, bridged_beside
from matcher.answers.beside import beside_checks
from matcher.answers.boards import board_checks
from matcher.answers.claims import claims_against_physics
from matcher.answers.controls import control_checks
from matcher.answers.delivery import delivery_checks
from matcher.answers.feeding import link_checks, link_of_feed
from matcher.answers.figures import figure_names, kept_where
from matcher.answers.filters import filter_checks, filters_of
from matcher.answers.fitted import filling, fitted_of
from matcher.answers.hearing import hearing_of
from matcher.answers.kit import kit_of
from matcher.answers.labour import labour_open
from matcher.answers.messages import check_says
from matcher.answers.messages_bass import MADE
from matcher.answers.messages_beside import MADE_BOARD, OWN_REMOTE
from matcher.answers.package_notes import evidence_notes, package_notes, waits_of
from matcher.answers.pairs import pair_checks
from matcher.answers.supply import supply_checks, supply_of
from matcher.answers.undo import undo_steps
from matcher.kernel.columns import columns_of
from matcher.rules.package import PACKAGE
from matcher.rules.rule import rules_of
from matcher.rules.wanted import WANTED
from matcher.search.candidates.head_units import wanted_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import level_cdb
from matcher.search.feeds.parts import Candidate, head_signature
from matcher.search.fits.families import wanted_columns
from matcher.search.fits.fit import fit_parts
from matcher.search.fits.mounting import MountingQuestion as FitQuestion
from matcher.search.packages import Found, PackageCandidate, Sources
from matcher.search.question import HEAD_UNIT, JobQuestion
from matcher.search.scoring import CRITERIA
from matcher.settings import Settings

HUNDRED = Decimal(100)
CUTTING = LADDER.index("spare_piece")
"""The first step of the ladder that cuts the opening."""
FITTED_IN = {
    "head_unit": ("dash", "head_unit"),
    "speaker": ("speaker", "speaker"),
    "amplifier": ("amp_spot", "amplifier"),
    "bass_amplifier": ("amp_spot", "amplifier"),
    "enclosure": ("cargo", "enclosure"),
}
"""By slot: the kind of opening, and the family of parts that fills it."""


@dataclass
class Describer:
    """Describes the packages of one job; a fit shared by several packages is computed once."""

    catalog: Catalog
    question: JobQuestion

    def checks(self, found: Found) -> list[Check]:
        """Return every check of a package, with sentences."""
        fitted = fitted_of(found)
        return self._checks(found, fitted, filters_of(self.catalog, fitted, self.links(fitted), None))

    def _checks(self, found: Found, fitted: list[PackageCandidate], filters: list[Filter]) -> list[Check]:
        checks = [*self.fit_checks(fitted), *self.wanted_checks(fitted)]
        checks += delivery_checks(self.catalog, self.question, fitted)
        checks += [*link_checks(self.catalog, self.question, found), *self.whole_checks(found)]
        checks += filter_checks(filters)
        checks += accessory_checks(self.catalog, fitted)
        checks += control_checks(self.catalog, self.question, fitted)
        checks += supply_checks(self.catalog, self.question, fitted)
        checks += beside_checks(self.catalog, self.question, fitted)
        checks += pair_checks(self.catalog, self.question, fitted)
        checks += board_checks(self.catalog, self.question, fitted)
        if any(one.bass is not None for one in fitted):  # not loaded for a package without bass
            from matcher.answers.bass import bass_checks

            checks += bass_checks(self.catalog, self.question, fitted)
        return [replace(check, says=check_says(check)) for check in checks]

    def package(self, found: Found, rank: int) -> Package:
        """Describe one package with all of its checks."""
        fitted = fitted_of(found)
        links, bass = self.links(fitted), self.bass(fitted)
        filters = filters_of(self.catalog, fitted, links, None if bass is None else bass.high_pass_hz)
        checks = self._checks(found, fitted, filters)
        self.name_parts(one.candidate for one in fitted)
        lines = [self.line(one) for one in fitted]
        step = max(one.candidate.step for one in fitted)
        return Package(
            rank=rank,
            score=round(found.points / 100),
            verdict=worst([check.verdict for check in checks]),
            alteration=LADDER[step],
            reversible=step <= LADDER.index("spare_piece"),
            price=replace(price_of(fitted, self.catalog.settings), labour_open=labour_open(self.catalog, fitted)),
            kit=kit_of(fitted),
            notes=[*package_notes(self.catalog, self.question.job.vehicle_id, fitted), *evidence_notes(checks)],
            criteria=criteria_of(found, fitted),
            lines=lines,
            links=links,
            bass=bass,
            supply=supply_of(self.catalog, self.question, fitted),
            checks=checks,
            tradeoffs=[],
            measure=list(dict.fromkeys(name for check in checks for name in figure_names(check))),
            undo=undo_steps(lines),
            hearing=hearing_of(lines, {place.opening_id: place.count for place in self.question.speakers}),
            filters=filters,
            claims=claims_against_physics(self.catalog, [line.part_id for line in lines if line.part_id]),
            id=package_id(found),
        )

    @staticmethod
    def links(fitted: list[PackageCandidate]) -> list[Link]:
        """The feeds of a package."""
        return [link_of_feed(one, fitted) for one in fitted if one.feed is not None]

    def bass(self, fitted: list[PackageCandidate]) -> Bass | None:
        """Return the bass side; its modules are loaded only for packages with bass."""
        if all(one.bass is None for one in fitted):
            return None
        from matcher.answers.bass import bass_of

        return bass_of(self.catalog, fitted)

    def name_parts(self, candidates: Iterable[Candidate]) -> None:
        """Look up maker, model and waiting time of parts without a label."""
        named = ((one.part_id, one.adapter_id, *(item.part_id for item in one.kit)) for one in candidates)
        names = {name for some in named for name in some if name}
        labels = self.labels
        new = sorted(names - labels.keys())
        if new:
            rows = self.catalog.con.execute(
                "SELECT part_id, maker || ' ' || model, CASE WHEN coalesce(stock, 0) > 0 THEN 0 ELSE lead_days END "
                "FROM part WHERE part_id IN (SELECT unnest(?::VARCHAR[]))",
                [new],
            ).fetchall()
            self.catalog.once("labels", dict).update((name, label) for name, label, _ in rows)
            waits_of(self.catalog).update((name, days) for name, _, days in rows)

    @property
    def labels(self) -> dict[str, str]:
        """Maker and model of the parts looked up so far."""
        found: dict[str, str] = self.catalog.once("labels", dict)
        own = {}
        for one in self.question.job.owned:
            label = f"{one.maker or ''} {one.model or one.part_id}".strip() if one.family else found.get(one.part_id)
            if label:
                own[one.part_id] = f"{label} ({one.condition})" if one.condition else label
        return found | own

    def line(self, fitted: PackageCandidate) -> Line:
        """Return a candidate as a line of the order."""
        one = fitted.candidate
        fit = self.fit(one) if one.step >= CUTTING else None  # lower steps cut nothing
        level = None if fitted.link is None or fitted.bass is not None else level_cdb(one, fitted.link)
        return Line(
            slot=one.slot,
            opening_id=one.opening_id,
            part_id=one.part_id,
            qty=0 if self._is_owned(one) else one.cost.packs,
            is_owned=self._is_owned(one),
            adapter_id=one.adapter_id,
            pieces=one.cost.pieces,
            adapter_qty=one.cost.adapter_packs,
            alteration=LADDER[one.step],
            cut=fit.cut if fit is not None else None,
            price=Decimal(one.cost.parts_cents + one.cost.labour_cents) / HUNDRED,
            label=self.labels.get(one.part_id, "") if one.part_id else NOT_BOUGHT.get(one.slot, "the original stays"),
            level_db=None if level is None else Decimal(level) / HUNDRED,
            low_hz=one.low_hz,
            screen_in=one.screen_in,
            covers=list(one.covers),
        )

    def _is_owned(self, one: Candidate) -> bool:
        """Whether the customer owns this part."""
        return any(
            own.part_id == one.part_id and own.opening_id in (None, one.opening_id) for own in self.question.job.owned
        )

    def ask_fits(self, packages: Iterable[Found], beyond: Sequence[Candidate] = ()) -> None:
        """Compute the fits of several packages' parts together, and look up their names.

        `beyond` names packages that may exceed the allowed alterations.
        """
        candidates = [fitted.candidate for found in packages for fitted in fitted_of(found)]
        self.name_parts(candidates)
        questions = {one: max(each.step, 1) for each in (*candidates, *beyond) if (one := self._fit_question(each))}
        fit_parts(self.catalog, questions)

    def _fit_question(self, one: Candidate) -> FitQuestion | None:
        """Return the fit question of a single candidate; None if it fills no opening."""
        place = FITTED_IN.get(one.slot)
        if place is None or one.part_id is None or one.opening_id is None:
            return None
        kind, family = place
        return FitQuestion(one.part_id, family, self.question.job.vehicle_id, one.opening_id, kind, one.adapter_id)

    def fit(self, one: Candidate) -> Fit | None:
        """Return the fit of a single candidate at the step that its opening allows."""
        question = self._fit_question(one)
        return None if question is None else fit_parts(self.catalog, {question: max(one.step, 1)})[question]

    def fit_checks(self, fitted: list[PackageCandidate]) -> list[Check]:
        """Return every check of every part at its opening, labeled with the opening."""
        found = []
        vehicle = self.question.job.vehicle_id
        for one in (fitted_one.candidate for fitted_one in fitted):
            fit = self.fit(one)
            kept_at = {
                "part": f"part:{one.part_id}",
                "adapter": f"part:{one.adapter_id}",
                "opening": f"opening:{vehicle}/{one.opening_id}",
                "vehicle": f"vehicle:{vehicle}",
            }
            for check in fit.checks if fit is not None else []:
                about = f"{one.opening_id}: {check.about}" if check.about else str(one.opening_id)
                found.append(kept_where(check, about, kept_at))
        return found

    def wanted_checks(self, fitted: list[PackageCandidate]) -> list[Check]:
        """Check the features that the job requires of a head unit."""
        head = next(one.candidate for one in fitted if one.candidate.slot == "head_unit")
        if head.part_id is None:
            return []
        wanted, heads = wanted_of(self.question.job), self.catalog.parts("head_unit")
        has = heads.listed("features", int(heads.rows([head.part_id])[0]))
        given = {feature for one in head.along for feature in one.features or ()}
        columns = self.catalog.part("head_unit", head.part_id) | wanted_columns(wanted, has, given)
        (checks,) = self.catalog.explain(rules_of(WANTED), columns)
        real = {"part.screen_in": "screen_in", "wanted.met": "features", "part.screen": "screen"}
        return [
            replace(check, about=HEAD_UNIT, missing=[f"part:{head.part_id}.{real[name]}" for name in check.missing])
            for check in checks
        ]

    def whole_checks(self, found: Found) -> list[Check]:
        """Check the limits on the whole."""
        sources: Sources = found.sources
        fitted = fitted_of(found)
        resting = [one.candidate for one in fitted if one.candidate.unsure_drain]
        budget = self.question.job.limits.budget
        figures = {
            "budget": budget,
            "total": Decimal(found.cents) / HUNDRED,
            "at_rest_ma": self.question.at_rest_ma,
            "drain_ma": None if resting else Decimal(found.uses[0]) / 1000,
            "head_channels": head_signature(filling(HEAD_UNIT, fitted)).amp_channels,
            "head_used": sources.plan.channels("head_unit"),
            "amplifier_channels": sources.amplifier.channels if sources.amplifier else None,
            "amplifier_used": sources.plan.channels("amplifier") + bridged_beside(fitted),
            **bass_figures(fitted),
        }
        (checks,) = self.catalog.explain(rules_of(PACKAGE), columns_of("whole", [figures]))
        real = {
            "whole.drain_ma": [f"part:{one.part_id}.standby_ma" for one in resting],
            "whole.head_channels": [f"{filling(HEAD_UNIT, fitted).figures_at}amp_channels"],
            "whole.bass_channels": [f"part:{bass_source(fitted)}.bass_channels"],
        }
        return [replace(check, missing=[name for figure in check.missing for name in real[figure]]) for check in checks]


NOT_BOUGHT = {"enclosure": MADE, "board": MADE_BOARD, "level_control": OWN_REMOTE}
"""Text of a line without a catalog part, other than originals."""


def package_id(found: Found) -> str:
    """Return the identifier of a package, from its parts and their feeds."""
    fed = [(one.candidate.opening_id, one.feed, one.coils and one.coils.net) for one in found.fitted if one.feed]
    return hashlib.sha256(repr((found.name, sorted(map(repr, fed)))).encode()).hexdigest()[:10]


def _is_price_open(one: Candidate) -> bool:
    """Whether a candidate needs something without any price: an item of its kit, or a made part."""
    is_made = one.slot in ("board", "enclosure") and one.part_id is None
    return any(item.part_id is None for item in one.kit) or (
        is_made and not one.cost.parts_cents + one.cost.labour_cents
    )


def price_of(fitted: list[PackageCandidate], settings: Settings) -> Price:
    """Return the price of a package for the customer: parts, labor and kit."""
    parts = Decimal(sum(one.candidate.cost.parts_cents for one in fitted))
    labour = Decimal(sum(one.candidate.cost.labour_cents for one in fitted))
    kit = Decimal(sum(one.candidate.cost.kit_cents for one in fitted))
    return Price(
        parts=parts / HUNDRED,
        labour=labour / HUNDRED,
        total=(parts + labour + kit) / HUNDRED,
        kit=kit / HUNDRED,
        from_=any(_is_price_open(one.candidate) for one in fitted),
        currency=settings.word("currency"),
        tax_pct=settings["tax_pct"],
    )


def criteria_of(found: Found, fitted: list[PackageCandidate]) -> dict[str, int]:
    """Return the points by criterion, rounded from hundredths: parts, feeds, sources and plan."""
    hundredths = dict.fromkeys(CRITERIA, 0)
    hundredths["known"], hundredths["loudness"] = found.doubt_points, found.plan_points
    for one in fitted:
        for name, value in one.points:
            hundredths[name] += value
    return {name: round(value / 100) for name, value in hundredths.items()}
