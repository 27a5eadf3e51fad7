"""A published catalog as a supplier: all of one version, the shop's own over it, whoever publishes meanwhile."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
import pytest

from matcher import Shop
from matcher.errors import FileRefused, InputError, NotKnown
from matcher.store.sharing.snapshots import CURRENT, current_snapshot

FILM = "part_id,maker,model,price,vlt_pct\n"


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the store of a shop that publishes, and that of another with a part of its own."""
    folder = tmp_path_factory.mktemp("loaded")
    load(Shop(folder / "chain.duckdb"), "a,M,m,10,70", "b,M,m,20,50", "c,M,m,30,20")
    load(Shop(folder / "counter.duckdb"), "own,M,m,5,90", supplier="Ada")
    return folder


@pytest.fixture
def chain(loaded: Path, tmp_path: Path) -> Shop:
    """The shop that publishes."""
    return Shop(shutil.copy(loaded / "chain.duckdb", tmp_path))


@pytest.fixture
def counter(loaded: Path, tmp_path: Path, chain: Shop) -> Shop:
    """A shop that has attached it, and has a part of its own."""
    chain.sharing.publish(tmp_path / "hq")
    counter = Shop(shutil.copy(loaded / "counter.duckdb", tmp_path))
    counter.sharing.attach(tmp_path / "hq")
    return counter


def load(shop: Shop, *rows: str, family: str = "film", header: str = FILM, **how: Any) -> Shop:
    path = shop.store.path.with_suffix(".csv")
    path.write_text(header + "\n".join(rows) + "\n", encoding="utf-8")
    shop.catalog.load(path, family=family, **how)
    return shop


def prices(shop: Shop, table: str = "part") -> dict[str, int]:
    with shop.store.reading() as con:
        return {name: int(price) for name, price in con.execute(f"select part_id, price from {table}").fetchall()}


def test_attached_parts_are_listed_beside_the_shops_own(counter: Shop, tmp_path: Path) -> None:
    assert prices(counter) == {"a": 10, "b": 20, "c": 30, "own": 5}
    (one,) = counter.sharing.attached()
    assert (one.supplier, one.folder, one.version) == ("hq", tmp_path / "hq", 1)
    assert [(one.what, one.new) for one in counter.catalog.history()] == [("load", 1), ("attached", 3)]
    assert counter.catalog.part("a").supplier == "hq"
    assert counter.maintenance.check().sound


def test_a_refresh_brings_what_is_new_and_takes_what_has_gone(chain: Shop, counter: Shop, tmp_path: Path) -> None:
    load(chain, "a,M,m,11,70", "b,M,m,20,50", "d,M,m,40,5", complete=True)
    chain.sharing.publish(tmp_path / "hq")
    report = counter.sharing.refresh()["hq"]
    assert (report.new, report.changed, report.unchanged, report.withdrawn) == (1, 1, 1, 1)
    assert prices(counter) == {"a": 11, "b": 20, "d": 40, "own": 5}
    assert [(part.part_id, part.what) for part in counter.catalog.diff(2, 3)] == [
        ("a", "changed"),
        ("c", "withdrawn"),
        ("d", "new"),
    ]
    again = counter.sharing.refresh("hq")["hq"]
    assert (again.changes_nothing, len(counter.catalog.history())) == (True, 3)


def test_own_prices_readings_and_parts_survive_a_refresh(chain: Shop, counter: Shop, tmp_path: Path) -> None:
    counter.readings.add("part:a", "price", "12.50", by="Ada")
    counter.readings.add("part:b", "vlt_pct", 48)
    load(counter, "c,M,ours,33,20", supplier="Ada")
    load(chain, "a,M,m,15,70", "b,M,m,25,55", "c,M,m,35,25", complete=True)
    chain.sharing.publish(tmp_path / "hq")
    report = counter.sharing.refresh()["hq"]
    assert (report.changed, report.skipped.total()) == (3, 0)
    with counter.store.reading() as con:
        found = con.execute("select part_id, model, price, vlt_pct from film order by 1").fetchall()
    assert found == [
        ("a", "m", Decimal("12.50"), 70),
        ("b", "m", 25, 48),
        ("c", "m", 35, 25),  # an equal number of another supplier never takes its place
        ("own", "m", 5, 90),
    ]
    (price,) = counter.catalog.part("a").claims
    assert (price.claimed, price.value) == (15, Decimal("12.50"))
    assert counter.maintenance.check().sound


def test_readings_of_the_publisher_are_attached(chain: Shop, counter: Shop, tmp_path: Path) -> None:
    chain.readings.add("part:a", "vlt_pct", 68, tol=2)
    chain.sharing.publish(tmp_path / "hq")
    counter.sharing.refresh()
    figures = counter.catalog.part("a").figures
    assert (figures["vlt_pct"], figures["vlt_pct_tol"]) == (68, 2)


def test_a_part_may_come_back_as_one_of_another_family(chain: Shop, counter: Shop, tmp_path: Path) -> None:
    load(chain, "b,M,m,20,50", "c,M,m,30,20", complete=True)
    load(chain, "a,M,m,10,16,5", family="cable", header="part_id,maker,model,price,area_mm2,length_m\n")
    chain.sharing.publish(tmp_path / "hq")
    counter.sharing.refresh()
    assert (set(prices(counter, "film")), set(prices(counter, "cable"))) == ({"b", "c", "own"}, {"a"})
    assert counter.maintenance.check().sound


