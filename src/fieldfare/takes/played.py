"""The level of a finished file over time: what somebody will play, in whatever form it was written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.findings import LevelCourse
from fieldfare.takes.measure import peak_dbfs, rms_dbfs
from fieldfare.takes.wave import blocks, read_head
from fieldfare.takes.wave.sets import SUFFIXES
from fieldfare.units.faults import Fault

COLUMNS = 160  # of a small plot
_HOP_S = 0.05  # measured in stretches of this, which are then put together
_BLOCK_FRAMES = 1 << 18
Sound = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class PlayedLevel:
    """How loud a file is over time. All channels count together: the highest peak of any, the mean of their power."""

    course: LevelCourse
    frames: int
    rate_hz: int

    @property
    def seconds(self) -> float:
        """How long it is. [s]"""
        return self.frames / self.rate_hz

    @property
    def peak_dbfs(self) -> float | None:
        """Highest peak of all; none where all of it is zero. [dBFS]"""
        return max((one for one in self.course.peak_dbfs if one is not None), default=None)


def level_of(path: Path, columns: int = COLUMNS) -> PlayedLevel:
    """Measure the level of a file over time.

    Parameters
    ----------
    path
        A recording, or anything else whose sound can be decoded.
    columns
        Into how many stretches of equal length, at most.

    Raises
    ------
    Fault
        It cannot be read, or holds no sound.
    """
    rate_hz, sound = _opened(path)
    hop = max(1, round(_HOP_S * rate_hz))
    peaks: list[NDArray[np.float64]] = []
    powers: list[NDArray[np.float64]] = []
    frames, left = 0, np.zeros((0, 1), np.float32)
    for block in sound:
        frames += len(block)
        left = np.concatenate([left, block]) if len(left) else block
        whole = len(left) - len(left) % hop
        _measure(left[:whole], hop, peaks, powers)
        left = left[whole:]
    _measure(left, max(1, len(left)), peaks, powers)
    if not frames:
        raise Fault("holds no sound", str(path), "render it again")
    course = _course(np.concatenate(peaks), np.concatenate(powers), hop, frames, columns)
    return PlayedLevel(course, frames, rate_hz)


def _measure(sound: Sound, hop: int, peaks: list[NDArray[np.float64]], powers: list[NDArray[np.float64]]) -> None:
    if len(sound):
        hops = sound.reshape(len(sound) // hop, -1)
        peaks.append(np.abs(hops).max(axis=1).astype(np.float64))
        powers.append(np.einsum("ij,ij->i", hops, hops, dtype=np.float64) / sound.shape[1])


def _course(
    peaks: NDArray[np.float64], powers: NDArray[np.float64], hop: int, frames: int, columns: int
) -> LevelCourse:
    each = -(-len(peaks) // columns)
    starts = np.arange(0, len(peaks), each)
    highest, power = np.maximum.reduceat(peaks, starts), np.add.reduceat(powers, starts)
    held = [min(each * hop, frames - place * each * hop) for place in range(len(starts))]
    return LevelCourse(
        frames=each * hop,
        peak_dbfs=tuple(_rounded(peak_dbfs(float(peak), 1.0)) for peak in highest),
        rms_dbfs=tuple(_rounded(rms_dbfs(float(one), count, 1.0)) for one, count in zip(power, held, strict=True)),
    )


def _rounded(level_dbfs: float | None) -> float | None:
    return None if level_dbfs is None else round(level_dbfs, 1)


def _opened(path: Path) -> tuple[int, Iterator[Sound]]:
    """Return the rate of a file, and its sound in blocks of shape (frames, channels), full scale 1."""
    if path.suffix.casefold() not in SUFFIXES:
        return _decoded(path)
    head = read_head(path)
    if head.state == "unreadable":
        raise Fault(head.says, str(path), "render it again")
    scale = np.float32(1.0 / head.full_scale)
    return head.rate_hz, (np.asarray(block, np.float32) * scale for block in blocks(head, _BLOCK_FRAMES))


def _decoded(path: Path) -> tuple[int, Iterator[Sound]]:
    import av

    try:
        container = av.open(str(path))
        stream = container.streams.audio[0]
    except (OSError, ValueError, IndexError) as error:  # av's own errors are among the first two
        raise Fault("its sound cannot be decoded", str(path), "render it again") from error

    def sound() -> Iterator[Sound]:
        plain = av.AudioResampler(format="fltp")
        with container:
            try:
                for frame in container.decode(stream):
                    for one in plain.resample(frame):
                        yield one.to_ndarray().T.astype(np.float32)
            except (OSError, ValueError) as error:
                raise Fault("its sound cannot be decoded", str(path), "render it again") from error

    return int(stream.rate), sound()
