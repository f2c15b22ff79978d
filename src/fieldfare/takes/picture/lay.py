"""Our mix laid under a camera's picture: the picture's packets copied as they are, the sound on the camera's clock.

The picture keeps its own time, so the sound is brought to it: resampled by the drift of the camera, into a new file. A
copy is only kept once its packets have been read back and are the same as the camera's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from hashlib import sha256
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.picture import Laid
from fieldfare.takes.picture.clock import Clock
from fieldfare.takes.picture.media import Media, opened
from fieldfare.takes.picture.timecode import drops, frame_of, label_of
from fieldfare.takes.wave import Head, read_head
from fieldfare.takes.wave.blocks import blocks
from fieldfare.units.faults import Fault, NotDone
from fieldfare.units.text import printable

RATE_HZ = 48_000  # of sound to pictures
AAC_BIT_RATE = 320_000
SOUNDS = {".mp4": "aac", ".m4v": "aac", ".mov": "pcm_s24le", ".mkv": "flac"}
_BLOCK = 1 << 15
_CROSS_S = 0.01
F32 = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Mix:
    """A finished mix on the take's axis."""

    path: Path
    start: int  # sample of the take at its first
    title: str


@dataclass(frozen=True)
class _Cut:
    """Which packets of a picture are copied."""

    first_s: float  # device time of the first picture
    last_s: float
    first_frame: int
    shift: int  # taken off every stamp


def lay(
    media: Media,
    clock: Clock,
    mix: Mix,
    path: Path,
    *,
    device: str,
    rate_hz: int,
    span_s: tuple[float, float] | None = None,
) -> Laid:
    """Write a camera's picture with a mix under it.

    Parameters
    ----------
    media
        The camera's file.
    clock
        Its clock.
    mix
        What is laid under it.
    path
        The new file; its ending is that of the camera's, or one of the same family.
    device
        What the camera is called.
    rate_hz
        Sample rate of the take. [Hz]
    span_s
        Take times wanted; the whole clip where none are given. The picture begins at the last moment before them at
        which it can be cut.

    Raises
    ------
    Fault
        The file has no pictures, or none in that span, or is of a kind that pictures cannot be copied from unchanged.
    NotDone
        The place cannot be written.
    """
    if media.picture_rate is None:
        raise Fault("has no pictures", str(media.path), "name a camera's file")
    if path.suffix.casefold() not in SOUNDS:
        raise Fault("pictures of this kind are not copied", str(media.path), "name MP4, MOV or MKV files")
    part = path.with_name(f".{path.stem}.part{path.suffix}")
    try:
        cut = _find_cut(media, clock, span_s)
        digest, frames = _copy(media, clock, mix, part, cut, rate_hz)
        if _digest(part) != (digest, frames):
            raise Fault("its picture does not come through unchanged", str(media.path), "copy it to MOV or MKV first")
        part.replace(path)
    except (OSError, ValueError) as error:
        if isinstance(error, Fault):
            raise
        why = getattr(error, "strerror", "") or str(error)
        raise NotDone(f"cannot be written ({why})", str(path), "check the folder and the room on its disc") from error
    finally:
        part.unlink(missing_ok=True)
    start_s = clock.to_take(cut.first_s)
    return Laid(
        file=path.name,
        device=device,
        clip=printable(media.path.name),
        title=mix.title,
        start_s=round(start_s, 6),
        end_s=round(clock.to_take(cut.first_s + frames / float(media.picture_rate)), 6),
        frames=frames,
        first_frame=cut.first_frame,
        picture_sha256=digest,
        sound=printable(mix.path.name),
        early_s=round(max(0.0, span_s[0] - start_s), 3) if span_s else 0.0,
    )


