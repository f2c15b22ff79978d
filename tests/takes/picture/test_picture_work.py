"""What is written for several cameras: names that no two share, that fit a system and lead back to their clips."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from urllib.parse import unquote_to_bytes, urlparse

import numpy as np
import pytest
from takes.picture.stage import clip, frames_of

from fieldfare.show.picture import Clip, Device, PictureReport
from fieldfare.takes.picture.lay import Mix
from fieldfare.takes.picture.media import SoundReader, clip_name, media_files, probe
from fieldfare.takes.picture.work import Camera, Pictures, lay_mixes, write_edits
from fieldfare.takes.rough.choose import Stretch
from fieldfare.takes.wave import write_whole

RATE_HZ = 48_000
SECONDS = 5.0
NO_TEXT = os.fsdecode(b"caf\xe9")


def _found(path: Path, root: Path) -> Clip:
    return Clip(
        file=clip_name(path, root), found=True, start_s=0.0, end_s=SECONDS, length_s=SECONDS, picture_rate="25",
        frames=int(25 * SECONDS),
    )  # fmt: skip


def _pictures(folder: Path, roots: dict[str, Path], songs: tuple[str, ...] = ()) -> Pictures:
    """A take of five seconds with clips that fill it, and a mix."""
    mix = folder / "mix.wav"
    frames = int(SECONDS * RATE_HZ)
    write_whole(mix, RATE_HZ, 24, np.zeros((frames, 2), np.int32), 2)
    devices = [
        Device(name=name, clip=tuple(_found(path, root) for path in media_files(root))) for name, root in roots.items()
    ]
    report = PictureReport(take="A take", rate_hz=RATE_HZ, frames=frames, device=tuple(devices))
    cameras = tuple(Camera(name, root) for name, root in roots.items())
    return Pictures(report, cameras, (Mix(mix, 0, "mix"),), tuple(Stretch(title, 0, frames) for title in songs))


def test_two_cameras_that_count_alike_keep_their_own_files(tmp_path: Path) -> None:
    """Cameras of one make all write a first clip of one name; songs and clips may be called alike as well."""
    roots = {"Left": tmp_path / "left", "left!": tmp_path / "right"}
    for place, root in enumerate(roots.values()):
        root.mkdir()
        clip(root / "C0001.mp4", SECONDS, "25", (1.0 + place,))
    pictures = _pictures(tmp_path, roots, ("A song", "A song"))
    done = lay_mixes(pictures, tmp_path / "laid")
    names = [one.file for one in done.laid]
    assert len(set(names)) == len(names) == 4
    assert sorted(path.name for path in (tmp_path / "laid").glob("*.mp4")) == sorted(names)
    edits = [Path(file) for file in write_edits(pictures, tmp_path / "edits", "Show").edit]
    assert [path.name for path in edits] == ["show.otio", "show-left.edl", "show-left-2.edl"]
    tracks = json.loads(edits[0].read_text("utf-8"))["tracks"]["children"][:2]
    urls = [{one["media_references"]["DEFAULT_MEDIA"]["target_url"] for one in track["children"]} for track in tracks]
    assert urls == [{(root / "C0001.mp4").resolve().as_uri()} for root in roots.values()]


def test_long_names_are_shortened_each_by_its_share(tmp_path: Path) -> None:
    root = tmp_path / "camera"
    root.mkdir()
    clip(root / f"{'Z' * 200}.mp4", SECONDS, "25", (1.0,))
    pictures = _pictures(tmp_path, {("Κάμερα " * 28).strip(): root}, ("歌" * 200,))
    (laid,) = lay_mixes(pictures, tmp_path / "laid").laid
    assert laid.file.startswith("01-歌")
    assert "κάμερα" in laid.file
    assert "zzz" in laid.file
    assert len(laid.file.encode()) <= 255
    assert all(
        len(Path(file).name.encode()) <= 255 for file in write_edits(pictures, tmp_path / "edits", "歌" * 200).edit
    )


@pytest.mark.skipif(sys.platform != "linux", reason="names are text there")
def test_a_clip_whose_name_is_no_text_is_read_laid_and_listed(tmp_path: Path) -> None:
    root = tmp_path / NO_TEXT
    root.mkdir()
    clip(tmp_path / "plain.mp4", SECONDS, "25", (1.0,))
    (tmp_path / "plain.mp4").rename(root / f"{NO_TEXT}.mp4")
    (path,) = media_files(root)
    with SoundReader(probe(path)) as reader:
        assert abs(reader.read(0.9, 0.2)).max() > 0.5
    pictures = _pictures(tmp_path, {"Camera": root})
    assert pictures.report.device[0].clip[0].file == r"caf\xe9.mp4"
    (laid,) = lay_mixes(pictures, tmp_path / "laid").laid
    assert frames_of(tmp_path / "laid" / laid.file) == list(range(int(25 * SECONDS)))
    (timeline, _) = write_edits(pictures, tmp_path / "edits", "Show").edit
    (track, _) = json.loads(Path(timeline).read_text("utf-8"))["tracks"]["children"]
    url = track["children"][0]["media_references"]["DEFAULT_MEDIA"]["target_url"]
    assert os.fsdecode(unquote_to_bytes(urlparse(url).path)) == str(path.resolve())
