"""The two filters of the K weighting at any rate, and the weight of each channel.

The standard prints the filters for 48 kHz alone. The closed form that stands behind them is that of a public meter
([libebur128]); at 48 kHz it gives the printed coefficients to all their figures.
"""

from __future__ import annotations

from math import pi, tan
from typing import NamedTuple

from fieldfare.units.faults import OutOfRange

OFFSET_DB = -0.691  # [BS1770] annex 1, equation 2
SURROUND = 1.41  # [BS1770] annex 1, table 3: + 1.5 dB
LOWEST_HZ, HIGHEST_HZ = 8_000, 768_000

_SHELF_HZ, _SHELF_DB, _SHELF_Q = 1681.974450955533, 3.999843853973347, 0.7071752369554196
_SHELF_BEND = 0.4996667741545416
_EDGE_HZ, _EDGE_Q = 38.13547087602444, 0.5003270373238773


class Section(NamedTuple):
    """A second-order filter: numerator b, denominator 1, a1, a2."""

    b0: float
    b1: float
    b2: float
    a1: float
    a2: float


def k_weighting(rate_hz: int) -> tuple[Section, Section]:
    """Return the shelf and the high-pass of the K weighting.

    Parameters
    ----------
    rate_hz
        Sample rate, 8 to 768 kHz. [Hz]

    Raises
    ------
    OutOfRange
        A rate at which the shelf has no room below half of it, or beyond any recorder.

    Sources
    -------
    [BS1770] annex 1, tables 1 and 2, for 48 kHz; [libebur128] for other rates.
    """
    if not LOWEST_HZ <= rate_hz <= HIGHEST_HZ:
        raise OutOfRange(f"loudness is not measured at {rate_hz} Hz", "loudness", "8 to 768 kHz can be measured")
    k = tan(pi * _SHELF_HZ / rate_hz)
    high = 10 ** (_SHELF_DB / 20)
    mid = high**_SHELF_BEND
    norm = 1 / (1 + k / _SHELF_Q + k * k)
    shelf = Section(
        (high + mid * k / _SHELF_Q + k * k) * norm,
        2 * (k * k - high) * norm,
        (high - mid * k / _SHELF_Q + k * k) * norm,
        2 * (k * k - 1) * norm,
        (1 - k / _SHELF_Q + k * k) * norm,
    )
    k = tan(pi * _EDGE_HZ / rate_hz)
    norm = 1 / (1 + k / _EDGE_Q + k * k)
    edge = Section(1.0, -2.0, 1.0, 2 * (k * k - 1) * norm, (1 - k / _EDGE_Q + k * k) * norm)
    return shelf, edge


def layout_weights(channels: int) -> tuple[float, ...]:
    """Return the weight of every channel: five and six are taken as surround, L R C (LFE) Ls Rs, all else as alike.

    A mono file is one channel: played from two loudspeakers it is 3 dB louder than it reads.

    Parameters
    ----------
    channels
        How many. [count]

    Sources
    -------
    [BS1770] annex 1, table 3.
    """
    surround = {5: (1.0, 1.0, 1.0, SURROUND, SURROUND), 6: (1.0, 1.0, 1.0, 0.0, SURROUND, SURROUND)}
    return surround.get(channels, (1.0,) * channels)


def position_weight(azimuth_deg: float, elevation_deg: float) -> float:
    """Return the weight of a loudspeaker by where it stands.

    Parameters
    ----------
    azimuth_deg
        To either side of straight ahead. [°]
    elevation_deg
        Above or below the ear. [°]

    Sources
    -------
    [BS1770] annex 1, table 4 of BS.1770-5.
    """
    aside = abs((azimuth_deg + 180) % 360 - 180)
    return SURROUND if abs(elevation_deg) < 30 and 60 <= aside <= 120 else 1.0
