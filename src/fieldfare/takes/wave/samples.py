"""Packed bytes to samples and back: 8, 16, 24 and 32-bit whole numbers, 32 and 64-bit float, little end first."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fieldfare.takes.wave.form import Form
from fieldfare.units.faults import OutOfRange

Samples = NDArray[np.int32 | np.float32 | np.float64]
Packed = bytes | bytearray | memoryview


def sample_type(form: Form) -> type[np.int32] | type[np.float32] | type[np.float64]:
    """Return the type that samples of a form have in memory."""
    if not form.is_float:
        return np.int32
    return np.float32 if form.sample_bytes == 4 else np.float64


def unpack(packed: Packed, form: Form) -> Samples:
    """Turn packed bytes into samples.

    Parameters
    ----------
    packed
        Whole frames.
    form
        How they are laid out.

    Returns
    -------
    A new array of shape (frames, channels): int32 at the container's own scale, or float32 or float64.
    """
    if form.is_float:
        flat: Samples = np.frombuffer(packed, f"<f{form.sample_bytes}").astype(
            np.float32 if form.sample_bytes == 4 else np.float64
        )
    elif form.sample_bytes == 3:
        flat = unpack_24(packed)
    elif form.sample_bytes == 1:
        flat = np.frombuffer(packed, np.uint8).astype(np.int32) - 128  # 8-bit WAV is unsigned
    else:
        flat = np.frombuffer(packed, f"<i{form.sample_bytes}").astype(np.int32)
    return flat.reshape(-1, form.channels)


def unpack_24(packed: Packed) -> NDArray[np.int32]:
    """Read packed 24-bit samples, each as the top of the 32 bits that end with it: a shift drops the byte below."""
    count = len(packed) // 3
    samples = np.empty(count, np.int32)
    if count:
        samples[0] = int.from_bytes(packed[:3], "little", signed=True)
    if count > 1:
        overlapping: NDArray[np.int32] = np.ndarray((count - 1,), "<i4", packed, offset=2, strides=(3,))
        np.right_shift(overlapping, 8, out=samples[1:])
    return samples


def pack(samples: ArrayLike, form: Form) -> bytes:
    """Turn samples into packed bytes.

    Parameters
    ----------
    samples
        Shape (frames, channels), or (frames,) for one channel, at the scale of `form.full_scale`.
    form
        How to lay them out.

    Raises
    ------
    OutOfRange
        The channels are another number, whole numbers were asked for and others given, or a sample is too large.
    """
    array = np.asarray(samples)
    if array.ndim == 1 and form.channels == 1:
        array = array[:, np.newaxis]
    if array.ndim != 2 or array.shape[1] != form.channels:
        raise OutOfRange(f"shape {array.shape}", "samples", f"give (frames, {form.channels})")
    if form.is_float:
        return array.astype(f"<f{form.sample_bytes}").tobytes()
    if array.dtype.kind not in "iu":
        raise OutOfRange(f"samples of type {array.dtype}", "samples", f"give whole numbers of {form.bits} bits")
    half = 1 << (8 * form.sample_bytes - 1)
    if array.size and (int(array.min()) < -half or int(array.max()) >= half):
        raise OutOfRange(f"a sample beyond {form.bits} bits", "samples", f"keep them from {-half} to {half - 1}")
    return _pack_whole(array, form.sample_bytes)


def _pack_whole(array: NDArray[np.integer], sample_bytes: int) -> bytes:
    if sample_bytes == 1:
        return (array + 128).astype(np.uint8).tobytes()
    if sample_bytes != 3:
        return array.astype(f"<i{sample_bytes}").tobytes()
    wide = np.ascontiguousarray(array, "<i4").view(np.uint8).reshape(-1, 4)
    packed = np.empty((len(wide), 3), np.uint8)
    for place in range(3):
        packed[:, place] = wide[:, place]
    return packed.tobytes()
