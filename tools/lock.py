"""Renews the lock files from requirements/*.in; needs uv on the path (pipx install uv)."""

from __future__ import annotations

import subprocess
from pathlib import Path

FOLDER = Path(__file__).parent.parent / "requirements"

for name in ("run", "test"):
    subprocess.run(
        [
            "uv",
            "pip",
            "compile",
            "--universal",
            "--python-version",
            "3.11",
            "--generate-hashes",
            "--no-header",
            "--no-annotate",
            "--quiet",
            f"{name}.in",
            "--output-file",
            f"{name}.lock",
        ],
        cwd=FOLDER,
        check=True,
    )
