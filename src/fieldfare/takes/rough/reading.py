"""Reading stretches of one length from a recording over and over, into memory that stays."""

from __future__ import annotations

import numpy as np

from fieldfare.takes.wave import Course, Head, read_packed, repack, unpack
from fieldfare.takes.wave.samples import Samples, sample_type
from fieldfare.takes.wave.source import aligned_buffer, open_readonly
from fieldfare.units.faults import Fault

_BUFFERS = 2  # while one is used, the other is filled


class CourseReader:
    """Reads blocks of a recording. What it returned the time before last is overwritten.

    Parameters
    ----------
    course
        The recording on the take's axis.
    frames
        Length of a block.
    blocks
        Where they go, in turn; own memory by default. Shape (2, frames, channels).
    """

    def __init__(self, course: Course, frames: int, blocks: Samples | None = None) -> None:
        self._course, self._frames = course, frames
        self._packed = aligned_buffer(frames * max(head.frame_bytes for head in course.strand.part))
        shape = (_BUFFERS, frames, course.strand.channels)
        own = np.zeros(shape, sample_type(course.strand.part[0].form)) if blocks is None else blocks
        self._blocks: Samples = own
        self._turn = 0

    def read(self, start: int) -> Samples:
        """Read the block from a sample of the axis on, shape (frames, channels), at the scale of the files."""
        self._turn = (self._turn + 1) % _BUFFERS
        out: Samples = self._blocks[self._turn]
        filled = 0
        for head, first, count, at in self._course.spans(start, start + self._frames):
            out[filled : at - start] = 0
            part = out[at - start : at - start + count]
            _unpack_into(part, self._fill(head, first, count), head)
            filled = at - start + count
        out[filled:] = 0
        return out

    def _fill(self, head: Head, first: int, count: int) -> memoryview:
        view = self._packed[: count * head.frame_bytes]
        if not head.in_place:
            view[:] = read_packed(head, first, count)
            return view
        done = 0
        with open_readonly(head.path) as file:
            try:
                file.seek(head.data_start + first * head.frame_bytes)
                while done < len(view) and (got := file.readinto(view[done:])):
                    done += got
            except OSError as error:
                what = f"cannot be read from sample {first} on ({error.strerror})"
                raise Fault(what, str(head.path), "try another card reader, then a copy of the card") from error
        if done < len(view):
            raise Fault(f"ends before sample {first + count}", str(head.path), "read it again")
        repack(view, head)
        return view


def _unpack_into(out: Samples, packed: memoryview, head: Head) -> None:
    """Turn packed bytes into samples; those of 24 bits, the usual ones, without another copy."""
    if head.sample_bytes == 3 and not head.is_float and out.flags.c_contiguous:
        flat = out.reshape(-1)
        flat[0] = int.from_bytes(packed[:3], "little", signed=True)
        overlapping = np.ndarray((len(flat) - 1,), "<i4", packed, offset=2, strides=(3,))
        np.right_shift(overlapping, 8, out=flat[1:])
        return
    out[:] = unpack(packed, head.form)
    if head.is_float:
        np.nan_to_num(out, copy=False, nan=0.0, posinf=0.0, neginf=0.0)
