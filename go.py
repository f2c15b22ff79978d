#!/usr/bin/env python3
"""Sets everything up and does one job. Only Python 3.11 or newer is needed; the same on Linux, macOS and Windows.

python3 go.py demo [FOLDER]   set up, then plan, print, record, offload and check the demo show
python3 go.py test [ARGS]     set up what the tests need and pass them (ARGS go to pytest)
python3 go.py wheel           build dist/fieldfare-….whl, which pipx install takes
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
# Beyond Python packages, the tests use: a real browser, a real database server, a speech synthesiser,
# a media tool, a PDF reader.
DEBIAN = {
    "chromium": "chromium",
    "postgresql": "pg_lsclusters",
    "espeak-ng": "espeak-ng",
    "ffmpeg": "ffmpeg",
    "poppler-utils": "pdftoppm",
}


def tell(text: str) -> None:
    """Say what happens, at once."""
    print(text, flush=True)


def call(*words: str | Path, env: dict[str, str] | None = None) -> int:
    """Run a program of the virtual environment or the system from the project's folder and return its exit status."""
    return subprocess.call([str(word) for word in words], cwd=ROOT, env=env)


def need(*words: str | Path, env: dict[str, str] | None = None) -> None:
    """Run a program that must succeed."""
    status = call(*words, env=env)
    if status:
        sys.exit(f"go.py: this failed with status {status}: {' '.join(str(word) for word in words)}")


def set_up(which: str) -> None:
    """Make the virtual environment and install exactly what the lock file names, checked by hash."""
    lock = ROOT / "requirements" / f"{which}.lock"
    stamp = VENV / f"{which}.stamp"
    now = hashlib.sha256(lock.read_bytes() + (ROOT / "pyproject.toml").read_bytes() + str(ROOT).encode()).hexdigest()
    if PYTHON.exists() and stamp.exists() and stamp.read_text("utf-8") == now:
        return
    if sys.version_info < (3, 11):  # noqa: UP036  # this script meets any Python
        sys.exit(f"go.py: this is Python {sys.version.split()[0]}; run it with Python 3.11 or newer")
    if not PYTHON.exists():
        tell("Making a virtual environment in .venv")
        try:
            venv.create(VENV, with_pip=True, clear=True)
        except subprocess.CalledProcessError:
            sys.exit("go.py: Python's venv module is incomplete here; on Debian: apt install python3-venv")
    tell(f"Installing what requirements/{lock.name} names, each checked by its hash")
    pip = (PYTHON, "-m", "pip", "--disable-pip-version-check", "install", "--quiet")
    need(*pip, "--require-hashes", "--only-binary", ":all:", "-r", lock)
    need(*pip, "--no-deps", "--no-build-isolation", "--editable", ROOT)
    stamp.write_text(now, "utf-8")


def system_packages() -> None:
    """Install the Debian packages the tests use, where we are root on such a system; say what is missing elsewhere."""
    missing = [package for package, tool in DEBIAN.items() if shutil.which(tool) is None]
    if not missing:
        return
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        tell(f"Installing {', '.join(missing)}")
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        need("apt-get", "update", "-qq", env=quiet)
        need("apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing, env=quiet)
    else:
        tell(f"Not here: {', '.join(missing)}. The tests that need them are skipped and say so.")


def demo(arguments: list[str]) -> int:
    """Set up and run the main job on the demo show."""
    set_up("run")
    return call(PYTHON, "-m", "fieldfare", "demo", *arguments)


def test(arguments: list[str]) -> int:
    """Set up the tests and run every check; the first that fails decides the exit status."""
    set_up("test")
    system_packages()
    checks: list[tuple[str | Path, ...]] = [
        (PYTHON, "-m", "ruff", "format", "--check", "."),
        (PYTHON, "-m", "ruff", "check", "."),
        (PYTHON, "-m", "mypy"),
        (PYTHON, "-c", "from importlinter.cli import lint_imports_command as run; run()"),
        (PYTHON, "-m", "pytest", "-q", *(arguments or ["-n", "auto"])),
    ]
    for check in checks:
        status = call(*check)
        if status:
            return status
    return 0


def wheel(arguments: list[str]) -> int:
    """Build the wheel for users."""
    set_up("run")
    return call(PYTHON, "-m", "hatchling", "build", "-t", "wheel", *arguments)


if __name__ == "__main__":
    jobs = {"demo": demo, "test": test, "wheel": wheel}
    if len(sys.argv) < 2 or sys.argv[1] not in jobs:
        sys.exit(__doc__)
    sys.exit(jobs[sys.argv[1]](sys.argv[2:]))
