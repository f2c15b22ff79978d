"""The program's start: as the command that is installed, or as ``python -m fieldfare``."""

from __future__ import annotations

import sys

from fieldfare import STOPPED_BY_HAND


def run() -> None:
    """Load the commands and run one; Ctrl+C while they are loaded is told as it is later."""
    try:
        from fieldfare.cli.main import run as run_command
    except KeyboardInterrupt:
        print(STOPPED_BY_HAND, file=sys.stderr)  # noqa: T201
        sys.exit(3)
    run_command()


if __name__ == "__main__":
    run()
