"""Cutting, shifting and packing killed at any moment leave no half under a final name, and go on from there."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("killing.py")


@pytest.mark.parametrize(("kind", "kills"), [("cut", 8), ("shift", 8), ("parcel", 4)])
def test_killed_at_random_moments(kind: str, kills: int) -> None:
    if not hasattr(os, "fork"):
        pytest.skip("this system cannot double a process")
    memory = Path("/dev/shm")  # it is the program that dies, not the machine
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        run = subprocess.run(
            [sys.executable, str(SCRIPT), kind, str(kills), folder],
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        )
    assert run.returncode == 0, run.stderr
    killed, gone_on = map(int, run.stdout.split())
    assert killed >= kills
    assert gone_on > 0
