"""Tables straight from arrays: every row is what its candidate is, in random towns."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from matcher.search.candidates.boards import made_board
from matcher.search.candidates.head_units import head_groups
from matcher.search.candidates.table import CandidateTable, table_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.field import RankingField
from matcher.settings import DEFAULT_SETTINGS
from tests.bass.towns import gather, lay_job, lay_town
from tests.factories import Bench


def tables(catalog: Catalog, field: RankingField) -> Iterator[CandidateTable]:
    """The tables of a field, amplifiers in each of their variants."""
    yield from map(table_of, field.speakers.values())
    yield from (group.table for group in head_groups(field.heads))
    amplifiers = field.amplifiers
    board = made_board(catalog, "seat", field.scoring)
    for some in (
        amplifiers,
        amplifiers + amplifiers.some(slice(0, 3)),
        amplifiers.some(np.arange(len(amplifiers))[::-2]),
    ):
        for playing in (True, False):
            yield some.table(playing=playing)
            yield some.sharing(board, playing=playing)
            yield some.sharing(None, playing=playing)


@pytest.mark.parametrize("seed", [1, 2, 5, 15])
def test_each_row_of_a_table_is_what_its_candidate_is(bench: Bench, seed: int) -> None:
    lay_town(bench, seed, 2)
    catalog = Catalog(bench.con, DEFAULT_SETTINGS)
    for table in tables(catalog, gather(bench, lay_job(bench, seed), 3)):
        listed = table_of(list(table.candidates))
        for name in ("points", "cents", "code", "open", "level"):
            assert getattr(table, name).tolist() == getattr(listed, name).tolist(), name
        uses = [np.zeros((len(table), 3)) if one.uses is None else one.uses for one in (table, listed)]
        assert uses[0].tolist() == uses[1].tolist()
        classes = [[one.classes[group] for group in one.group.tolist()] for one in (table, listed)]
        assert classes[0] == classes[1]
        assert (table.goods[:, None] == table.goods).tolist() == (listed.goods[:, None] == listed.goods).tolist()
        assert [one.part_id for one in table.some(table.open).candidates] == [
            one.part_id for one in table.candidates if one.is_open
        ]
