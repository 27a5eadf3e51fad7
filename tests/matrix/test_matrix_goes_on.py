"""A matrix whose run was killed, or lost a worker, is in the end exactly what an undisturbed run makes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import duckdb
import pytest

from matcher import Shop
from matcher.errors import InputError
from matcher.search.matrix import run
from matcher.search.matrix.task import matrix_task
from tests.factories import speaker, speaker_opening, store_file, vehicle
from tests.soak import first

TASKS = 6
ALONE = """
import sys
from matcher import Shop
from matcher.search.matrix import run
run.PLACES_A_TASK = 1
Shop(sys.argv[1]).matrix(sys.argv[2], family="speaker")
"""


@pytest.fixture(scope="module", autouse=True)
def _small_shares() -> Iterator[None]:
    """Each opening is a share of its own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(run, "PLACES_A_TASK", 1)
        yield


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A few loudspeakers and openings."""
    parts = [speaker(part_id=f"s{at}", depth_mm=55 + at) for at in range(9)]
    openings = [speaker_opening(opening_id=f"o{at}", depth_mm=60 + at) for at in range(TASKS)]
    return Shop(store_file(tmp_path_factory.mktemp("shop") / "shop.duckdb", *parts, vehicle(*openings)))


@pytest.fixture(scope="module")
def whole(shop: Shop) -> run.Matrix:
    made = shop.matrix(shop.store.path.parent / "whole", family="speaker")
    assert (made.tasks, made.skipped, made.pairs) == (TASKS, 0, 9 * TASKS)
    return made


def files_of(out: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every file of a matrix with its rows in their order."""
    return {
        str(path.relative_to(out)): duckdb.connect().sql(f"FROM '{path}'").fetchall()
        for folder in ("fits", "refused")
        for path in sorted((out / folder).iterdir())
    }


def test_tasks_done_before_a_kill_are_kept_and_the_rest_is_added(shop: Shop, whole: run.Matrix, tmp_path: Path) -> None:
    out = tmp_path / "killed"
    command = [sys.executable, "-c", ALONE, str(shop.store.path), str(out)]
    with subprocess.Popen(command) as process:
        while not list(out.glob("fits/p*.parquet")):
            assert process.poll() is None
            time.sleep(0.01)
        process.send_signal(signal.SIGKILL)
    (out / "fits" / ".p00005.1.tmp").write_text("half")
    again = shop.matrix(out, family="speaker")
    assert 1 <= again.skipped < TASKS
    assert (again.verdicts, again.refused) == (whole.verdicts, whole.refused)
    assert files_of(out) == files_of(Path(whole.folder))
    assert shop.matrix(out, family="speaker").skipped == TASKS


def test_another_catalog_starts_anew(tmp_path: Path) -> None:
    shop = Shop(store_file(tmp_path / "shop.duckdb", speaker(part_id="s0"), vehicle(speaker_opening())))
    out, heard = tmp_path / "out", list[str]()
    before = shop.matrix(out, family="speaker")
    shop.readings.add("part:s0", "depth_mm", 90)
    after = shop.matrix(out, family="speaker", tell=heard.append)
    assert after.skipped == 0
    assert after.verdicts["no"] > before.verdicts["no"]
    assert any("starting anew" in text for text in heard)


@pytest.mark.filterwarnings("ignore")  # of the engine, about its own workers
@pytest.mark.parametrize("workers", first(1, [2, 4]))
def test_workers_of_which_one_is_killed_make_the_same(
    workers: int, shop: Shop, whole: run.Matrix, tmp_path: Path
) -> None:
    distributed = pytest.importorskip("distributed")
    out, killed = tmp_path / "out", list[int]()
    options = {"n_workers": workers, "threads_per_worker": 1, "processes": True, "dashboard_address": None}
    with distributed.LocalCluster(**options) as cluster, distributed.Client(cluster) as client:
        pids = list(client.run(os.getpid).values())

        def kill_one(text: str) -> None:
            if "are done" in text and not killed:
                killed.append(pids[0])
                os.kill(pids[0], signal.SIGKILL)

        made = shop.matrix(
            out, family="speaker", on=cluster.scheduler_address.replace("tcp://", "dask://"), tell=kill_one
        )
    assert killed
    assert (made.verdicts, made.refused) == (whole.verdicts, whole.refused)
    assert files_of(out) == files_of(Path(whole.folder))


def test_the_engine_for_ray_in_the_docs_makes_the_same(shop: Shop, whole: run.Matrix, tmp_path: Path) -> None:
    page = Path(__file__).parents[2] / "docs" / "scale.md"
    text = page.read_text(encoding="utf-8").partition("```python\n")[2].partition("\n\n\nshop")[0]
    ray = SimpleNamespace(remote=lambda **_: lambda share: SimpleNamespace(remote=share), get=list)
    names: dict[str, Any] = {"ray": ray, "matrix_task": matrix_task}
    exec(text, names)
    made = shop.matrix(tmp_path / "out", family="speaker", on=names["OnRay"]())
    assert (made.tasks, files_of(Path(made.folder))) == (TASKS, files_of(Path(whole.folder)))


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"on": "spark://here:1"}, "no engine that we know"),
        ({"family": "cable"}, "no rule places a cable"),
        ({"vehicle": "nobody"}, "no vehicle 'nobody'"),
        ({"alteration": "chainsaw"}, "no step"),
    ],
)
def test_an_invalid_question_is_refused_with_a_fix(
    asked: dict[str, str], says: str, shop: Shop, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=says) as error:
        shop.matrix(tmp_path / "out", **asked)  # type: ignore[arg-type]
    assert error.value.fix
    assert not (tmp_path / "out").exists()
