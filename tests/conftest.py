"""What tests of more than one file share."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

from matcher.lengths import tell_lengths_in
from matcher.store.database.connection import Connection, open_file
from tests.factories import Bench

if TYPE_CHECKING:
    from tests.postgres import Postgres

# A busy machine is no mistake of what is tested, so nothing has a deadline. A commit is judged on the same draws
# everywhere; `--hypothesis-profile=afresh` draws others, to look for what no commit is to blame for.
settings.register_profile("same", deadline=None, derandomize=True)
settings.register_profile("afresh", deadline=None, print_blob=True)
settings.load_profile("same")

os.environ["BOLTBACK_BY"] = "tests"  # who does what no test names anybody for
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # else each process that a test starts compiles all sources
os.environ.pop("BOLTBACK_STORE", None)  # a shop's own store, as README exports it: no test writes there


@pytest.fixture(autouse=True)
def _in_millimeters() -> None:
    """Begin each test as a new thread does: no store was opened in it whose shop reads lengths in inches."""
    tell_lengths_in("mm")


@pytest.fixture(autouse=True)
def stores_stay_open() -> Iterator[None]:
    """Keep a second connection to each store open until the test ends or starts a process: opening takes 20 ms.

    A test file that handles a store's file by itself overrides this.
    """
    held: dict[Path, Connection] = {}

    def open_once(file: Path, *rest: Any) -> Connection:
        if file not in held and file.exists():
            held[file] = open_file(file, *rest)
        return open_file(file, *rest)

    def release() -> None:
        while held:
            held.popitem()[1].close()

    def start(self: subprocess.Popen[Any], *command: Any, **options: Any) -> None:
        release()
        init(self, *command, **options)

    init = subprocess.Popen.__init__
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("matcher.store.database.opening.open_file", open_once)
        patch.setattr(subprocess.Popen, "__init__", start)
        yield
    release()


@pytest.fixture(scope="session")
def chromium() -> Path:
    """The installed Chromium. Without one a test is skipped by hand and fails in CI, never unseen there."""
    found = shutil.which("chromium")
    if found:
        return Path(found)
    reason = "needs a chromium on the PATH"
    if os.environ.get("BOLTBACK_REQUIRE_BROWSER"):
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """A PostgreSQL of the tests' own. Where none is installed a test is skipped by hand and fails in CI."""
    from tests.postgres import PASSWORD, programs, thrown_away

    if programs() is None:
        reason = "needs PostgreSQL's initdb and postgres, and openssl"
        if os.environ.get("BOLTBACK_REQUIRE_POSTGRES"):
            pytest.fail(reason)
        pytest.skip(reason)
    os.environ["PGPASSWORD"] = PASSWORD
    with thrown_away() as server:
        yield server


@pytest.fixture
def lend(postgres: Postgres) -> Iterator[Callable[[], str]]:
    with postgres.lent() as lend:
        yield lend


@pytest.fixture(scope="module")
def bench() -> Iterator[Bench]:
    """A store in memory, one for each file: what its tests lay into it stays among them."""
    made = Bench()
    yield made
    made.con.close()


@pytest.fixture
def stand() -> Callable[[Path], Path]:
    return lambda path: path


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Take to a chain the first case of each test alone, the others in a soak: there only the keeping differs."""
    begun: set[str] = set()
    for item in items:
        callspec, name = getattr(item, "callspec", None), item.nodeid.partition("[")[0]
        if callspec and callspec.params.get("stand") == "postgres":
            if name in begun:
                item.add_marker(pytest.mark.soak)
            begun.add(name)
