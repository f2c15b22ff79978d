"""Signals to measure, made without the package, and a short way to measure them."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.measure import Gauge, Measures
from fieldfare.takes.wave import make_form, pack

RATE_HZ = 48_000
Floats = NDArray[np.float64]
Codes = NDArray[np.int32]


def seconds(length_s: float, rate_hz: int = RATE_HZ) -> Floats:
    """Return the time of every sample."""
    return np.arange(round(length_s * rate_hz)) / rate_hz


def tone(hz: float, peak_dbfs: float, length_s: float, rate_hz: int = RATE_HZ, phase: float = 0.0) -> Floats:
    """Return a sine."""
    sine: Floats = 10 ** (peak_dbfs / 20) * np.sin(2 * np.pi * hz * seconds(length_s, rate_hz) + phase)
    return sine


def noise(rms_dbfs: float, length_s: float, seed: int = 1, rate_hz: int = RATE_HZ) -> Floats:
    """Return white noise; its level is re a full-scale sine's rms."""
    sigma = 10 ** (rms_dbfs / 20) / np.sqrt(2)
    return np.random.default_rng(seed).normal(0, sigma, round(length_s * rate_hz))


def codes(sound: Floats, bits: int = 24) -> Codes:
    """Return samples as a converter gives them: rounded, and held at its rails."""
    half = 1 << (bits - 1)
    return np.clip(np.rint(sound * half), -half, half - 1).astype(np.int32)


def measured(
    samples: Codes, bits: int = 24, rate_hz: int = RATE_HZ, *, compiled: bool = True, cuts: tuple[int, ...] = ()
) -> Measures:
    """Measure samples of shape (frames,) or (frames, channels), their bytes handed over in pieces."""
    columns = samples[:, np.newaxis] if samples.ndim == 1 else samples
    form = make_form(columns.shape[1], rate_hz, bits)
    gauge, packed = Gauge(form, compiled=compiled), pack(columns, form)
    for begin, end in pairwise((0, *sorted(cut % (len(packed) + 1) for cut in cuts), len(packed))):
        gauge.feed(packed[begin:end])
    return gauge.result()


def equal(one: object, other: object) -> bool:
    """Whether two measures agree in every figure, to the last bit."""
    if dataclasses.is_dataclass(one):
        return all(equal(getattr(one, f.name), getattr(other, f.name)) for f in dataclasses.fields(one))
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(equal, one, other))
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return one.dtype == other.dtype and np.array_equal(one, other)
    return one == other
