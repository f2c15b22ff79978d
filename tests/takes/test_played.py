"""The level of a file that somebody will play, against sounds whose level is known and against another reader."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from fieldfare.takes.played import COLUMNS, level_of
from fieldfare.takes.wave import write
from fieldfare.units.faults import Fault

RATE_HZ = 48_000


def _sine(level_dbfs: float, seconds: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """A sine of that level: one that reaches full scale reads 0 dBFS rms (AES17)."""
    return 10 ** (level_dbfs / 20) * np.sin(2 * np.pi * 1000 * np.arange(round(seconds * RATE_HZ)) / RATE_HZ)


@pytest.mark.parametrize(("form", "apart"), [("PCM_16", 0.1), ("PCM_24", 0.1), ("FLOAT", 0.1)])
def test_a_sine_reads_its_level_where_it_sounds_and_silence_nothing(form: str, apart: float, tmp_path: Path) -> None:
    sound = np.concatenate([_sine(-20, 4), np.zeros(4 * RATE_HZ), _sine(-6, 2)])
    soundfile.write(tmp_path / "a.wav", np.stack([sound, sound], axis=1), RATE_HZ, form)
    level = level_of(tmp_path / "a.wav", columns=10)
    assert (level.frames, level.seconds, level.course.frames) == (10 * RATE_HZ, 10.0, RATE_HZ)
    expected = [-20.0] * 4 + [None] * 4 + [-6.0] * 2
    for heard in (level.course.rms_dbfs, level.course.peak_dbfs):
        assert [one is None for one in heard] == [one is None for one in expected]
        assert [one for one in heard if one is not None] == pytest.approx([-20] * 4 + [-6] * 2, abs=apart)
    assert level.peak_dbfs == pytest.approx(-6, abs=apart)


def test_one_channel_that_is_silent_halves_the_power_and_leaves_the_peak(tmp_path: Path) -> None:
    sound = _sine(-10, 1)
    soundfile.write(tmp_path / "a.flac", np.stack([sound, 0 * sound], axis=1), RATE_HZ, "PCM_24")
    level = level_of(tmp_path / "a.flac", columns=1)
    assert level.course.rms_dbfs == pytest.approx([-13.0], abs=0.1)  # 10 lg 2 = 3.01 dB less
    assert level.course.peak_dbfs == pytest.approx([-10.0], abs=0.1)


@pytest.mark.parametrize("frames", [1, 2399, 2401, RATE_HZ * 9 + 7])
def test_every_column_is_what_another_reader_finds_in_its_samples(frames: int, tmp_path: Path) -> None:
    dice = np.random.default_rng(frames)
    samples = dice.integers(-(1 << 22), 1 << 22, (frames, 3)).astype(np.int32)
    with write(tmp_path / "a.wav", RATE_HZ, 24, 3) as file:
        file.write(samples)
    level = level_of(tmp_path / "a.wav")
    read, _ = soundfile.read(tmp_path / "a.wav", always_2d=True)
    assert len(level.course.peak_dbfs) <= COLUMNS
    for place, (peak, rms) in enumerate(zip(level.course.peak_dbfs, level.course.rms_dbfs, strict=True)):
        part = read[place * level.course.frames : (place + 1) * level.course.frames]
        assert peak == pytest.approx(20 * np.log10(np.abs(part).max()), abs=0.06)
        assert rms == pytest.approx(10 * np.log10(2 * np.mean(part**2)), abs=0.06)


@pytest.mark.parametrize("name", ["a.mp3", "a.m4a"])
def test_what_is_packed_with_loss_is_heard_too(name: str, tmp_path: Path) -> None:
    if shutil.which("ffmpeg") is None:
        pytest.skip("ffmpeg is not installed")
    soundfile.write(tmp_path / "a.wav", _sine(-20, 3), RATE_HZ, "PCM_24")
    subprocess.run(["ffmpeg", "-v", "error", "-i", "a.wav", "-b:a", "192k", name], cwd=tmp_path, check=True)
    decoded = ["ffmpeg", "-v", "error", "-i", name, "-f", "f32le", "-"]
    other = np.frombuffer(subprocess.run(decoded, cwd=tmp_path, check=True, capture_output=True).stdout, np.float32)
    level = level_of(tmp_path / name, columns=3)
    assert level.seconds == pytest.approx(3, abs=0.1)
    middle = other[len(other) // 2 - RATE_HZ // 4 : len(other) // 2 + RATE_HZ // 4]
    assert level.course.rms_dbfs[1] == pytest.approx(10 * np.log10(2 * np.mean(middle**2)), abs=0.06)


@pytest.mark.parametrize(("name", "says"), [("a.wav", "render it again"), ("a.mp3", "cannot be decoded")])
def test_what_is_no_sound_is_a_fault(name: str, says: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(b"no sound at all" * 9)
    with pytest.raises(Fault, match=says):
        level_of(tmp_path / name)
