"""A mix under a picture: the picture bit for bit, the sound in time with it, in every container."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest
from takes.picture.stage import clicks_in, clip, frames_of

from fieldfare.takes.picture.clock import Clock
from fieldfare.takes.picture.lay import Mix, lay, on_device_clock
from fieldfare.takes.picture.media import SoundReader, probe
from fieldfare.takes.render.cameras import CameraSpec, write_clip
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import Fault

RATE_HZ = 48_000
CLICKS_S = (2.0, 5.5, 8.0)  # on the take
CLOCK = Clock(-1.25, 80.0)


def _mix(folder: Path, start: int = 0) -> Mix:
    sound = np.zeros((12 * RATE_HZ, 2), np.int32)
    for at in CLICKS_S:
        first = round(at * RATE_HZ) - start
        if 0 <= first < len(sound) - 96:
            sound[first : first + 96] = np.rint(0.7 * np.hanning(96)[:, None] * (1 << 23)).astype(np.int32)
    write_whole(folder / "mix.wav", RATE_HZ, 24, sound, 2)
    return Mix(folder / "mix.wav", start, "A song")


def _packets(path: Path) -> str:
    import av

    digest = sha256()
    with av.open(str(path)) as container:
        for packet in container.demux(container.streams.video[0]):
            digest.update(bytes(packet))
    return digest.hexdigest()


@pytest.mark.parametrize("rate", ["25", "30000/1001"])
@pytest.mark.parametrize("suffix", [".mp4", ".mov", ".mkv"])
def test_sound_is_read_at_its_place_in_every_container(tmp_path: Path, suffix: str, rate: str) -> None:
    """AAC in Matroska is where a program that counts samples from the start comes out 1024 samples late."""
    clip(tmp_path / f"a{suffix}", 10.0, rate, CLICKS_S)
    media = probe(tmp_path / f"a{suffix}")
    with SoundReader(media) as reader:
        whole = reader.read(0.0, media.length_s)
        part = reader.read(4.75, 2.0)
    assert clicks_in(whole, CLICKS_S) == pytest.approx([at + 48 / RATE_HZ for at in CLICKS_S], abs=0.0008)
    assert clicks_in(part, (0.75,)) == pytest.approx([0.75 + 48 / RATE_HZ], abs=0.0008)


@pytest.mark.parametrize("suffix", [".mp4", ".mov", ".mkv"])
def test_the_picture_is_the_same_and_the_sound_in_time(tmp_path: Path, suffix: str) -> None:
    source = tmp_path / f"a{suffix}"
    clip(source, 10.0, "25", ())
    before = sha256(source.read_bytes()).hexdigest()
    laid = lay(probe(source), CLOCK, _mix(tmp_path), tmp_path / f"b{suffix}", device="Camera", rate_hz=RATE_HZ)
    assert sha256(source.read_bytes()).hexdigest() == before, "originals are never touched"
    assert _packets(tmp_path / f"b{suffix}") == _packets(source) == laid.picture_sha256
    assert frames_of(tmp_path / f"b{suffix}") == list(range(250))
    media = probe(tmp_path / f"b{suffix}")
    with SoundReader(media) as reader:
        sound = reader.read(0.0, media.length_s)
    expected = [CLOCK.to_device(at + 48 / RATE_HZ) for at in CLICKS_S]
    assert clicks_in(sound, tuple(expected)) == pytest.approx(expected, abs=0.0008)
    assert not list(tmp_path.glob(".*part*"))


@pytest.mark.parametrize("suffix", [".mp4", ".mov", ".mkv"])
def test_a_song_begins_at_a_key_picture_with_its_sound_in_time(tmp_path: Path, suffix: str) -> None:
    source = tmp_path / f"a{suffix}"
    clip(source, 10.0, "25", ())
    clock = Clock(0.0, 0.0)
    laid = lay(
        probe(source),
        clock,
        _mix(tmp_path),
        tmp_path / f"s{suffix}",
        device="Camera",
        rate_hz=RATE_HZ,
        span_s=(5.0, 8.5),
    )
    numbers = frames_of(tmp_path / f"s{suffix}")
    assert numbers == list(range(laid.first_frame, laid.first_frame + len(numbers))), "no picture is missing"
    assert 0 <= laid.early_s <= 2.0
    assert laid.first_frame / 25 + laid.early_s == pytest.approx(5.0, abs=0.05)
    media = probe(tmp_path / f"s{suffix}")
    with SoundReader(media) as reader:
        sound = reader.read(0.0, media.length_s)
    at = 5.5 + 48 / RATE_HZ - laid.first_frame / 25
    assert clicks_in(sound, (at,)) == pytest.approx([at], abs=0.0015)


def test_timecode_goes_with_the_picture(tmp_path: Path) -> None:
    spec = CameraSpec("c", (0, 0, 0), "a.mov", 0, 10, frame_rate="25", timecode="10:00:00:00")
    write_clip(tmp_path / "a.mov", np.zeros(10 * RATE_HZ, np.float32), spec, np.zeros(250))
    laid = lay(
        probe(tmp_path / "a.mov"), Clock(0, 0), _mix(tmp_path), tmp_path / "b.mov", device="c", rate_hz=RATE_HZ,
        span_s=(5.0, 8.0),
    )  # fmt: skip
    assert probe(tmp_path / "b.mov").timecode == f"10:00:{laid.first_frame // 25:02d}:{laid.first_frame % 25:02d}"


def test_a_clock_with_corners_is_followed(tmp_path: Path) -> None:
    clock = Clock(0.0, 10.0, ((0.0, 0.0), (4.0, 0.002), (12.0, -0.002)))
    sound = np.concatenate(list(on_device_clock(_mix(tmp_path), clock, 0.0, 11.0, RATE_HZ)))
    assert len(sound) == 11 * RATE_HZ
    expected = [clock.to_device(at + 48 / RATE_HZ) for at in CLICKS_S]
    assert clicks_in(sound[:, 0], tuple(expected)) == pytest.approx(expected, abs=0.0001)


def test_what_cannot_be_laid_is_told_and_leaves_nothing(tmp_path: Path) -> None:
    clip(tmp_path / "a.mp4", 6.0, "25", ())
    media, mix = probe(tmp_path / "a.mp4"), _mix(tmp_path)
    with pytest.raises(Fault, match="was not running then"):
        lay(media, CLOCK, mix, tmp_path / "b.mp4", device="c", rate_hz=RATE_HZ, span_s=(100.0, 110.0))
    with pytest.raises(Fault, match="not a stereo mix at 44100 Hz"):
        lay(media, CLOCK, mix, tmp_path / "b.mp4", device="c", rate_hz=44_100)
    with pytest.raises(Fault, match="pictures of this kind"):
        lay(media, CLOCK, mix, tmp_path / "b.xyz", device="c", rate_hz=RATE_HZ)
    with pytest.raises(Fault, match="has no pictures"):
        lay(probe(mix.path), CLOCK, mix, tmp_path / "b.mp4", device="c", rate_hz=RATE_HZ)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.mp4", "mix.wav"]
