"""Drawings of openings, as found or with a part, and of whole packages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalog_schema.ladder import DEFAULT_STEP
from matcher.errors import InputError
from matcher.shop.base import Opened, check_step, shop_settings, split_place

if TYPE_CHECKING:
    from matcher.drawings import Drawing


class Pictures(Opened):
    """Drawings of openings, as found or with a part, and of whole packages."""

    def drawing(
        self,
        opening: str,
        part: str | None = None,
        adapter: str | None = None,
        *,
        alteration: str = DEFAULT_STEP,
        lang: str = "en",
        inches: bool = False,
    ) -> dict[str, Drawing]:
        """Drawings of an opening to scale, by name: each is SVG as text, with its title and size on paper.

        Parameters
        ----------
        opening
            ``vehicle/opening``.
        part
            A part to draw in it; without one the opening is drawn as found.
        adapter
            An adapter between them, by its part_id.
        alteration
            The step of the alteration ladder at which the fit is judged.
        lang
            ``en`` or ``de``.
        inches
            Whether lengths are told in inches, too.

        Raises
        ------
        InputError
            where a name is not known, or the part is of another kind than the opening.
        """
        from matcher.drawings.gather import Wanted, opening_drawings
        from matcher.drawings.words import Words

        check_step(alteration)
        if part is None and adapter is not None:
            raise InputError("an adapter is drawn with a part in it", cure="name the part, too")
        wanted = Wanted(*split_place(opening), part, adapter, alteration)
        with self.store.reading() as con:
            return opening_drawings(con, wanted, shop_settings(con), Words(lang, inches))
