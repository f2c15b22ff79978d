"""A few seconds of one track, to listen to and to plot: a finding with what lies before and after it."""

from __future__ import annotations

import io
import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.axis import Axis
from fieldfare.takes.wave import blocks, read_head
from fieldfare.units.faults import Fault

BEFORE_S = 1.0
AFTER_S = 2.0
MOST_S = 20.0
LISTEN_BITS = 16
MIXED_PEAK = 0.7  # of several tracks together, full scale 1


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Some samples of one channel, full scale 1. Shape (frames,)."""

    samples: NDArray[np.float32]
    first: int  # sample of the file that it begins with
    rate_hz: int


def excerpt(file: Path, channel: int, start: int, end: int) -> Excerpt:
    """Read a place of a track with a second before it and two after, 20 s at most.

    Parameters
    ----------
    file
        The recording; it is only read.
    channel
        Of the file, from 1.
    start, end
        First sample, and the one after the last.

    Raises
    ------
    Fault
        The file cannot be read, or has no such channel or place.
    """
    head = read_head(file)
    if head.state == "unreadable":
        raise Fault(head.says or "cannot be read", file.name, "mend it first")
    if not 1 <= channel <= head.channels:
        raise Fault(f"has no channel {channel}", file.name, f"it has {head.channels}")
    first = max(0, start - round(BEFORE_S * head.rate_hz))
    last = min(head.frames, max(end, start + 1) + round(AFTER_S * head.rate_hz), first + round(MOST_S * head.rate_hz))
    if first >= last:
        raise Fault(f"ends before sample {start}", file.name, "look at another place")
    block = next(iter(blocks(head, last - first, first)))
    samples = np.asarray(block[:, channel - 1], np.float64) / head.form.full_scale
    return Excerpt(samples.astype(np.float32), first, head.rate_hz)


def mixed(axis: Axis, start: int, end: int) -> Excerpt:
    """Read a stretch of all tracks of a take together, each as loud as it was recorded, 20 s at most.

    Parameters
    ----------
    axis
        The take; it is only read.
    start, end
        First sample on its axis, and the one after the last; what lies outside the take is left out.

    Raises
    ------
    Fault
        The take has no such place, or its files cannot be read.
    """
    first = max(0, start)
    last = min(axis.frames, end, first + round(MOST_S * axis.rate_hz))
    if first >= last:
        raise Fault(f"ends before sample {start}", axis.name, "look at another place")
    sound = axis.read(first, last - first).sum(axis=0)
    top = float(np.abs(sound).max(initial=0.0))
    return Excerpt(sound * np.float32(MIXED_PEAK / top if top else 1.0), first, axis.rate_hz)


def as_wav(heard: Excerpt) -> bytes:
    """Return an excerpt as a WAV file of 16 bits, which every browser plays."""
    out = io.BytesIO()
    scaled = np.clip(np.round(heard.samples * (1 << (LISTEN_BITS - 1))), -(1 << 15), (1 << 15) - 1)
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(LISTEN_BITS // 8)
        file.setframerate(heard.rate_hz)
        file.writeframes(scaled.astype("<i2").tobytes())
    return out.getvalue()


def outline(heard: Excerpt, columns: int) -> NDArray[np.float32]:
    """Return the lowest and highest sample of each of so many columns. Shape (columns, 2)."""
    edges = np.linspace(0, len(heard.samples), min(columns, len(heard.samples)) + 1).astype(int)[:-1]
    low, high = np.minimum.reduceat(heard.samples, edges), np.maximum.reduceat(heard.samples, edges)
    return np.stack([low, high], axis=1)
