"""What tests of more than one file share."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

os.environ["BOLTBACK_BY"] = "tests"  # who does what no test names anybody for


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
