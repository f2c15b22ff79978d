"""Times: samples in the code, clock time of the venue for people."""

from __future__ import annotations


def clock(seconds: float, decimals: int = 0) -> str:
    """Write a duration as h:mm:ss, with decimals of a second where asked.

    >>> clock(3725), clock(12.3456, 3)
    ('1:02:05', '0:00:12.346')
    """
    ticks = 10**decimals
    total = round(seconds * ticks)
    whole, part = divmod(total, ticks)
    text = f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"
    return f"{text}.{part:0{decimals}d}" if decimals else text


def sample_clock(sample: int, rate_hz: int) -> str:
    """Write a sample position as time to the millisecond.

    >>> sample_clock(72_000, 48_000)
    '0:00:01.500'
    """
    return clock(sample / rate_hz, 3)
