"""The house holds: imports only point down, importing stays light, every public thing is documented."""

from __future__ import annotations

import subprocess
import sys
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


@pytest.mark.parametrize("lock", ["run.lock", "test.lock"])
def test_every_locked_package_has_hashes_and_no_address(lock: str) -> None:
    text = (ROOT / "requirements" / lock).read_text("utf-8")
    packages = [block for block in text.split("\n") if "==" in block and not block.startswith(" ")]
    assert len(packages) > 20
    assert all(line.endswith("\\") for line in packages), "a package stands without a hash"
    assert "http" not in text
