"""What the tests of the store share: an empty store, lists in files, and short ways to look into it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from matcher.store.database.opening import Store
from tests.factories import empty_store

FILM = "part_id,maker,model,price,vlt_pct"
SPEAKER = "part_id,maker,model,price,shape,size,impedance_ohm,rms_w,depth_mm"


@pytest.fixture
def new_store(tmp_path: Path) -> Store:
    """A store that has no file yet."""
    return Store(tmp_path / "new.duckdb")


@pytest.fixture
def store(stand: Callable[[Path], Path], tmp_path: Path) -> Store:
    """A store that no list was loaded into yet."""
    return Store(stand(empty_store(tmp_path / "shop.duckdb")))


@pytest.fixture
def film_list(tmp_path: Path) -> Callable[..., Path]:
    """Write a list of films: one text of cells a row, part_id first."""

    def write(*rows: str, name: str = "films.csv", header: str = FILM) -> Path:
        path = tmp_path / name
        path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
        return path

    return write


@pytest.fixture
def ask(store: Store) -> Callable[..., list[tuple[Any, ...]]]:
    """Rows of a query on the store."""

    def run(query: str, *values: object) -> list[tuple[Any, ...]]:
        with store.reading() as con:
            return con.execute(query, list(values)).fetchall()

    return run
