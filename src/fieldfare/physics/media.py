"""Media: bytes, file limits, cards and copies.

Conventions: GB and MB are decimal, as printed on cards and discs; GiB is 2³⁰ bytes, as many file managers count while
writing "GB". Headers and other chunks of a file are not counted: they are less than a second of sound.
"""

from __future__ import annotations

import math

from fieldfare.physics._numbers import Span, within
from fieldfare.physics._tables import rows
from fieldfare.units.faults import OutOfRange

GIB = 2**30
RIFF_LIMIT_BYTES = 2**32  # the size field of RIFF has 32 bits
FAT32_LIMIT_BYTES = 2**32 - 1  # so has that of a file on FAT32, whatever its clusters

_CHANNELS = Span("channels", "", 1, 4096, "count the channels in one file or stream")
_RATE = Span("sample rate", "Hz", 1, 10_000_000, "give the rate in hertz, such as 48000")
_BITS = Span("bits", "", 8, 64, "give bits a sample: 16, 24 or 32")
_BYTES = Span("size", "bytes", 0, 1e18, "give the size in bytes")
_SPEED = Span("speed", "MB/s", 0, 1e6, "give what the medium keeps up, in megabytes a second", above=True)
_MARGIN = Span("margin", "", 0, 0.99, "give the share of the speed that is kept back")
_GB = Span("capacity", "GB", 0, 1e9, "give decimal gigabytes")


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


def channels_sustained(speed_mb_s: float, rate_hz: int, bits: int, margin: float = 0.5) -> int:
    """How many channels a medium writes without falling behind.

    Parameters
    ----------
    speed_mb_s
        What it keeps up in writing, decimal. [MB/s]
    rate_hz
        Sample rate. [Hz]
    bits
        Bits a sample. [bit]
    margin
        Share of the speed that is kept back. [1]

    Returns
    -------
    Whole channels. [count]

    Raises
    ------
    OutOfRange
        A speed of 0 or less, a margin outside 0 to 0.99, what byte_rate refuses, or not a number.

    Sources
    -------
    Speed · (1 − margin) / byte rate of one channel, rounded down: [definition].

    Examples
    --------
    >>> channels_sustained(10, 48_000, 24, margin=0)
    69
    """
    left = within(float(speed_mb_s), _SPEED) * 1e6 * (1 - within(float(margin), _MARGIN))
    return int(left // byte_rate(1, rate_hz, bits))


def gib(size_gb: float) -> float:
    """Decimal gigabytes in binary ones.

    Parameters
    ----------
    size_gb
        Size as printed on a card. [GB]

    Returns
    -------
    The same in units of 2³⁰ bytes. [GiB]

    Raises
    ------
    OutOfRange
        A negative size or not a number.

    Sources
    -------
    10⁹ / 2³⁰: [BinaryPrefixes].

    Examples
    --------
    >>> round(gib(128), 2)
    119.21
    """
    return within(float(size_gb), _GB) * 1e9 / GIB


def speed_class_mb_s(name: str) -> float:
    """Slowest writing that a card of a speed class keeps up.

    Parameters
    ----------
    name
        The mark on the card: C10, U1, U3, V10, V30, V60 or V90. [name]

    Returns
    -------
    Speed, decimal. [MB/s]

    Raises
    ------
    OutOfRange
        A mark that is not a speed class; names those that are.

    Sources
    -------
    [SDClasses].

    Examples
    --------
    >>> speed_class_mb_s("V30")
    30.0
    """
    classes = {row["class"]: float(row["mb_s"]) for row in rows("sd_speed_classes.csv")}
    if name not in classes:
        raise OutOfRange(f"{name!r} is not a speed class", "card", f"give one of {', '.join(classes)}")
    return classes[name]
