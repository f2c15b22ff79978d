"""The house holds: imports only point down, importing stays light, every public thing is documented."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
HEAVY = ("numba", "scipy.signal", "scipy.optimize", "typst", "sqlalchemy", "openpyxl", "shapely", "networkx")


def test_imports_only_point_down() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as run; run()"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "1 kept, 0 broken" in done.stdout


def test_the_command_starts_without_loading_what_it_does_not_need() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "import sys, fieldfare.cli.main; print(*sorted(sys.modules), sep='\\n')"],
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = set(done.stdout.split())
    assert "typer" in loaded
    assert not loaded & set(HEAVY)


def test_the_project_asks_for_what_the_lock_file_is_made_from() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    asked = {re.split(r"[\s>=<;]", line)[0] for line in project}
    lines = (ROOT / "requirements" / "run.in").read_text("utf-8").splitlines()
    locked = {line.split(";")[0].strip() for line in lines if line and not line.startswith("#")}
    assert locked - asked == {"hatchling", "editables"}, "which build the project itself"
    assert asked <= locked


@pytest.mark.parametrize("lock", ["run.lock", "test.lock"])
def test_every_locked_package_has_hashes_and_no_address(lock: str) -> None:
    text = (ROOT / "requirements" / lock).read_text("utf-8")
    packages = [block for block in text.split("\n") if "==" in block and not block.startswith(" ")]
    assert len(packages) > 20
    assert all(line.endswith("\\") for line in packages), "a package stands without a hash"
    assert "://" not in text
