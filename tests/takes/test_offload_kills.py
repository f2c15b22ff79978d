"""An offload killed at any moment claims nothing that is not so, leaves no half file, and goes on from there."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("offload_killing.py")


def _run(*words: str) -> int:
    """Run the killing where the discs are quickest: it is the program that dies, not the machine."""
    if not hasattr(os, "fork"):
        pytest.skip("this system cannot double a process")
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        run = subprocess.run(
            [sys.executable, str(SCRIPT), *words, folder],
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        )
    assert run.returncode == 0, run.stderr
    return int(run.stdout)


@pytest.mark.slow
def test_killed_200_times_at_random_moments() -> None:
    assert _run("random", "200") >= 200


@pytest.mark.slow
def test_killed_around_every_call_to_the_system() -> None:
    assert _run("every") > 100
