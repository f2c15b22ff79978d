"""Writing a finished mix in other formats, and measuring a file as it will be heard, by decoding it again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.mix import Format
from fieldfare.units.faults import NotDone

F32 = NDArray[np.float32]
CODECS: dict[Format, tuple[str, str, int | None]] = {  # encoder, form of its samples, bits a second
    "flac": ("flac", "s32", None),
    "m4a": ("aac", "fltp", 256_000),
    "mp3": ("libmp3lame", "fltp", 256_000),
}
CONTAINERS = {"flac": "flac", "m4a": "ipod", "mp3": "mp3"}
HIGHEST_HZ: dict[Format, int] = {"flac": 655_350, "m4a": 48_000, "mp3": 48_000}
_STANDARD_HZ = (48_000, 44_100)


def rate_for(form: Format, rate_hz: int) -> int:
    """Return the rate a file gets: the take's own, or the nearest that the format knows below it."""
    if form == "wav" or rate_hz <= HIGHEST_HZ[form]:
        return rate_hz
    return next((rate for rate in _STANDARD_HZ if rate_hz % rate == 0), _STANDARD_HZ[0])


def encode(
    path: Path, form: Format, parts: Iterable[NDArray[np.int32]], rate_hz: int, tags: dict[str, str] | None = None
) -> None:
    """Write a stereo mix.

    Parameters
    ----------
    path
        The file; under this name only once it is whole.
    form
        Its format; not WAV, which the recording's own writer writes.
    parts
        Samples of 24 bits, shape (frames, 2).
    rate_hz
        Their sample rate. [Hz]
    tags
        Title and the like.

    Raises
    ------
    NotDone
        The place cannot be written, or the encoder is not there.
    """
    import av

    part = path.with_name(f".{path.name}.part")
    codec, samples, bit_rate = CODECS[form]
    try:
        with av.open(str(part), "w", format=CONTAINERS[form], options={"fflags": "+bitexact"}) as container:
            container.metadata.update(tags or {})
            stream: Any = container.add_stream(codec, rate=rate_for(form, rate_hz), layout="stereo")
            stream.codec_context.flags |= 1 << 23  # bit exact: no version and no date in the file
            if bit_rate:
                stream.bit_rate = bit_rate
            stream.format = samples
            at = 0
            for sound in _at_rate(parts, rate_hz, rate_for(form, rate_hz)):
                frame = av.AudioFrame.from_ndarray(_laid_out(sound, samples), format=samples, layout="stereo")
                frame.sample_rate, frame.pts = rate_for(form, rate_hz), at
                frame.time_base = Fraction(1, rate_for(form, rate_hz))
                at += len(sound)
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
        part.replace(path)
    except (OSError, ValueError) as error:  # av's own errors are among both
        why = getattr(error, "strerror", "") or str(error)
        raise NotDone(f"cannot be written ({why})", str(path), "check the folder and the room on its disc") from error
    finally:
        part.unlink(missing_ok=True)


def _at_rate(parts: Iterable[NDArray[np.int32]], rate_hz: int, wanted_hz: int) -> Iterator[NDArray[np.int32]]:
    """Bring samples to another rate, where that is wanted."""
    if rate_hz == wanted_hz:
        yield from parts
        return
    import soxr

    stream = soxr.ResampleStream(rate_hz, wanted_hz, 2, dtype="int32", quality="VHQ")
    none = np.zeros((0, 2), np.int32)
    for sound in parts:
        yield stream.resample_chunk(np.ascontiguousarray(sound) << 8) >> 8
    yield stream.resample_chunk(none, last=True) >> 8


def _laid_out(sound: NDArray[np.int32], samples: str) -> NDArray[Any]:
    if samples == "s32":
        return np.ascontiguousarray(sound << 8).reshape(1, -1)
    return np.ascontiguousarray((sound.T * np.float32(2.0**-23)).astype(np.float32))


def decoded(path: Path) -> Iterator[F32]:
    """Decode the sound of a file: shape (frames, channels), full scale 1, at its own rate.

    Raises
    ------
    NotDone
        It cannot be decoded.
    """
    import av

    try:
        with av.open(str(path)) as container:
            stream = container.streams.audio[0]
            resampler = av.AudioResampler(format="fltp", layout=stream.layout, rate=stream.rate)
            for frame in container.decode(stream):
                for plain in resampler.resample(frame):
                    yield plain.to_ndarray().T.astype(np.float32, copy=False)
    except (OSError, ValueError, IndexError) as error:
        raise NotDone(f"cannot be decoded ({error})", str(path), "render it again") from error
