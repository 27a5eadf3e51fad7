"""Drawings of openings, as found or with a part, and of whole packages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalog_schema.ladder import DEFAULT_STEP
from matcher.errors import InputError
from matcher.shop.base import ShopPart, check_step, shop_settings, split_place

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog_schema.answers import Fit, Package
    from catalog_schema.vehicles import Opening
    from matcher.drawings.gather_places import PackageInCar
    from matcher.drawings.svg import Drawing
    from matcher.shop.asking import Asking
    from matcher.shop.jobs import ShopJobs


class ShopDrawings(ShopPart):
    """Drawings of openings, as found or with a part, and of whole packages."""

    def __init__(self, asking: Asking, jobs: ShopJobs) -> None:
        super().__init__(asking)
        self.asking = asking
        self.jobs = jobs

    def package_in_car(self, job_id: str, *, package: Package) -> PackageInCar:
        """Return every opening of a job's car with its part in a package, and changes that larger speakers need."""
        from matcher.drawings.gather_places import package_in_car

        with self.store.reading() as con:
            return package_in_car(con, self.jobs.get(job_id).document["vehicle_id"], package)

    def drawing(
        self,
        opening: str,
        part: str | None = None,
        adapter: str | None = None,
        *,
        alteration: str = DEFAULT_STEP,
        fit: Fit | None = None,
        lang: str = "en",
        again: Callable[[str], str] = str,
    ) -> dict[str, Drawing]:
        """Draw an opening to scale; return drawings by name, each as SVG text with its title and size on paper.

        Parameters
        ----------
        opening
            ``vehicle/opening``.
        part
            A part to draw in it; by default the opening is drawn as found.
        adapter
            An adapter between them, by its part_id.
        alteration
            The step of the alteration ladder for the fit.
        fit
            The fit, if it was computed already.
        lang
            ``en`` or ``de``.
        again
            Translates an answer's English text into that language.

        Raises
        ------
        InputError
            if a name is not known, or the part is of another kind than the opening.
        """
        from matcher.drawings.gather import opening_drawings
        from matcher.drawings.gather_placed import OpeningRequest
        from matcher.drawings.words import DrawingWords
        from matcher.search.catalog.catalog import Catalog

        check_step(alteration)
        if part is None and adapter is not None:
            raise InputError("an adapter is drawn with a part in it", fix="name the part, too")
        wanted = OpeningRequest(*split_place(opening), part, adapter, alteration, fit)
        with self.store.reading() as con:
            return opening_drawings(Catalog(con, shop_settings(con)), wanted, DrawingWords(lang, again))

    def measuring(self, opening: str, field: str, *, lang: str = "en") -> Drawing:
        """Draw where a figure of an opening is measured.

        Parameters
        ----------
        opening
            ``vehicle/opening``.
        field
            The figure, such as ``depth_mm`` or ``keep_clear.hazard switch.x_mm``.
        lang
            As in `drawing`.

        Raises
        ------
        InputError
            if a name is not known, or the opening has no such figure.
        """
        from matcher.drawings.measuring import measuring_sketch
        from matcher.drawings.svg import prefix_of
        from matcher.drawings.words import DrawingWords

        return measuring_sketch(self.opening(opening), field, DrawingWords(lang), prefix_of("measure", opening, field))

    def package(
        self,
        job_id: str,
        package: int | Package = 1,
        *,
        lang: str = "en",
        again: Callable[[str], str] = str,
    ) -> dict[str, Drawing]:
        """Draw a package; return drawings by name: the system, each part at its opening, the bass, the margins.

        Parameters
        ----------
        job_id
            A job of the store.
        package
            A package of its answer, or a rank: then the job is ranked again.
        lang, again
            As in `drawing`.

        Raises
        ------
        InputError
            if the job is not known, or its answer has no package of that rank.
        """
        from matcher.drawings.gather_package import package_drawings
        from matcher.drawings.words import DrawingWords

        chosen = self._ranked(job_id, package) if isinstance(package, int) else package
        with self.opened.catalog_for(job_id) as (catalog, job):
            return package_drawings(catalog, job.vehicle_id, chosen, DrawingWords(lang, again))

    def opening(self, opening: str) -> Opening:
        from matcher.store.catalog.things import stored_opening

        with self.store.reading() as con:
            return stored_opening(con, *split_place(opening))

    def _ranked(self, job_id: str, rank: int) -> Package:
        packages = self.asking.options(job_id, top=max(rank, 1)).packages
        found = next((package for package in packages if package.rank == rank), None)
        if found is None:
            raise InputError(
                f"the job {job_id} has no package {rank}", fix=f"it has {len(packages)}: `boltback options {job_id}`"
            )
        return found
