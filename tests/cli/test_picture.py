"""fieldfare picture as a user runs it, on a small rendered show: found, laid under, listed; wrong requests told."""

from __future__ import annotations

import json
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest
from sheets import pdf
from takes.picture.stage import rendered

from fieldfare.show.picture import PictureReport
from fieldfare.show.songs import Song, SongBook, TakeSongs, write_songs
from fieldfare.takes.render.truth import TrueCamera
from fieldfare.takes.wave import write_whole


def _run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "fieldfare", "picture", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)


@pytest.fixture(scope="module")
def show(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, TrueCamera]]:
    folder = tmp_path_factory.mktemp("show")
    axis, true = rendered(folder)
    write_whole(folder / "mix.wav", axis.rate_hz, 24, np.zeros((axis.frames, 2), np.int32), 2)
    songs = (Song(title="A song", start=20 * axis.rate_hz, end=35 * axis.rate_hz),)
    take = TakeSongs(take=axis.name, rate_hz=axis.rate_hz, frames=axis.frames, song=songs)
    write_songs(folder / "songs.toml", SongBook(take=(take,)))
    return folder, true


def test_cameras_are_found_laid_under_and_listed(show: tuple[Path, dict[str, TrueCamera]]) -> None:
    folder, true = show
    cameras = [word for name in ("Camera 1", "Recorder") for word in ("--camera", f"{name}={folder / true[name].file}")]
    what = {"mix": "mix.wav", "document": "songs.toml", "lay-to": "laid", "edit-to": "edits", "pdf": "paper"}
    what |= {"onto-take": "onto"}
    options = [part for name, path in what.items() for part in (f"--{name}", folder / path)]
    done = _run(folder / "card", *cameras, *options, "--paper", "letter", "--language", "de", "--json")
    assert done.returncode in (0, 1), done.stdout + done.stderr
    report = PictureReport.model_validate(json.loads(done.stdout)["take"][0])
    for device in report.device:
        one = true[device.name]
        late = [arrival.late_s for arrival in one.arrival if "Audience" not in arrival.sound]
        assert device.clip[0].found
        assert min(late) - 0.006 <= one.offset_s - device.clip[0].offset_s <= max(late) + 0.001
    (laid,) = report.laid
    assert laid.picture_sha256 == _packets(folder / "laid" / laid.file, laid.first_frame, laid.frames)
    assert laid.picture_sha256 == _packets(folder / true["Camera 1"].file, laid.first_frame, laid.frames)
    assert "Später gehört als das Mittel" in pdf.all_words((folder / "paper" / "picture.pdf").read_bytes())
    assert pdf.sizes_mm((folder / "paper" / "picture.pdf").read_bytes()) == {pdf.LETTER_MM}
    assert sorted(path.suffix for path in (folder / "edits").iterdir()) == [".edl", ".otio"]
    assert [path.name for path in (folder / "onto").iterdir()] == ["recorder-four.wav"]


def _packets(path: Path, first: int, count: int) -> str:
    """Hash of the picture's packets from the frame it was cut at on."""
    import av

    digest, left = sha256(), count
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        packets = [packet for packet in container.demux(stream) if packet.size]
        skip = first if len(packets) > count else 0
        for packet in packets[skip:]:
            if left:
                digest.update(bytes(packet))
                left -= 1
    return digest.hexdigest()


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("--camera", "Camera 1=nowhere.mp4"), 2, "no such file or folder"),
        (("--camera", "=x.mp4"), 2, "names no camera"),
        (("--camera", f"{'x' * 201}=card"), 2, "names no camera"),
        (("--camera", "A=card", "--camera", "A=card"), 2, "two cameras are called A"),
        (("--camera", "A=card", "--lay-to", "x"), 2, "there is no mix"),
        (("--camera", "A=card", "--take", "another"), 2, "there is no take another"),
        ((), 2, "camera"),
    ],
)
def test_a_wrong_request_gets_one_sentence(
    show: tuple[Path, dict[str, TrueCamera]], words: tuple[str, ...], status: int, says: str
) -> None:
    done = _run(show[0] / "card", *words)
    assert done.returncode == status
    assert says in done.stderr
    assert len(done.stderr.splitlines()) == 1
