"""A second recorder's sound put onto the take's axis: resampled to the take's clock, into a new file.

The new file begins with the take and has its length, so that it lies beside the other tracks as one of them; where the
recorder was not running there is silence.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.picture.clock import Clock
from fieldfare.takes.picture.media import Media, SoundReader
from fieldfare.takes.wave import Head, WaveWriter, write
from fieldfare.takes.wave.blocks import blocks

BITS = 24
_BLOCK_S = 4.0
_TOP = 1 << (BITS - 1)
F32 = NDArray[np.float32]


def onto_take(media: Media, clock: Clock, path: Path, rate_hz: int, frames: int) -> int:
    """Write a recorder's sound on the take's axis, 24 bit.

    Parameters
    ----------
    media
        The recorder's file; it is only read.
    clock
        Its clock.
    path
        The new file; one that is there is replaced once the new one is whole.
    rate_hz
        Sample rate of the take. [Hz]
    frames
        Length of the take. [sample]

    Returns
    -------
    Samples that went over full scale in resampling and were held there.

    Raises
    ------
    Fault
        The recorder's file cannot be read.
    NotDone
        The new one cannot be written.
    """
    channels = media.head.channels if media.head is not None else 1
    over = 0
    with write(path, rate_hz, BITS, channels) as file:
        at = 0
        for first, sound in _on_axis(media, clock, rate_hz, frames):
            _silence(file, max(0, first - at), channels)
            whole = np.rint(sound * np.float32(_TOP))
            over += int(np.count_nonzero((whole < -_TOP) | (whole > _TOP - 1)))
            file.write(np.clip(whole, -_TOP, _TOP - 1).astype(np.int32))
            at = max(at, first) + len(sound)
        _silence(file, frames - at, channels)
    return over


def _silence(file: WaveWriter, count: int, channels: int) -> None:
    while count > 0:
        file.write(np.zeros((min(count, 1 << 18), channels), np.int32))
        count -= 1 << 18


def _on_axis(media: Media, clock: Clock, rate_hz: int, frames: int) -> Iterator[tuple[int, F32]]:
    """Go through a recorder's sound on the take's axis, from corner to corner of its clock: first sample, and sound."""
    corners = [0.0, *(at for at, _ in clock.corners if 1.0 < at < media.length_s - 1.0), media.length_s]
    for begin_s, end_s in pairwise(corners):
        line = clock.near(begin_s, end_s) if clock.corners else clock
        first = max(0, -int(-clock.to_take(begin_s) * rate_hz // 1))
        last = min(frames, -int(-clock.to_take(end_s) * rate_hz // 1))
        at = first
        for sound in _resampled(media, line, first / rate_hz, rate_hz):
            part = sound[: max(0, last - at)]
            if not len(part):
                break
            yield at, part
            at += len(part)


def _resampled(media: Media, line: Clock, take_s: float, rate_hz: int) -> Iterator[F32]:
    """Go on from a take time to the end of a file; shape (frames, channels)."""
    import soxr

    channels = media.head.channels if media.head is not None else 1
    own_hz = media.sound_rate_hz * (1 + line.ppm * 1e-6)
    stream = soxr.ResampleStream(own_hz, rate_hz, channels, dtype="float32", quality="VHQ")
    first = max(0, round(line.to_device(take_s) * media.sound_rate_hz))
    for part in _sound(media, first):
        out: F32 = stream.resample_chunk(part)
        if len(out):
            yield out.reshape(-1, channels)
    none: F32 = np.zeros((0, channels), np.float32)
    rest: F32 = stream.resample_chunk(none, last=True)
    if len(rest):
        yield rest.reshape(-1, channels)


def _sound(media: Media, first: int) -> Iterator[F32]:
    if media.head is not None:
        yield from _of_recording(media.head, first)
        return
    count = round(_BLOCK_S * media.sound_rate_hz)
    with SoundReader(media) as reader:
        for at in range(first, round(media.length_s * media.sound_rate_hz), count):
            yield reader.read(at / media.sound_rate_hz, _BLOCK_S)[:, np.newaxis]


def _of_recording(head: Head, first: int) -> Iterator[F32]:
    if first < head.frames:
        for part in blocks(head, round(_BLOCK_S * head.rate_hz), first):
            yield np.asarray(part, np.float32) * np.float32(1.0 / head.full_scale)
