"""Timecode: labels for frames, with frames left out of the count where the rate asks for it.

Drop-frame labels leave out the first two (or four) of every minute that is no multiple of ten, so that they stay near
the clock at 29.97 and 59.94 pictures a second; no picture is dropped. Known from the articles named under [DropFrame].
"""

from __future__ import annotations

import re
from fractions import Fraction

from fieldfare.units.faults import OutOfRange

DROP_RATES = {Fraction(30_000, 1001): 2, Fraction(60_000, 1001): 4}  # labels left out a minute
_LABEL = re.compile(r"(\d{2}):(\d{2}):(\d{2})([:;.,])(\d{2,3})")


def nominal(rate: Fraction) -> int:
    """Labels in a second: 30 for 29.97."""
    return round(rate)


def drops(rate: Fraction) -> bool:
    """Whether a rate has drop-frame labels as a rule."""
    return rate in DROP_RATES


def label_of(frame: int, rate: Fraction, *, drop: bool | None = None) -> str:
    """Label of a frame.

    Parameters
    ----------
    frame
        From 0; it comes round after a day.
    rate
        Pictures a second. [1/s]
    drop
        Whether labels are left out; by default where the rate has that as a rule.

    Raises
    ------
    OutOfRange
        Drop-frame labels for a rate that has none, or a negative frame.

    Examples
    --------
    >>> label_of(1800, Fraction(30000, 1001)), label_of(1800, Fraction(25))
    ('00:01:00;02', '00:01:12:00')
    """
    if frame < 0:
        raise OutOfRange(f"frame {frame} has no label", "timecode", "count frames from 0")
    left_out = _left_out(rate, drop)
    a_second = nominal(rate)
    if left_out:
        a_minute, ten = 60 * a_second - left_out, 600 * a_second - 9 * left_out
        tens, rest = divmod(frame, ten)
        frame += 9 * left_out * tens
        if rest >= 60 * a_second:
            frame += left_out * ((rest - 60 * a_second) // a_minute + 1)
    frame %= 86_400 * a_second
    seconds, part = divmod(frame, a_second)
    sign = ";" if left_out else ":"
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{sign}{part:02d}"


def frame_of(label: str, rate: Fraction) -> int:
    """Frame that has a label.

    Parameters
    ----------
    label
        ``HH:MM:SS:FF``; with a semicolon or a comma before the frames where labels are left out.
    rate
        Pictures a second. [1/s]

    Raises
    ------
    OutOfRange
        No label, one beyond the count, or one of those that are left out.

    Examples
    --------
    >>> frame_of("00:01:00;02", Fraction(30000, 1001)), frame_of("01:00:00:00", Fraction(25))
    (1800, 90000)
    """
    match = _LABEL.fullmatch(label.strip())
    if not match:
        raise OutOfRange(f"{label!r} is no timecode", "timecode", "write HH:MM:SS:FF")
    hours, minutes, seconds, part = (int(match[group]) for group in (1, 2, 3, 5))
    drop = match[4] in ";," and drops(rate)
    a_second = nominal(rate)
    if hours > 23 or minutes > 59 or seconds > 59 or part >= a_second:
        raise OutOfRange(f"{label} is beyond the count", "timecode", f"there are {a_second} frames a second")
    left_out = _left_out(rate, drop)
    if left_out and seconds == 0 and part < left_out and minutes % 10:
        raise OutOfRange(f"{label} is left out of the count", "timecode", f"the next label is ;{left_out:02d}")
    whole = 60 * hours + minutes
    return (60 * whole + seconds) * a_second + part - left_out * (whole - whole // 10)


def _left_out(rate: Fraction, drop: bool | None) -> int:
    if drop is None:
        drop = drops(rate)
    if drop and not drops(rate):
        raise OutOfRange(f"{float(rate):g} pictures a second have no drop-frame labels", "timecode", "count them all")
    return DROP_RATES[rate] if drop else 0
