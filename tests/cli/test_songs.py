"""fieldfare songs as a user runs it, on a small night of noise: a folder alone, a document changed by hand, cuts."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from sheets import pdf
from takes.songs.night import NAMES, RATE_HZ, play_night

from fieldfare.show.cuts import SongsReport


def _run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "fieldfare", "songs", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("night")
    play_night(folder / "card")
    (folder / "set.csv").write_text("title,length\nOne,0:18\nTwo,0:23\nThree,0:33\n", "utf-8")
    return folder


def test_a_folder_is_told_in_80_columns_cut_and_printed(night: Path) -> None:
    done = _run(night / "card", "--set-list", night / "set.csv", "--document", night / "songs.toml",
                "--cut-to", night / "cuts", "--pdf", night / "paper", "--paper", "letter",
                "--language", "de")  # fmt: skip
    assert done.returncode in (0, 1), done.stderr
    assert all(len(line) <= 80 for line in done.stdout.splitlines())
    assert "Three" in done.stdout
    assert "Titel und Schnitte" in pdf.all_words((night / "paper" / "songs.pdf").read_bytes())
    assert pdf.sizes_mm((night / "paper" / "songs.pdf").read_bytes()) == {pdf.LETTER_MM}
    assert len(list((night / "cuts").rglob("*.wav"))) == 3 * len(NAMES)
    document = night / "songs.toml"
    start = next(line for line in document.read_text("utf-8").splitlines() if line.startswith("start = "))
    document.write_text(document.read_text("utf-8").replace(f"\n{start}\n", '\nstart = "0:00:09.5"\n', 1), "utf-8")
    again = _run(night / "card", "--document", document, "--as-written", "--json", "--cut-to", night / "again")
    report = SongsReport.model_validate(json.loads(again.stdout))
    assert report.song[0].start == round(9.5 * RATE_HZ)
    assert report.song[0].start_s == 9.5
    assert report.song[0].by_hand == ("start",)
    assert report.cut is not None
    assert report.cut.piece[0].start == round(7.5 * RATE_HZ)


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("nowhere",), 2, "nowhere"),
        (("card", "--set-list", "nowhere.csv"), 2, "nowhere.csv"),
        (("card", "--as-written"), 2, "there is no songs document yet"),
        (("card", "--as-written", "--pdf", "x"), 2, "does not listen"),
        (("card", "--recordings", "card"), 2, "--recordings goes with a show"),
        (("card", "--cut-to", "card"), 3, "something is there already"),
    ],
)
def test_a_wrong_request_gets_one_sentence(night: Path, words: tuple[str, ...], status: int, says: str) -> None:
    done = _run(*(night / word if word in ("card", "nowhere", "x") else word for word in words))
    assert done.returncode == status, done.stdout + done.stderr
    assert says in done.stderr
    assert len(done.stderr.splitlines()) == 1
