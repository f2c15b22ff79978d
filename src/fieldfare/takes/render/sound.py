"""Tools of synthesis that the instruments share: filters, tables, envelopes, placing."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache
from math import log10, pi, sin, tan
from typing import NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float32]
TABLE = 8192


class Bell(NamedTuple):
    """One resonance of a body or a room: centre, gain and sharpness."""

    hz: float
    gain_db: float
    q: float


def frequency(pitch: float) -> float:
    """Turn a MIDI pitch into its frequency in equal temperament, A4 = 440 Hz. [Hz]

    >>> frequency(69), round(frequency(60), 2)
    (440.0, 261.63)
    """
    return float(440.0 * 2.0 ** ((pitch - 69.0) / 12.0))


def place(into: Sound, sound: Sound, at: int, gain: float = 1.0) -> None:
    """Add a sound to a longer one at a sample; what reaches over the end is cut."""
    end = min(len(into), at + len(sound))
    if 0 <= at < end:
        into[at:end] += np.float32(gain) * sound[: end - at]


def bells(sound: Sound, rate_hz: int, shape: Iterable[Bell]) -> Sound:
    """Raise or lower bands of a sound: second-order bells in a row.

    Sources
    -------
    Peaking equaliser of the public audio equaliser cookbook; from memory.
    """
    return _run([_bell(bell, rate_hz) for bell in shape if bell.hz < 0.45 * rate_hz], sound)


def bandpass(sound: Sound, rate_hz: int, low_hz: float, high_hz: float) -> Sound:
    """Keep a band, second-order slopes at both ends."""
    return _run([_edge(low_hz, rate_hz, high=True), _edge(min(high_hz, 0.45 * rate_hz), rate_hz, high=False)], sound)


def lowpass(sound: Sound, rate_hz: int, high_hz: float) -> Sound:
    """Keep what lies below a frequency, second-order slope."""
    return _run([_edge(min(high_hz, 0.45 * rate_hz), rate_hz, high=False)], sound)


def highpass(sound: Sound, rate_hz: int, low_hz: float) -> Sound:
    """Keep what lies above a frequency, second-order slope."""
    return _run([_edge(low_hz, rate_hz, high=True)], sound)


def resonators(sound: Sound, rate_hz: int, poles: Iterable[tuple[float, float]]) -> Sound:
    """Send a sound through two-pole resonances in a row, each with unit gain at 0 Hz: a vocal tract.

    `poles` gives frequency and bandwidth of each. [Hz, Hz]
    """
    rows = []
    for hz, width_hz in poles:
        radius = np.exp(-pi * width_hz / rate_hz)
        a1, a2 = -2.0 * radius * np.cos(2.0 * pi * hz / rate_hz), radius * radius
        rows.append([1.0 + a1 + a2, 0.0, 0.0, 1.0, a1, a2])
    return _run(rows, sound)


def noise(rng: np.random.Generator, samples: int) -> Sound:
    """White Gaussian noise of unit rms."""
    return rng.standard_normal(samples, dtype=np.float32)


def decay(samples: int, rate_hz: int, sixty_db_s: float) -> Sound:
    """Exponential decay from 1 that falls by 60 dB in the time given."""
    fall: Sound = np.exp(np.arange(samples, dtype=np.float32) * np.float32(-6.9078 / (sixty_db_s * rate_hz)))
    return fall


def swell(samples: int, rate_hz: int, attack_s: float, release_s: float) -> Sound:
    """Rise from 0 to 1, hold, and fall to 0, with rounded corners."""
    shape = np.ones(samples, dtype=np.float32)
    up, down = min(samples // 2, round(attack_s * rate_hz)), min(samples // 2, round(release_s * rate_hz))
    if up:
        shape[:up] = 0.5 - 0.5 * np.cos(np.pi * np.arange(up, dtype=np.float32) / up)
    if down:
        shape[-down:] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(down, dtype=np.float32) / down)
    return shape


@lru_cache(maxsize=512)
def wave_table(
    spectrum: Callable[[NDArray[np.float64], float], NDArray[np.float64]], pitch: int, rate_hz: int
) -> Sound:
    """One period of a tone, from the strength of its harmonics; none of them above the hearing or the rate's reach.

    `spectrum` takes the numbers of the harmonics and the fundamental in hertz, and returns their strengths.
    """
    hz = frequency(pitch)
    count = max(1, int(min(15_000.0, 0.42 * rate_hz) / hz))
    numbers = np.arange(1, count + 1, dtype=np.float64)
    lines = np.zeros(TABLE // 2 + 1, dtype=np.complex128)
    phases = np.pi * numbers * (numbers - 1) / max(count, 8)  # spread, so that the wave is not one spike
    lines[1 : count + 1] = -1j * spectrum(numbers, hz) * np.exp(1j * phases)
    wave = np.fft.irfft(lines)
    return cast(Sound, (wave / np.sqrt(np.mean(wave**2))).astype(np.float32))


def turn(table: Sound, hz: NDArray[np.float64] | NDArray[np.float32], rate_hz: int, start: float = 0.0) -> Sound:
    """Read a table at a frequency that may change from sample to sample."""
    turns = np.cumsum(hz * (TABLE / rate_hz)) + start * TABLE
    wave: Sound = table[turns.astype(np.int64) & (TABLE - 1)]
    return wave


def bell_gain(bell: Bell, hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Magnitude of a bell at frequencies, as of its analogue model.

    Parameters
    ----------
    bell
        The bell.
    hz
        Frequencies. [Hz]
    """
    swing = 10.0 ** (bell.gain_db / 40.0)
    s = 1j * hz / bell.hz
    magnitude: NDArray[np.float64] = np.abs((s**2 + s * swing / bell.q + 1.0) / (s**2 + s / (swing * bell.q) + 1.0))
    return magnitude


def _bell(bell: Bell, rate_hz: int) -> list[float]:
    swing = 10.0 ** (bell.gain_db / 40.0)
    angle = 2.0 * pi * bell.hz / rate_hz
    alpha = sin(angle) / (2.0 * bell.q)
    cosine = np.cos(angle)
    top = np.array([1 + alpha * swing, -2 * cosine, 1 - alpha * swing])
    bottom = np.array([1 + alpha / swing, -2 * cosine, 1 - alpha / swing])
    return [*(top / bottom[0]), *(bottom / bottom[0])]


def _edge(hz: float, rate_hz: int, *, high: bool) -> list[float]:
    """Butterworth second-order section."""
    k = tan(pi * hz / rate_hz)
    norm = 1.0 / (1.0 + 2.0**0.5 * k + k * k)
    top = [norm, -2 * norm, norm] if high else [k * k * norm, 2 * k * k * norm, k * k * norm]
    return [*top, 1.0, 2.0 * (k * k - 1.0) * norm, (1.0 - 2.0**0.5 * k + k * k) * norm]


def _run(rows: list[list[float]], sound: Sound) -> Sound:
    from scipy.signal import sosfilt

    return cast(Sound, sosfilt(np.array(rows), sound).astype(np.float32)) if rows else sound


def decibels(ratio: float) -> float:
    """Level of an amplitude ratio. [dB]"""
    return 20.0 * log10(ratio) if ratio > 0 else -200.0
