"""What if, as a user asks it: real processes on a show of six inputs."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from shutil import copytree

import pytest

from fieldfare.show.whatif import Outcome, WhatIf

DUO = Path(__file__).parents[2] / "examples" / "bookshop-duo"


def _run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "fieldfare", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)


@pytest.fixture(scope="module")
def duo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("whatif") / "duo"
    copytree(DUO, folder)
    return folder


def test_all_failures_are_told_in_80_columns_the_worst_first(duo: Path) -> None:
    done = _run("whatif", duo)
    assert done.returncode == 1, done.stderr
    assert all(len(line) <= 80 for line in done.stdout.splitlines())
    heads = ["Alone loses a must", "Loses something else", "Recording stops until that is done", "Nothing is lost"]
    places = [done.stdout.index(head) for head in heads if head in done.stdout]
    assert len(places) >= 3
    assert places == sorted(places)
    assert " REC-1: " in done.stdout


def test_the_same_as_json(duo: Path) -> None:
    found = WhatIf.model_validate(json.loads(_run("whatif", duo, "--json").stdout))
    assert found.single_points[0].outcome[0].dead == ("REC-1",)
    assert sum(len(one.outcome) for one in found.failure) == found.tried


def test_what_has_died_is_planned_again(duo: Path) -> None:
    done = _run("whatif", duo, "--dead", "channel 2", "--json")
    outcome = Outcome.model_validate(json.loads(done.stdout))
    assert outcome.dead == ("channel 2",)
    assert done.returncode == (1 if outcome.lost else 0)
    said = _run("whatif", duo, "--dead", "channel 2")
    assert "no plan that keeps as much has fewer" in said.stdout


def test_what_is_not_there_is_one_sentence_and_status_2(duo: Path) -> None:
    done = _run("whatif", duo, "--dead", "M-999")
    assert done.returncode == 2
    assert done.stderr.startswith("what is dead: nothing is called 'M-999'; ")
    assert len(done.stderr.strip().splitlines()) == 1


def test_the_sheet_is_printed_where_it_is_asked_for(duo: Path, tmp_path: Path) -> None:
    done = _run("sheets", duo, "--to", tmp_path, "--whatif")
    assert done.returncode in (0, 1), done.stderr
    assert (tmp_path / "whatif.pdf").read_bytes().startswith(b"%PDF")


def test_what_is_done_then_is_told_in_german(duo: Path) -> None:
    done = _run("whatif", duo, "--language", "de")
    assert all(len(line) <= 80 for line in done.stdout.splitlines())
    words = " ".join(done.stdout.split())
    for said in ("was wäre wenn; Plan der Revision", "Kostet allein ein Muss REC-1: ", "Nichts ersetzt es. Verloren: ",
                 "Die Aufnahme steht, bis das getan ist", "Phantom an", "gleiche Leitung"):  # fmt: skip
        assert said in words
    assert not re.search(r"\b(the|lay|into|instead|lost|nothing|socket|same)\b", words, re.IGNORECASE)
