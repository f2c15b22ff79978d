"""Media: bytes, file limits, cards and copies.

Conventions: GB and MB are decimal, as printed on cards and discs. Headers and other chunks of a file are not counted:
they are less than a second of sound.
"""

from __future__ import annotations

import math

from fieldfare.physics._numbers import Span, within

RIFF_LIMIT_BYTES = 2**32  # the size field of RIFF has 32 bits
FAT32_LIMIT_BYTES = 2**32 - 1  # so has that of a file on FAT32, whatever its clusters

_CHANNELS = Span("channels", "", 1, 4096, "count the channels in one file or stream")
_RATE = Span("sample rate", "Hz", 1, 10_000_000, "give the rate in hertz, such as 48000")
_BITS = Span("bits", "", 8, 64, "give bits a sample: 16, 24 or 32")
_BYTES = Span("size", "bytes", 0, 1e18, "give the size in bytes")
_SPEED = Span("speed", "MB/s", 0, 1e6, "give what the medium keeps up, in megabytes a second", above=True)


def byte_rate(channels: int, rate_hz: int, bits: int) -> int:
    """Bytes a second of uncompressed sound.

    Parameters
    ----------
    channels
        How many channels. [count]
    rate_hz
        Sample rate. [Hz]
    bits
        Bits a sample, rounded up to whole bytes. [bit]

    Returns
    -------
    Rate. [B/s]

    Raises
    ------
    OutOfRange
        No channel, a rate below 1 Hz, bits outside 8 to 64, or not a number.

    Sources
    -------
    Channels · rate · bytes: [definition].

    Examples
    --------
    >>> byte_rate(32, 48_000, 24)
    4608000
    """
    within(float(channels), _CHANNELS)
    within(float(rate_hz), _RATE)
    within(float(bits), _BITS)
    return channels * rate_hz * math.ceil(bits / 8)


def minutes_to_limit(channels: int, rate_hz: int, bits: int, limit_bytes: float = RIFF_LIMIT_BYTES) -> float:
    """Time after which one file, or a card, is full.

    Parameters
    ----------
    channels
        Channels that go into the one file, or onto the card. [count]
    rate_hz
        Sample rate. [Hz]
    bits
        Bits a sample. [bit]
    limit_bytes
        Where it is full; by default where the 32-bit size of a WAV file ends. [byte]

    Returns
    -------
    Time. [min]

    Raises
    ------
    OutOfRange
        What byte_rate refuses, a negative limit, or not a number.

    Sources
    -------
    Limit / byte rate; the 32-bit size of RIFF: [EBU3306].

    Examples
    --------
    >>> round(minutes_to_limit(16, 48_000, 24), 2)
    31.07
    """
    return within(float(limit_bytes), _BYTES) / byte_rate(channels, rate_hz, bits) / 60


def copy_minutes(size_bytes: float, speed_mb_s: float) -> float:
    """Time to read or write so many bytes once. A copy that is read back takes both.

    Parameters
    ----------
    size_bytes
        How much. [byte]
    speed_mb_s
        What the slower side keeps up, decimal. [MB/s]

    Returns
    -------
    Time. [min]

    Raises
    ------
    OutOfRange
        A negative size, a speed of 0 or less, or not a number.

    Sources
    -------
    Size / speed: [definition].

    Examples
    --------
    >>> round(copy_minutes(49_766_400_000, 90), 2)
    9.22
    """
    return within(float(size_bytes), _BYTES) / (within(float(speed_mb_s), _SPEED) * 1e6) / 60
