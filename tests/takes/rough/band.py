"""A little take made here: a few tracks whose sounds, levels and times are known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.drawn import DrawnInput
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.wave import write_whole

Sound = NDArray[np.float64]
RATE_HZ = 48_000


def noise(seconds: float, level_dbfs: float, seed: int, rate_hz: int = RATE_HZ) -> Sound:
    """Noise with the slope of music; its rms against that of a full-scale sine."""
    rng = np.random.default_rng(seed)
    count = round(seconds * rate_hz)
    spectrum = np.fft.rfft(rng.standard_normal(count))
    spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
    spectrum[0] = 0
    wave = np.fft.irfft(spectrum, count)
    return np.asarray(wave * 10 ** (level_dbfs / 20) / np.sqrt(2 * np.mean(wave**2)))


def steps(parts: list[tuple[float, float]], seed: int, rate_hz: int = RATE_HZ) -> Sound:
    """Noise of levels that follow one another: seconds and dBFS of each."""
    return np.concatenate(
        [noise(seconds, level, seed + place, rate_hz) for place, (seconds, level) in enumerate(parts)]
    )


def take(folder: Path, tracks: dict[str, Sound], rows: tuple[DrawnInput, ...] = (), rate_hz: int = RATE_HZ) -> Axis:
    """Write a take, a file a track, and put it on its axis."""
    folder.mkdir(parents=True)
    for number, (name, sound) in enumerate(tracks.items(), 1):
        whole = np.rint(np.clip(sound, -1, 1 - 2**-23) * (1 << 23)).astype(np.int32)
        write_whole(folder / f"{number:02d}_{name.replace(' ', '_')}.wav", rate_hz, 24, whole)
    (axis,) = find_axes(folder, rows)
    return axis


def dbfs(sound: NDArray[np.floating]) -> float:
    """Level of a sound against a full-scale sine."""
    return float(10 * np.log10(2 * np.mean(np.asarray(sound, np.float64) ** 2)))
