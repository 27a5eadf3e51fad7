"""The board that holds an amplifier at its spot: from the catalog, or made by the shop.

A board follows from the spot and the amplifier's sizes, so like a cable it is an accompanying part, not a choice. It is
the cheapest of the catalog that certainly fits the spot and certainly holds the amplifier with its air gap; otherwise
the shop makes one. Two amplifiers on one spot share a board made by the shop, as the choice would depend on both.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from matcher.kernel.columns import Columns
from matcher.kernel.distinct import Numbers
from matcher.rules.mount import BOARD_ON_SPOT, ON_BOARD
from matcher.rules.rule import FITS, rules_of
from matcher.search.candidates.common import comes_along
from matcher.search.candidates.goods import goods_of, of_kind
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.kit import KitNeed, board_needs, kit_cents, kit_prices
from matcher.search.feeds.parts import Candidate, Cost, cents
from matcher.search.fits.tables import verdict_table
from matcher.search.scoring import Scoring

SLOT = "board"
MADE = -1
"""Row number of a board made by the shop."""


def sharing(one: Candidate, made: Candidate | None) -> Candidate:
    """An amplifier on a board made for it and another one; None: on the board of the other."""
    others = tuple(each for each in one.along if each.slot != SLOT)
    return replace(one, along=others if made is None else (*others, made))


def made_board(catalog: Catalog, spot: str, scoring: Scoring, *needs: KitNeed) -> Candidate:
    """A board made by the shop, at its price or an estimate, the same for every spot."""
    settings = scoring.settings
    kit = kit_prices(catalog).kit((*board_needs(settings), *needs))
    goods, work = (
        settings.charged("made_board_price"),
        settings["made_board_labour_h"] * settings.charged("labour_rate"),
    )
    cost = Cost(1, 1, 0, cents(goods), cents(work), kit_cents(kit))
    return replace(comes_along(SLOT, spot, None, cost, scoring), kit=kit)


def board_of(catalog: Catalog, row: int, spot: str, scoring: Scoring) -> Candidate:
    """Return a board by its row among the accessories, or the one made by the shop."""
    if row == MADE:
        return made_board(catalog, spot, scoring)
    name = str(catalog.parts("accessory").part_ids[row])
    return comes_along(SLOT, spot, name, goods_of(catalog, "accessory").cost(row), scoring)


def boards_on(catalog: Catalog, opening: Columns) -> Numbers:
    """Return the row of the first board in the total order that certainly fits each amplifier, or `MADE`."""
    boards, settings = catalog.parts("accessory"), catalog.settings
    lying = _lying(catalog, opening)
    columns = Columns({f"board.{name}": boards.columns[f"part.{name}"] for name in ("w_mm", "h_mm", "d_mm")})
    others = columns.take(lying) | opening
    table = verdict_table(rules_of(ON_BOARD), catalog.parts("amplifier"), "part", others, len(lying), settings)
    sure = np.column_stack([table.codes == FITS, np.ones(len(table.codes), np.bool_)])
    first: Numbers = np.append(lying, MADE)[sure.argmax(axis=1)]
    return first[table.number]


def _lying(catalog: Catalog, opening: Columns) -> Numbers:
    """Boards that certainly fit a spot, in the total order, without those dominated by a cheaper or equal one.

    A board dominates another if it is no larger and no thicker, including tolerances.
    """
    boards, settings = catalog.parts("accessory"), catalog.settings
    table = verdict_table(rules_of(BOARD_ON_SPOT), boards, "board", opening, 1, settings)
    w, h, thick = (boards.columns[f"part.{side}_mm"] for side in ("w", "h", "d"))
    rows = np.flatnonzero((table.by_part[:, 0] == FITS) & of_kind(boards, SLOT) & thick.known)
    rows = rows[np.argsort(goods_of(catalog, "accessory").cents[rows], kind="stable")]
    sides = np.stack([(side.values - side.tol)[rows] for side in (w, h)])
    merits = np.stack([*np.sort(sides, axis=0), -(thick.values + thick.tol)[rows]])
    stands_in = np.all(merits[:, :, None] >= merits[:, None, :], axis=0)
    kept: Numbers = rows[~np.any(np.triu(stands_in, 1), axis=0)]
    return kept
