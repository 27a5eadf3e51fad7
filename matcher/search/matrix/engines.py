"""Engines that run the tasks of a matrix: this process, or an existing cluster."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from typing import Any, Protocol

from matcher.errors import InputError
from matcher.search.matrix.task import matrix_task

SCHEME = "dask://"
MOST_AT_ONCE = 8
"""Number of concurrent tasks in one process: each takes half a gigabyte if a family has a million parts."""


class Engine(Protocol):
    """Runs tasks and reports each one that is done."""

    def run(self, left: Sequence[int], tasks: int, snapshot: str, out: str) -> Iterator[str]:
        """Run some of the tasks, and yield the file of each when it is complete."""
        ...


class ThisProcess:
    """Runs as many tasks at once as this machine has processors."""

    def run(self, left: Sequence[int], tasks: int, snapshot: str, out: str) -> Iterator[str]:
        with ThreadPoolExecutor(min(os.cpu_count() or 1, MOST_AT_ONCE)) as pool:
            running = [pool.submit(matrix_task, task, tasks, snapshot, out) for task in left]
            try:
                for done in as_completed(running):
                    yield done.result()
            finally:
                pool.shutdown(cancel_futures=True)


class OnDask:
    """Runs tasks on the workers of a Dask scheduler, which need this package and the matrix folder at the same path."""

    def __init__(self, address: str) -> None:
        self.address = address

    def run(self, left: Sequence[int], tasks: int, snapshot: str, out: str) -> Iterator[str]:
        distributed = _distributed()
        address = f"tcp://{self.address.removeprefix(SCHEME)}"
        try:
            client = distributed.Client(address, timeout="10s")
        except (OSError, TimeoutError) as error:
            raise InputError(
                f"no Dask scheduler answers at {self.address}: {error}", fix="start one, then its workers"
            ) from None
        with client:
            futures = client.map(matrix_task, left, tasks=tasks, snapshot=snapshot, out=out, pure=False, retries=3)
            try:
                for _, path in distributed.as_completed(futures, with_results=True):
                    yield path
            except Exception as error:  # whatever a worker, or the way to it, died of
                raise InputError(
                    f"a task failed on {self.address}: {type(error).__name__}: {error}",
                    fix="see that the workers have boltback and reach the folder; then again: what is done is kept",
                ) from error


def _distributed() -> Any:
    try:
        import distributed
    except ImportError:
        raise InputError("Dask is not installed here", fix="pip install 'boltback[dask]'") from None
    return distributed


def engine_of(on: str | Engine | None) -> Engine:
    """Return the engine named by ``--on`` or given as an object; this process by default.

    Raises
    ------
    InputError
        if the name is not that of an engine.
    """
    if on is None:
        return ThisProcess()
    if not isinstance(on, str):
        return on
    if not on.startswith(SCHEME) or not on.removeprefix(SCHEME):
        raise InputError(f"--on {on}: no engine that we know", fix="write --on dask://HOST:PORT")
    return OnDask(on)
