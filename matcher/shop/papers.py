"""Papers, made from answers only."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from matcher.errors import InputError
from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from catalog_schema.answers import Options, Package
    from catalog_schema.choices import Choice
    from catalog_schema.whys import LimitPrices, MeasureFirst, Why
    from matcher.drawings.svg import Drawing
    from matcher.papers.dossier import Dossier
    from matcher.papers.model import Section
    from matcher.papers.offer import Offer, OpenFigure
    from matcher.papers.paper import Paper
    from matcher.settings import Settings
    from matcher.shop.choices import ShopChoices
    from matcher.shop.drawings import ShopDrawings
    from matcher.shop.jobs import ShopJobs
    from matcher.shop.readings import ShopReadings
    from matcher.shop.trying import Trying
    from matcher.shop.vehicles import ShopVehicles
    from matcher.store.readings.readings import Reading


class ShopPapers(ShopPart):
    """Papers, made from answers only."""

    def __init__(
        self,
        asking: Trying,
        vehicles: ShopVehicles,
        jobs: ShopJobs,
        readings: ShopReadings,
        choices: ShopChoices,
        drawings: ShopDrawings,
    ) -> None:
        super().__init__(asking)
        self.asking = asking
        self.vehicles = vehicles
        self.jobs = jobs
        self.readings = readings
        self.choices = choices
        self.drawings = drawings

    def one(
        self,
        job_id: str,
        kind: str,
        *,
        package: int | None = None,
        format: str = "pdf",
        on: date | None = None,
    ) -> Paper:
        """Return one paper of a job.

        Parameters
        ----------
        job_id
            A job of the store.
        kind
            ``proposal``, ``measuring``, ``fitting``, ``setup``, ``handover-car`` or ``handover-owner``.
        package
            The rank of its package; by default the chosen one, or the first.
        format
            ``pdf``, or ``html``: one self-contained file.
        on
            Its date; today by default.

        Raises
        ------
        InputError
            if the job, the kind, the format or the package is not known.
        """
        return self.many(job_id, [kind], package=package, formats=[format], on=on)[0]

    def many(
        self,
        job_id: str,
        kinds: Sequence[str] | None = None,
        *,
        package: int | None = None,
        formats: Sequence[str] = ("html", "pdf"),
        on: date | None = None,
        options: Options | None = None,
        limits: LimitPrices | None = None,
        measure: MeasureFirst | None = None,
        why: Why | None = None,
    ) -> list[Paper]:
        """Return several papers of a job, every kind by default, from one answer.

        Parameters
        ----------
        options
            The job's answer, if it was computed just now.
        limits
            The price of each limit, for the proposal: `Shop.limits` ranks the job again without each.
        measure
            Figures to measure first, for the measuring sheet's order: `Shop.measure` ranks either side of each figure.
        why
            Changes that help if there is no package, for the proposal: `Shop.why` ranks every change of limits.
        """
        from matcher.papers.paper import KINDS, check_asked, check_needed, document, is_needed, rendered

        wanted = list(KINDS if kinds is None else kinds)
        check_asked(wanted, formats)
        dossier = self.dossier(
            job_id,
            package=package,
            on=on,
            options=options,
            limits=limits,
            measure=measure,
            why=why,
            further="proposal" in wanted,
            pictured="proposal" in wanted,
            drawn=wanted != ["proposal"],
        )
        if len(wanted) == 1:
            check_needed(dossier, wanted[0])
        documents = (document(dossier, kind) for kind in wanted if is_needed(dossier, kind))
        return [rendered(made, form) for made in documents for form in formats]

    def dossier(
        self,
        job_id: str,
        *,
        package: int | None = None,
        on: date | None = None,
        options: Options | None = None,
        limits: LimitPrices | None = None,
        measure: MeasureFirst | None = None,
        why: Why | None = None,
        further: bool = True,
        pictured: bool = True,
        drawn: bool = True,
    ) -> Dossier:
        """Gather the contents of a job's papers; arguments of `papers` that are not given are left out.

        Parameters
        ----------
        further
            Whether to rank further packages for the proposal.
        pictured
            Whether to include the proposal's pictures of the packages.
        drawn
            Whether to include the package's drawings, its set-up, its order and the readings, for sheets.
        """
        from matcher.jobs.choices import with_sentences
        from matcher.papers.dossier import Dossier

        rank = 1 if package is None else package
        options = options or self.asking.options(job_id, top=max(rank, 5))
        kept = self.choices.latest(job_id) if package is None else None
        choice = None if kept is None else with_sentences(kept)
        about = _ranked(options, package) if choice is None else choice.package
        job, settings = self.jobs.get(job_id).document, self.opened.settings()
        lifted = self._further(job_id, job, options, choice) if further else {}
        found = Dossier(
            job=job,
            vehicle=self.vehicles.get(job["vehicle_id"]).document,
            options=options,
            package=about,
            parts=self._named_parts(options, about, measure, lifted),
            settings=settings,
            on=on or date.today(),
            choice=choice,
            limits=limits,
            measure=measure,
            why=why,
            further=lifted,
            setup=self.choices.setup_record(job_id) if drawn else None,
            went_on=self.choices.went_on(job_id) if drawn else (),
            readings=self._readings(job["vehicle_id"], about) if drawn else [],
            drawings=self._drawings(job_id, about, settings) if drawn and about is not None else {},
        )
        pictures = self._offer_drawings(found, settings.word("language")) if pictured else {}
        sketches = self._sketches(found.to_measure, settings) if drawn else {}
        return replace(found, drawings={**found.drawings, **pictures}, sketches=sketches)

    def offer(self, job_id: str, *, options: Options, further: bool = True, for_customer: bool = False) -> Offer:
        """Return the packages of an answer as a customer distinguishes them.

        Parameters
        ----------
        options
            The answer, which has a package.
        further
            Whether to rank packages beyond a limit if the answer gives few to choose from.
        for_customer
            Whether it is in the shop's language, with all pictures; otherwise in English, with the dashes only.
        """
        from matcher.papers.offer import offer_of
        from matcher.papers.words import Words
        from matcher.papers.writer import Writer

        dossier = self.dossier(job_id, options=options, further=further, pictured=False, drawn=False)
        lang = dossier.settings.word("language") if for_customer else "en"
        drawings = self._offer_drawings(dossier, lang, dashes_only=not for_customer)
        return offer_of(Writer(replace(dossier, drawings=drawings), Words(lang)))

    def no_package(self, job_id: str, *, options: Options, why: Why | None) -> list[Section]:
        """Say why no package of an answer meets the limits, and what would help once ``why`` is known; in English."""
        from matcher.papers.model import Section
        from matcher.papers.no_package import no_package
        from matcher.papers.words import Words
        from matcher.papers.writer import Writer

        dossier = self.dossier(job_id, options=options, why=why, further=False, pictured=False, drawn=False)
        return [block for block in no_package(Writer(dossier, Words())) if isinstance(block, Section)]

    def open_figures(
        self, job_id: str, *, options: Options, package: Package, measure: MeasureFirst | None = None
    ) -> list[OpenFigure]:
        """Return the figures to measure before a package is sold, the most decisive first, in English.

        Parameters
        ----------
        measure
            The answer of `measure`, if it was computed already.
        """
        from matcher.papers.offer import open_figures
        from matcher.papers.words import Words
        from matcher.papers.writer import Writer

        dossier = self.dossier(job_id, options=options, measure=measure, further=False, pictured=False, drawn=False)
        return open_figures(Writer(replace(dossier, package=package), Words()))

    def figure_titles(self, choice: Choice, names: Iterable[str]) -> dict[str, str]:
        """Return the labels of some figures of a choice's car and parts, in English, with their place."""
        from matcher.papers.offer import figure_title
        from matcher.papers.words import Words
        from matcher.papers.writer import Writer

        writer = Writer(self.choice_dossier(choice), Words())
        return {name: figure_title(writer, name) for name in names}

    def choice_dossier(self, choice: Choice) -> Dossier:
        """Gather the contents of papers about a choice only, without ranking or drawing."""
        from catalog_schema.answers import Options
        from matcher.jobs.choices import with_sentences
        from matcher.papers.dossier import Dossier

        kept = with_sentences(choice)
        job = self.jobs.get(kept.job_id).document
        answer = Options(
            job_id=kept.job_id,
            catalog_version=kept.catalog_version,
            considered=0,
            complete=True,
            seconds=0.0,
            packages=[kept.package],
            tiers=[],
            conflicts=[],
        )
        return Dossier(
            job=job,
            vehicle=self.vehicles.get(job["vehicle_id"]).document,
            options=answer,
            package=kept.package,
            parts={one.part_id: {"maker": one.maker, "model": one.model, "family": one.family} for one in kept.parts},
            settings=self.opened.settings(),
            on=date.today(),
            choice=kept,
        )

    def _further(
        self, job_id: str, job: Mapping[str, Any], options: Options, choice: Choice | None
    ) -> dict[str, Package]:
        """Return the best package without each of some limits, if the job's budgets give too few to choose from."""
        from catalog_schema.terms import without
        from matcher.papers.columns import LIFTED, MOST, columns

        if not 0 < len(columns(options, {}, None if choice is None else choice.package)) < MOST:
            return {}
        stated = {f"choose.{name}" for name in job["choose"]} | ({"budget"} if job["limits"]["budget"] else set())
        terms = {name: without(job, [name]) for name in LIFTED if name in stated}
        found = {name: self.asking.what_if(job_id, terms=changed, top=1).packages for name, changed in terms.items()}
        return {name: packages[0] for name, packages in found.items() if packages}

    def _offer_drawings(self, dossier: Dossier, lang: str, *, dashes_only: bool = False) -> dict[str, Drawing]:
        """Return the pictures of the offered packages, as ``offer/NAME``."""
        from matcher.drawings.gather_offer import dash_pictures, offer_drawings
        from matcher.drawings.words import DrawingWords as DrawnWords
        from matcher.papers.today import ranges_today
        from matcher.papers.words import Words

        words = DrawnWords(lang, Words(lang).again)
        offered = {column.letter: column.package for column in dossier.offered}
        with self.opened.catalog_for(dossier.job["job_id"]) as (catalog, job):
            if dashes_only:
                drawn = dash_pictures(catalog, job.vehicle_id, offered, words)
            else:
                today = ranges_today(dossier.vehicle)
                drawn = offer_drawings(catalog, dossier.vehicle, dossier.parts, offered, today, words)
        return {f"offer/{name}": one for name, one in drawn.items()}

    def _readings(self, vehicle_id: str, package: Package | None) -> list[Reading]:
        """Return the readings of a vehicle, its openings, and the parts of a package."""
        lines = [] if package is None else package.lines
        parts = {f"part:{name}" for line in lines for name in (line.part_id, line.adapter_id) if name}
        return [
            reading
            for reading in self.readings.all()
            if reading.subject in parts
            or reading.subject == f"vehicle:{vehicle_id}"
            or reading.subject.startswith(f"opening:{vehicle_id}/")
        ]

    def _drawings(self, job_id: str, package: Package, settings: Settings) -> dict[str, Drawing]:
        from matcher.papers.words import Words

        lang = settings.word("language")
        return self.drawings.package(job_id, package, lang=lang, again=Words(lang).again)

    def _sketches(self, figures: Sequence[str], settings: Settings) -> dict[str, Drawing]:
        """Return a drawing of where to measure each figure of an opening that has a sketch."""
        from matcher.drawings.measuring import is_sketched

        lang = settings.word("language")
        named = [name for name in figures if name.startswith("opening:")]
        places = {name: name.removeprefix("opening:").split(".", 1) for name in named}
        return {
            name: self.drawings.measuring(opening, field, lang=lang)
            for name, (opening, field) in places.items()
            if is_sketched(self.drawings.opening(opening).kind, field)
        }

    def _named_parts(
        self,
        options: Options,
        about: Package | None,
        measure: MeasureFirst | None,
        further: Mapping[str, Package],
    ) -> dict[str, dict[str, Any]]:
        from matcher.store.catalog.printed_parts import printed_parts

        shown = [*options.packages, *(tier.package for tier in options.tiers if tier.package is not None)]
        shown += [*further.values(), *([] if about is None else [about])]
        names = [name for package in shown for name in package.bought()]
        names += [str(line.part_id) for package in shown for line in package.lines if line.is_owned]
        figures = [] if measure is None else [one.figure for one in measure.figures]
        names += [name[len("part:") :].rpartition(".")[0] for name in figures if name.startswith("part:")]
        names += [tradeoff.instead for package in shown for tradeoff in package.tradeoffs]
        with self.store.reading() as con:
            return printed_parts(con, sorted(set(names)))


def _ranked(options: Options, rank: int | None) -> Package | None:
    """Return the package of a rank, by default the first; None if no package meets the limits."""
    if rank is None:
        return options.packages[0] if options.packages else None
    found = next((package for package in options.packages if package.rank == rank), None)
    if found is None:
        count = len(options.packages)
        listed = f"the job has packages 1 to {count}" if count else "no package meets the job's limits"
        raise InputError(f"there is no package {rank}", fix=f"{listed}: `boltback options {options.job_id}`")
    return found
