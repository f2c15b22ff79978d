"""What changes in a sound, twenty-five times a second, semitone by semitone: by this a place is found in hours of it.

Changes of level last through another place, another microphone, a level control, a lossy encoder and noise; the wave
itself does not. Bands of a semitone tell notes that begin and end, where nobody drums and a tune comes round again.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

PER_S = 25
BANDS = 36
EDGES_HZ = tuple(420.0 * 2 ** (step / 12) for step in range(BANDS + 1))  # from where a semitone is as wide as a line
_FLOOR = 3e-4  # of a band's mean power: what is weaker changes nothing
_MOST = 2.0  # nepers of change that count
F32 = NDArray[np.float32]


def band_powers(sound: F32, rate_hz: int) -> F32:
    """Power of every band in every stretch of a twenty-fifth of a second; shape (BANDS, stretches).

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
    at = np.minimum(np.rint(np.array(EDGES_HZ) * size / rate_hz).astype(int), size // 2)
    lines = rfft(sound[: count * size].reshape(count, size), axis=1)[:, at[0] : at[-1]]
    power = lines.real**2 + lines.imag**2
    found: F32 = np.ascontiguousarray(np.add.reduceat(power, at[:-1] - at[0], axis=1).T, np.float32)
    return found


def novelty(power: F32) -> F32:
    """Change of level from stretch to stretch in every band; shape as that of the powers.

    Parameters
    ----------
    power
        From `band_powers`, shape (BANDS, stretches).
    """
    found: F32 = np.empty_like(power)
    for band, changes in zip(power, found, strict=True):  # one by one: hours of all at once need memory
        level = np.log(band + (_FLOOR * band.mean() + 1e-20))
        change = np.clip(np.diff(level, prepend=level[:1]), -_MOST, _MOST)
        changes[:] = change - change.mean()
    return found
