"""What a shop installs: the three packages with their data files, and nothing else."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from zipfile import ZipFile

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("matcher", "catalog_schema", "data_demo")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> ZipFile:
    folder = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    built = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert built.returncode == 0, built.stderr
    [path] = folder.glob("*.whl")
    return ZipFile(path)


def in_tree(pattern: str) -> set[str]:
    """The files of the packages that match, as the wheel would name them."""
    return {
        path.relative_to(ROOT).as_posix()
        for package in PACKAGES
        for path in (ROOT / package).rglob(pattern)
        if path.is_file() and "__pycache__" not in path.parts
    }


def in_wheel(wheel: ZipFile) -> set[str]:
    """The files of the wheel beside its own description of itself."""
    return {name for name in wheel.namelist() if ".dist-info/" not in name}


def test_it_holds_the_packages_and_nothing_else(wheel: ZipFile) -> None:
    assert in_wheel(wheel) == in_tree("*")


def test_it_installs_the_command_and_its_license(wheel: ZipFile) -> None:
    [entry_points] = (name for name in wheel.namelist() if name.endswith("/entry_points.txt"))
    assert "boltback = matcher.commands:main" in wheel.read(entry_points).decode()
    assert any(name.endswith("/licenses/LICENSE") for name in wheel.namelist())
