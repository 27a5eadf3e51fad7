"""Twenty counters on one page for a minute: how much they get done, and that nothing of it is lost.

Run it by hand: python tests/bench/bench_counters.py [seconds]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.factories import demo_shop
from tests.web.conftest import start, stop
from tests.web.counters import lost, work

COUNTERS = 20
SECONDS = 60.0


def main() -> None:
    """Let them work, and say what came of it."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else SECONDS
    with tempfile.TemporaryDirectory() as folder:
        shop = demo_shop(Path(folder) / "shop.duckdb")
        page = start(shop.store.path)
        try:
            until = time.monotonic() + seconds
            counters = work(page, COUNTERS, lambda counter: time.monotonic() < until)
            gone, wrong = lost(page, counters), [line for counter in counters for line in counter.wrong]
        finally:
            said = stop(page)
        done = sum(counter.done for counter in counters)
        print(f"{COUNTERS} counters, {seconds:g} s: {done} turns, {done / seconds:.1f} a second")
        print(f"lost: {gone or 'nothing'}; errors: {wrong[:3] or 'none'}; the page said: {said.strip() or 'nothing'}")
        sys.exit(bool(gone or wrong))


if __name__ == "__main__":
    main()