def _find_cut(media: Media, clock: Clock, span_s: tuple[float, float] | None) -> _Cut:
    """Choose the key picture to begin with; everything before it would need pictures that are not copied."""
    first_s, last_s = 0.0, media.length_s
    if span_s is not None:
        first_s, last_s = max(0.0, clock.to_device(span_s[0])), min(media.length_s, clock.to_device(span_s[1]))
    if last_s <= first_s:
        raise Fault("was not running then", str(media.path), "name another song or camera")
    with opened(media.path) as container:
        stream = _picture_of(container)
        base = stream.time_base
        key = None
        container.seek(int((first_s + media.origin_s) / base), stream=stream, backward=True)
        for packet in container.demux(stream):
            if packet.pts is None:
                continue
            at_s = float(packet.pts * base) - media.origin_s
            if packet.is_keyframe and (key is None or at_s <= first_s + 1e-6):
                key = packet.pts
            if key is not None and packet.dts is not None and float(packet.dts * base) - media.origin_s > first_s:
                break
    if key is None:
        raise Fault("has no picture to begin with there", str(media.path), "name another song or camera")
    begin_s = max(0.0, float(key * base) - media.origin_s)
    rate = media.picture_rate or Fraction(25)
    return _Cut(begin_s, last_s, round(begin_s * rate), key)


def _picture_of(container: Any) -> Any:
    return next(
        stream for stream in container.streams.video if not stream.disposition & type(stream.disposition).attached_pic
    )


def _copy(media: Media, clock: Clock, mix: Mix, path: Path, cut: _Cut, rate_hz: int) -> tuple[str, int]:
    """Copy the packets and encode the sound beside them; return the packets' hash and how many there were."""
    import av

    hashed, count = sha256(), 0
    with opened(media.path) as source, av.open(str(path), "w") as target:
        stream = _picture_of(source)
        copied = target.add_stream_from_template(stream)
        if media.timecode and media.picture_rate:
            copied.metadata["timecode"] = _timecode(media.timecode, media.picture_rate, cut.first_frame)
        sound = _Sound(target, path.suffix.casefold(), clock, mix, cut, rate_hz)
        base = stream.time_base
        source.seek(cut.shift, stream=stream, backward=True)
        highest = -1
        for packet in source.demux(stream):
            if packet.pts is None or packet.pts < cut.shift:
                continue
            over = packet.dts is not None and float(packet.dts * base) - media.origin_s >= cut.last_s
            if over and packet.pts > highest:
                break  # what comes now is shown after all that was copied
            highest = max(highest, packet.pts)
            hashed.update(bytes(packet))
            count += 1
            packet.pts -= cut.shift
            packet.dts = None if packet.dts is None else packet.dts - cut.shift
            packet.stream = copied
            sound.until(float(packet.pts * base))
            target.mux(packet)
        sound.finish(count / float(media.picture_rate or 25))
    return hashed.hexdigest(), count


def _timecode(label: str, rate: Fraction, frames: int) -> str:
    return label_of(frame_of(label, rate) + frames, rate, drop=drops(rate) and label[-3] in ";,")


def _digest(path: Path) -> tuple[str, int]:
    import av

    hashed, count = sha256(), 0
    with av.open(str(path)) as container:
        for packet in container.demux(_picture_of(container)):
            if packet.size:
                hashed.update(bytes(packet))
                count += 1
    return hashed.hexdigest(), count


class _Sound:
    """The sound of a new file, encoded as far as its pictures go."""

    def __init__(self, target: Any, suffix: str, clock: Clock, mix: Mix, cut: _Cut, rate_hz: int) -> None:
        self._target = target
        self._codec = SOUNDS[suffix]
        self._stream = target.add_stream(self._codec, rate=RATE_HZ, layout="stereo")
        if self._codec == "aac":
            self._stream.bit_rate = AAC_BIT_RATE
        elif self._codec == "flac":
            self._stream.format = "s32"
        self._parts = on_device_clock(mix, clock, cut.first_s, cut.last_s, rate_hz)
        self._at = 0

    def until(self, second: float) -> None:
        """Encode up to a second of the new file, and a little more."""
        while self._at < (second + 0.5) * RATE_HZ:
            sound = next(self._parts, None)
            if sound is None:
                return
            self._encode(sound)

    def finish(self, length_s: float) -> None:
        """Encode the rest."""
        self.until(length_s)
        self._target.mux(self._stream.encode(None))

    def _encode(self, sound: F32) -> None:
        import av

        if self._codec == "aac":
            frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(sound.T), format="fltp", layout="stereo")
        else:
            whole = np.clip(np.rint(sound * (1 << 23)), -(1 << 23), (1 << 23) - 1).astype(np.int32) << 8
            frame = av.AudioFrame.from_ndarray(whole.reshape(1, -1), format="s32", layout="stereo")
        frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, self._at, Fraction(1, RATE_HZ)
        self._at += len(sound)
        self._target.mux(self._stream.encode(frame))


