"""fieldfare align and fieldfare rough as a user runs them, on a small stage: told, offered, applied, mixed, refused."""

from __future__ import annotations

import json
import subprocess
import sys
from importlib.resources import as_file, files
from pathlib import Path
from shutil import copytree

import pyloudnorm
import pytest
import soundfile
from sheets import pdf
from takes.alignment.hall import MICS, record

from fieldfare.show.alignment import Alignment, ShiftReport
from fieldfare.show.mix import read_mix


def _run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "fieldfare", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("hall")
    record(folder / "card", turned=("Fiddle mic",))
    lines = [
        f"{number},{source},{label},{'DI' if taking == 'di' else 'small condenser'},{at[0]},{at[1]},{at[2]}"
        for number, (label, (source, at, _, taking)) in enumerate(MICS.items(), 1)
    ]
    (folder / "inputs.csv").write_text("channel,source,title,kind,x,y,z\n" + "\n".join(lines) + "\n", "utf-8")
    return folder


def test_delays_are_told_in_80_columns_offered_and_applied(hall: Path) -> None:
    done = _run("align", hall / "card", "--inputs", hall / "inputs.csv", "--offer", hall / "shifts.toml",
                "--pdf", hall / "paper", "--paper", "letter", "--language", "de")  # fmt: skip
    assert done.returncode == 1, done.stderr
    assert all(len(line) <= 80 for line in done.stdout.splitlines())
    assert "Fiddle mic: upside down against" in done.stdout
    assert "apply  Fiddle DI" in done.stdout
    assert "Laufzeit und Polarität" in pdf.all_words((hall / "paper" / "alignment.pdf").read_bytes())
    assert pdf.sizes_mm((hall / "paper" / "alignment.pdf").read_bytes()) == {pdf.LETTER_MM}
    applied = _run("align", hall / "card", "--shifts", hall / "shifts.toml", "--to", hall / "new", "--json")
    report = ShiftReport.model_validate(json.loads(applied.stdout))
    assert {(one.track, one.flip) for one in report.file} == {("Fiddle DI", False), ("Fiddle mic", True)}
    assert all((hall / "new" / one.file).is_file() for one in report.file)
    measured = Alignment.model_validate(json.loads(_run("align", hall / "card", "--json").stdout))
    (pair,) = (one for one in measured.take[0].pair if one.kind == "DI and mic")
    assert (pair.a, pair.b, pair.polarity) == ("Fiddle DI", "Fiddle mic", -1)


def test_a_mix_is_as_loud_as_asked_and_rendered_again_from_its_sheet(hall: Path) -> None:
    """Loudness by an independent library, pyloudnorm."""
    listed = (
        'take = "card"\nrate_hz = 48000\n[[shift]]\ntrack = "Fiddle DI"\napply = true\nsamples = 39.6\nflip = true\n'
    )
    (hall / "by-hand.toml").write_text(listed, "utf-8")
    done = _run("rough", hall / "card", "--to", hall / "rough", "--loudness", "-23", "--shifts", hall / "by-hand.toml")
    assert done.returncode in (0, 1), done.stderr
    assert all(len(line) <= 80 for line in done.stdout.splitlines())
    (mix,) = (hall / "rough").glob("*.wav")
    sound, rate_hz = soundfile.read(mix)
    assert pyloudnorm.Meter(rate_hz).integrated_loudness(sound) == pytest.approx(-23, abs=0.1)
    sheet = hall / "rough" / "mix.toml"
    text = sheet.read_text("utf-8")
    sheet.write_text(text.replace('label = "Voice"\n', 'label = "Voice"\nmute = true\n', 1), "utf-8")
    again = _run("rough", hall / "card", "--sheet", sheet, "--to", hall / "again", "--form", "flac", "--json", "--pdf",
                 "--paper", "letter", "--language", "de")  # fmt: skip
    (report,) = json.loads(again.stdout)["mix"]
    assert [one["format"] for one in report["file"]] == ["flac"]
    assert "LU zum Leadgesang" in pdf.all_words((hall / "again" / "mix.pdf").read_bytes())
    assert pdf.sizes_mm((hall / "again" / "mix.pdf").read_bytes()) == {pdf.LETTER_MM}
    tracks = {track.label: track for track in read_mix(sheet).track}
    assert tracks["Voice"].mute
    assert (tracks["Fiddle DI"].shift, tracks["Fiddle DI"].flip) == (40, True)


def test_the_mixes_of_a_show_go_where_its_parcels_look_for_them(hall: Path, tmp_path: Path) -> None:
    with as_file(files("fieldfare.show") / "demo") as documents:
        show = copytree(documents, tmp_path / "show")
    (show / "roughs").mkdir()
    (show / "roughs" / "mix.toml").write_text("# mine\n", "utf-8")
    done = _run("rough", show, "--recordings", hall / "card")
    assert done.returncode == 3, done.stderr
    assert "roughs: a mix sheet lies there already" in done.stderr


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("align", "nowhere"), 2, "nowhere"),
        (("align", "card", "--shifts", "shifts.toml"), 2, "--shifts and --to go together"),
        (("align", "card", "--take", "other"), 2, "there is no take other"),
        (("align", "card", "--inputs", "nowhere.csv"), 2, "nowhere.csv"),
        (("rough", "card"), 2, "--to: there is no show to keep the mixes in; name a folder for them"),
        (("rough", "card", "--to", "mixes", "--form", "ogg"), 2, "there is no form ogg"),
        (("rough", "card", "--to", "mixes", "--sheet", "nowhere.toml"), 2, "nowhere.toml"),
        (("rough", "card", "--to", "card/inside/../../kept"), 3, "a mix sheet lies there already"),
    ],
)
def test_a_wrong_request_gets_one_sentence(hall: Path, words: tuple[str, ...], status: int, says: str) -> None:
    (hall / "kept").mkdir(exist_ok=True)
    (hall / "kept" / "mix.toml").write_text("# mine\n", "utf-8")
    (hall / "card" / "inside").mkdir(exist_ok=True)
    paths = ("card", "mixes", "nowhere", "shifts.toml", "nowhere.csv", "nowhere.toml", "card/inside/../../kept")
    done = _run(*(hall / word if word in paths else word for word in words))
    assert (done.returncode, done.stdout) == (status, ""), done.stderr
    assert says in done.stderr
    assert (hall / "kept" / "mix.toml").read_text("utf-8") == "# mine\n"
