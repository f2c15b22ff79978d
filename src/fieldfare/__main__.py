"""Run as ``python -m fieldfare``."""

from fieldfare.cli.main import run

if __name__ == "__main__":
    run()