def on_device_clock(mix: Mix, clock: Clock, first_s: float, last_s: float, rate_hz: int) -> Iterator[F32]:
    """Go through a mix as a device's clock would have it, at 48 kHz; what the mix does not hold is silence.

    Parameters
    ----------
    mix
        The mix.
    clock
        Of the device.
    first_s, last_s
        Device times. [s]
    rate_hz
        Sample rate of the take, and of the mix. [Hz]

    Yields
    ------
    Sound of shape (frames, 2), in blocks.
    """
    head = read_head(mix.path)
    if head.rate_hz != rate_hz or head.channels != 2:
        raise Fault(f"is not a stereo mix at {rate_hz} Hz", str(mix.path), "render it with fieldfare rough")
    corners = [first_s, *(at for at, _ in clock.corners if first_s + 1 < at < last_s - 1), last_s]
    edges = [round((at - first_s) * RATE_HZ) for at in corners]
    cross = round(_CROSS_S * RATE_HZ)
    tail: F32 = np.zeros((0, 2), np.float32)
    for place, (begin, end) in enumerate(pairwise(edges)):
        line = clock.near(corners[place], corners[place + 1])
        endless = _straight(head, mix.start, line, first_s + begin / RATE_HZ, rate_hz)
        if place == len(edges) - 2:
            yield from _joined(tail, _first(endless, end - begin))
        else:  # from corner to corner: short enough to be held, so that the next can begin under its end
            whole = np.concatenate(list(_first(endless, end - begin + cross)))
            yield from _joined(tail, iter((whole[:-cross],)))
            tail = whole[-cross:]


def _first(parts: Iterator[F32], frames: int) -> Iterator[F32]:
    """The first so many frames."""
    while frames > 0:
        part = next(parts)[:frames]
        frames -= len(part)
        yield part


def _joined(tail: F32, parts: Iterator[F32]) -> Iterator[F32]:
    """Fade over from what goes on into what begins."""
    for part in parts:
        count = min(len(tail), len(part))
        if count:
            rising = np.linspace(0, 1, len(tail), dtype=np.float32)[:count, None]
            part[:count] = part[:count] * rising + tail[:count] * (1 - rising)
            tail = tail[:0]
        yield part


def _straight(head: Head, mix_start: int, line: Clock, device_s: float, rate_hz: int) -> Iterator[F32]:
    """Go on for ever from a device time, at a drift that does not change."""
    import soxr

    first = round(line.to_take(device_s) * rate_hz) - mix_start
    stream = soxr.ResampleStream(float(rate_hz), RATE_HZ * (1 + line.ppm * 1e-6), 2, dtype="float32", quality="VHQ")
    for sound in _mixed(head, first):
        out: F32 = stream.resample_chunk(sound)
        if len(out):
            yield out


def _mixed(head: Head, first: int) -> Iterator[F32]:
    """The mix from a sample on, which may lie before its first; silence without end after its last."""
    while first < 0:
        count = min(-first, _BLOCK)
        yield np.zeros((count, 2), np.float32)
        first += count
    if first < head.frames:
        for part in blocks(head, _BLOCK, first):
            yield np.asarray(part, np.float32) * np.float32(1.0 / head.full_scale)
    while True:
        yield np.zeros((_BLOCK, 2), np.float32)


def suffix_for(media: Media) -> str:
    """Ending of a copy of a camera's file; blank where pictures of its kind are not copied.

    A file without a family of its own here goes into Matroska, which holds what others hold.
    """
    suffix = media.path.suffix.casefold()
    if suffix in SOUNDS:
        return suffix
    return ".mkv" if media.picture_rate is not None else ""


def covering(spans: Sequence[tuple[float, float]], wanted: tuple[float, float], least_s: float) -> list[int]:
    """Which of several spans share at least so many seconds with the one wanted, or half of it."""
    least = min(least_s, (wanted[1] - wanted[0]) / 2)
    return [place for place, (start, end) in enumerate(spans) if min(end, wanted[1]) - max(start, wanted[0]) >= least]
