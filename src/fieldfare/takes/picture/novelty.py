"""What changes in a sound, fifty times a second, in five bands: by this a place is found in hours of recording.

Changes of level last through another place, another microphone, a level control, a lossy encoder and noise; the wave
itself does not.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

PER_S = 50
EDGES_HZ = (150.0, 350.0, 700.0, 1400.0, 2800.0, 5600.0)
BANDS = len(EDGES_HZ) - 1
_FLOOR = 3e-4  # of a band's mean power: what is weaker changes nothing
_MOST = 2.0  # nepers of change that count
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


def band_powers(sound: F32, rate_hz: int) -> F32:
    """Power of every band in every fiftieth of a second; shape (BANDS, stretches).

    Parameters
    ----------
    sound
        Shape (samples,); a last stretch that is not whole is left out.
    rate_hz
        Sample rate. [Hz]
    """
    from scipy.fft import rfft

    size = round(rate_hz / PER_S)
    count = len(sound) // size
    lines = rfft(sound[: count * size].reshape(count, size), axis=1)
    power = lines.real**2 + lines.imag**2
    at = [min(max(1, round(edge * size / rate_hz)), power.shape[1] - 1) for edge in EDGES_HZ]
    return np.stack([power[:, low : max(high, low + 1)].sum(axis=1) for low, high in pairwise(at)])


def novelty(power: F32) -> F32:
    """Change of level from stretch to stretch in every band; shape as that of the powers.

    Parameters
    ----------
    power
        From `band_powers`, shape (BANDS, stretches).
    """
    floor = _FLOOR * power.mean(axis=1, keepdims=True) + 1e-20
    level = np.log(power + floor)
    change = np.diff(level, axis=1, prepend=level[:, :1])
    change = np.clip(change, -_MOST, _MOST)
    found: F32 = (change - change.mean(axis=1, keepdims=True)).astype(np.float32)
    return found
