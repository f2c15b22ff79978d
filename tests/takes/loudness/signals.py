"""Signals that the loudness standards describe, made here."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float64]
RATE_HZ = 48_000


def tones(parts: Iterable[tuple[float, float]], rate_hz: int = RATE_HZ, hz: float = 1000.0, channels: int = 2) -> Sound:
    """Tones that follow one another without a break of phase: peak level in dBFS and length in seconds of each."""
    amplitude = np.concatenate(
        [np.full(round(seconds * rate_hz), 10 ** (level / 20)) for level, seconds in parts] or [np.empty(0)]
    )
    wave = amplitude * np.sin(2 * np.pi * hz / rate_hz * np.arange(len(amplitude)))
    return np.repeat(wave[:, None], channels, axis=1)


def silence(seconds: float, rate_hz: int = RATE_HZ, channels: int = 2) -> Sound:
    """Nothing, for so long."""
    return np.zeros((round(seconds * rate_hz), channels))


def programme(seconds: float, channels: int, rate_hz: int, seed: int = 3) -> Sound:
    """Noise with the slope of music that swells and falls, a little different in each channel."""
    rng = np.random.default_rng(seed)
    count = round(seconds * rate_hz)
    spectrum = np.fft.rfft(rng.standard_normal((count, channels)), axis=0)
    spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))[:, None]
    spectrum[0] = 0
    wave = np.fft.irfft(spectrum, count, axis=0)
    swell = np.interp(np.arange(count), np.linspace(0, count, 24), rng.uniform(0.05, 1.0, 24))
    wave *= swell[:, None]
    return np.asarray(0.7 * wave / np.abs(wave).max())
