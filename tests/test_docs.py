"""Docs cannot lie: every command in the README and in docs/ is run, in the order it stands on its page.

A block fenced as ``console`` holds lines that start with ``$ ``. Each page gets an empty folder. A command that should
end with another status than 0 or 1 says so in a comment at its end: ``# status 2``.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
BLOCK = re.compile(r"^```console\n(.*?)^```", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\((?!https?:|#|mailto:)([^)#\s]+)[^)]*\)")


def _commands(page: Path) -> list[str]:
    lines = "".join(BLOCK.findall(page.read_text("utf-8"))).splitlines()
    return [line[2:] for line in lines if line.startswith("$ ")]


@pytest.mark.parametrize("page", [page for page in PAGES if _commands(page)], ids=lambda page: page.stem)
def test_every_command_on_the_page_runs(page: Path, tmp_path: Path) -> None:
    for command in _commands(page):
        text, _, comment = command.partition("  # status ")
        words = shlex.split(text)
        if words[0] in ("python3", "py", "pipx", "git"):
            continue  # set-up from nothing: the continuous integration runs these themselves
        assert words[0] == "fieldfare", f"{page.name}: only fieldfare commands can be shown: {command}"
        done = subprocess.run(
            [sys.executable, "-m", "fieldfare", *words[1:]],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )
        expected = {int(comment)} if comment else {0, 1}
        assert done.returncode in expected, f"{page.name}: {command}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
        assert "Traceback" not in done.stderr + done.stdout
        long = [
            line
            for line in done.stdout.splitlines()
            if len(line) > 80 and "--json" not in command and "schema" not in command
        ]
        assert not long, f"{page.name}: {command}: wider than 80 columns: {long[0]}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_link_leads_somewhere(page: Path) -> None:
    for target in LINK.findall(page.read_text("utf-8")):
        assert (page.parent / target).exists(), f"{page.name} links to {target}"


def test_every_command_has_its_place_in_the_docs() -> None:
    from fieldfare.cli.main import app

    text = "".join(page.read_text("utf-8") for page in PAGES)
    names = [command.name or "" for command in app.registered_commands] + [
        group.name or "" for group in app.registered_groups
    ]
    assert len(names) >= 8
    for name in names:
        assert f"fieldfare {name}" in text, f"docs never show: fieldfare {name}"