def test_a_detached_catalog_is_gone_and_can_come_back(counter: Shop, tmp_path: Path) -> None:
    assert counter.sharing.detach("hq", by="Ada").withdrawn == 3
    assert (prices(counter), counter.sharing.attached()) == ({"own": 5}, [])
    with pytest.raises(NotKnown, match="attached supplier 'hq'"):
        counter.sharing.refresh("hq")
    assert counter.sharing.attach(tmp_path / "hq").new == 3
    assert counter.catalog.restore(1).withdrawn == 3


def test_one_name_is_one_supplier(counter: Shop, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="lists of Ada were loaded here"):
        counter.sharing.attach(tmp_path / "hq", "Ada")
    with pytest.raises(FileRefused, match="no published catalog"):
        counter.sharing.attach(tmp_path)


def test_prices_in_another_currency_are_not_taken(chain: Shop, counter: Shop, tmp_path: Path) -> None:
    chain.set("currency", "EUR")
    counter.set("currency", "SEK")
    chain.sharing.publish(tmp_path / "hq")
    with pytest.raises(InputError, match="prices in EUR, this shop's are in SEK"):
        counter.sharing.refresh()


@pytest.mark.parametrize(
    "query",
    [
        "select * replace (-1::decimal(12,2) as price) from {}",
        "select * replace (null::varchar as maker) from {}",
        "select * exclude (vlt_pct) from {}",
        "select * replace (vlt_pct::double as vlt_pct) from {}",
        "select * from {} union all from {}",
    ],
    ids=["a price below nothing", "no maker", "a column less", "a float", "a part twice"],
)
def test_rows_at_fault_are_refused_as_a_whole(counter: Shop, tmp_path: Path, query: str) -> None:
    """As a program that is not ours might publish them."""
    import hashlib

    path = tmp_path / "hq" / "v1" / "film.parquet"
    with duckdb.connect() as con:
        con.execute(f"create table t as {query.format(*[repr(str(path))] * 2)}")
        con.execute(f"copy t to '{path}' (format parquet)")
    manifest = path.with_name("manifest.json")
    document = json.loads(manifest.read_text(encoding="utf-8"))
    document["tables"]["film"]["sha256"] = hashlib.sha256(path.read_bytes()).hexdigest()
    manifest.write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(FileRefused):
        counter.sharing.refresh()
    assert prices(counter) == {"a": 10, "b": 20, "c": 30, "own": 5}


def test_a_version_copied_in_part_is_not_taken(chain: Shop, counter: Shop, tmp_path: Path) -> None:
    """As a folder that is synchronized file by file may look for a while."""
    load(chain, "a,M,m,99,70")
    chain.sharing.publish(tmp_path / "hq")
    path = current_snapshot(tmp_path / "hq").path("film")
    whole = path.read_bytes()
    path.write_bytes(whole[:-9])
    with pytest.raises(FileRefused, match="not the file that was published"):
        counter.sharing.refresh()
    assert prices(counter)["a"] == 10
    path.write_bytes(whole)
    counter.sharing.refresh()
    assert prices(counter)["a"] == 99


WRITER = """
import sys
from pathlib import Path
from matcher import Shop
shop, out = Shop(sys.argv[1]), Path(sys.argv[2])
for number in range(2, int(sys.argv[3]) + 1):
    with shop.store.changing() as con:
        con.execute("update film_rows set price = $1", [number])
    shop.sharing.publish(out, keep=2)
"""
READER = """
import sys
from matcher import Shop
shop, last = Shop(sys.argv[1]), 0
while last < int(sys.argv[2]):
    shop.sharing.refresh()
    with shop.store.reading() as con:
        (count, price), = con.execute("select count(*), any_value(price) from film group by price").fetchall()
    assert (count, price >= last) == (500, True), (count, price, last)
    last = int(price)
    print(last, flush=True)
"""


def test_readers_see_whole_versions_only_while_others_come(tmp_path: Path) -> None:
    last, out = 4, tmp_path / "out"
    chain = load(Shop(tmp_path / "chain.duckdb"), *(f"P{n},M,m,1,50" for n in range(500)))
    chain.sharing.publish(out)
    assert (out / CURRENT).read_text(encoding="ascii") == "v1\n"
    counters = [Shop(tmp_path / f"counter{n}.duckdb") for n in (1, 2)]
    for counter in counters:
        counter.sharing.attach(out)
    runs = [
        subprocess.Popen([sys.executable, "-c", code, *map(str, told)], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for code, told in [
            *((READER, (counter.store.path, last)) for counter in counters),
            (WRITER, (chain.store.path, out, last)),
        ]
    ]
    ended = [(run.communicate(timeout=300), run.returncode) for run in runs]
    assert [(code, said[1].decode()) for said, code in ended] == [(0, "")] * 3
    assert [counter.sharing.attached()[0].version for counter in counters] == [last, last]
