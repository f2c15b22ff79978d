"""Files of cameras and recorders: what is in them, and any stretch of their sound at its place.

Conventions: device time is 0 at the first picture that is shown; in a file without pictures, at its first sample. Sound
is placed by the time stamps of its packets, never by counting from the start of the file: containers put an encoder's
lead in front of the sound, and some, as Matroska files of older programs, show the first picture as much later instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.wave import Head, read_head
from fieldfare.takes.wave.blocks import blocks
from fieldfare.takes.wave.sets import SUFFIXES
from fieldfare.units.faults import Fault
from fieldfare.units.text import printable

PICTURE_SUFFIXES = frozenset((".mp4", ".mov", ".m4v", ".mkv", ".mts", ".m2ts", ".avi", ".mxf", ".webm"))
SOUND_SUFFIXES = frozenset((".m4a", ".mp3", ".flac", ".aac", ".ogg", ".opus", ".mka", ".w64", ".aif", ".aiff"))
_LEAD_S = 0.25  # decoded ahead of what is wanted: the first packets after a leap are not whole
_APART_S = 0.005  # between where a packet should come and where its stamp puts it: more is a gap
_LOOKED_AT = 96  # packets of a picture's start
_COARSE = 4  # samples: where a container's stamps are no finer, frames are put on the grid that all of them tell
_GRID_FRAMES = 160
_CANCELS = 0.3  # channels whose mean is weaker than this against either are turned over against one another
F32 = NDArray[np.float32]


@dataclass(frozen=True)
class Media:
    """What a file holds."""

    path: Path
    container: str  # mov,mp4…; matroska,webm; wav
    length_s: float  # device time of its end
    origin_s: float  # time stamp of device time 0
    picture_rate: Fraction | None
    frames: int
    picture_codec: str
    sound_codec: str  # "" where it has no sound
    sound_rate_hz: int
    channels: int
    sound_begins_s: float  # device time of its first sample by its stamp
    timecode: str
    created: str
    head: Head | None  # of a plain recording


def media_files(path: Path) -> tuple[Path, ...]:
    """Return the clips that a name stands for: itself, or all of a folder in the order of their names.

    Raises
    ------
    Fault
        There is nothing, or nothing of a kind that is known.
    """
    known = PICTURE_SUFFIXES | SOUND_SUFFIXES | SUFFIXES
    if path.is_dir():
        found = sorted(
            one for one in path.rglob("*") if one.suffix.casefold() in known and not one.name.startswith(".")
        )
        if not found:
            raise Fault("holds no file of a camera or a recorder", str(path), "name the folder of its clips")
        return tuple(found)
    if not path.exists():
        raise Fault("there is no such file or folder", str(path), "name a camera's file, or the folder of its clips")
    if path.suffix.casefold() not in known:
        raise Fault("is not a kind of file that cameras and recorders write", str(path), "name MP4, MOV, MKV or WAV")
    return (path,)


def clip_name(path: Path, root: Path) -> str:
    """Return what a clip is called in reports: its way from the folder of its camera, as text."""
    return printable(path.relative_to(root).as_posix())


def probe(path: Path) -> Media:
    """Look into a file.

    Raises
    ------
    Fault
        It cannot be opened, or holds neither pictures nor sound.
    """
    if path.suffix.casefold() in SUFFIXES:
        return _recording(path)
    try:
        with opened(path) as container:
            return _probed(container, path)
    except (OSError, ValueError) as error:  # av's own errors are among both
        raise Fault(f"cannot be read ({_why(error)})", str(path), "try a copy of the card") from error


def opened(path: Path) -> Any:
    """Open a container for reading: one whose name is no text by its descriptor, as the library's names are UTF-8."""
    import av

    if printable(str(path)) == str(path):
        return av.open(str(path))
    with path.open("rb") as file:
        return av.open("fd:", options={"fd": str(file.fileno())})  # which it doubles for itself


def _why(error: Exception) -> str:
    return str(getattr(error, "strerror", "") or error)


def _recording(path: Path) -> Media:
    head = read_head(path)
    if head.state == "unreadable":
        raise Fault(head.says, str(path), "mend it first")
    bext = head.bext
    return Media(
        path=path,
        container="wav",
        length_s=head.frames / head.rate_hz,
        origin_s=0.0,
        picture_rate=None,
        frames=0,
        picture_codec="",
        sound_codec="pcm",
        sound_rate_hz=head.rate_hz,
        channels=head.channels,
        sound_begins_s=0.0,
        timecode="",
        created=f"{bext.date} {bext.time}".strip() if bext else "",
        head=head,
    )


def _probed(container: Any, path: Path) -> Media:
    pictures = [stream for stream in container.streams.video if not _is_still(stream)]
    sounds = list(container.streams.audio)
    if not pictures and not sounds:
        raise Fault("holds neither pictures nor sound", str(path), "name a camera's file")
    picture, sound = next(iter(pictures), None), next(iter(sounds), None)
    first = _first_shown(container, picture) if picture else None
    begins = _first_stamp(container, sound)
    origin = first if first is not None else begins or 0.0
    rate = Fraction(picture.average_rate or picture.guessed_rate) if picture else None
    frames = picture.frames if picture else 0
    length = float(container.duration or 0) / 1e6 + (float(container.start_time or 0) / 1e6 - origin)
    if picture and picture.duration:
        length = float(picture.duration * picture.time_base)
    if rate and not frames:
        frames = round(length * rate)
    tags = [container.metadata, *(stream.metadata for stream in container.streams)]
    return Media(
        path=path,
        container=container.format.name,
        length_s=length,
        origin_s=origin,
        picture_rate=rate,
        frames=frames,
        picture_codec=picture.codec_context.name if picture else "",
        sound_codec=sound.codec_context.name if sound else "",
        sound_rate_hz=sound.rate if sound else 0,
        channels=sound.channels if sound else 0,
        sound_begins_s=(begins or 0.0) - origin if sound else 0.0,
        timecode=next((found for one in tags if (found := one.get("timecode") or one.get("TIMECODE"))), ""),
        created=next((found for one in tags if (found := one.get("creation_time"))), ""),
        head=None,
    )


def _is_still(stream: Any) -> bool:
    """A cover picture is a stream of pictures too."""
    return bool(stream.disposition & type(stream.disposition).attached_pic)


def _first_shown(container: Any, stream: Any) -> float | None:
    """Time stamp of the first picture that is shown; those that only others are made from are passed over."""
    stamps = []
    for count, packet in enumerate(container.demux(stream)):
        if packet.pts is not None and not packet.is_discard:
            stamps.append(packet.pts)
        if count >= _LOOKED_AT or (packet.is_keyframe and len(stamps) > 1):
            break
    container.seek(0)
    return float(min(stamps) * stream.time_base) if stamps else None


def _first_stamp(container: Any, stream: Any) -> float | None:
    """Time stamp of the first sample that comes out of the decoder."""
    if stream is None:
        return None
    container.seek(0)
    for frame in container.decode(stream):
        if frame.pts is not None:
            return float(frame.pts * frame.time_base)
    return None


class SoundReader:
    """Reads stretches of one file's sound, mixed to one channel, at the file's own rate. To be used by one thread."""

    def __init__(self, media: Media) -> None:
        self._media = media
        self._container: Any = None
        self._stream: Any = None
        self._grid: tuple[float, float] | None = None  # time of one frame, and from frame to frame

    def __enter__(self) -> Self:
        if self._media.head is None:
            from av.stream import Discard

            self._container = opened(self._media.path)
            self._stream = self._container.streams.audio[0]
            for stream in self._container.streams:
                if stream is not self._stream:
                    stream.discard = Discard.all  # its packets are not even read
            if self._stream.time_base * self._media.sound_rate_hz > _COARSE:
                self._grid = _grid_of(self._container, self._stream, self._media.sound_rate_hz)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._container is not None:
            self._container.close()

    def read(self, start_s: float, length_s: float) -> F32:
        """Read a stretch from a device time on; what is not there is silence.

        Parameters
        ----------
        start_s
            Device time; sound is placed to the nearest sample. [s]
        length_s
            How much. [s]
        """
        rate_hz = self._media.sound_rate_hz
        out: F32 = np.zeros(round(length_s * rate_hz), np.float32)
        if self._media.head is not None:
            self._from_recording(out, round(start_s * rate_hz), self._media.head)
            return out
        try:
            self._decode(out, start_s)
        except (OSError, ValueError) as error:
            at = f"at {start_s:.1f} s"
            raise Fault(
                f"its sound cannot be decoded {at} ({_why(error)})", str(self._media.path), "try another copy"
            ) from error
        return out

    def _from_recording(self, out: F32, first: int, head: Head) -> None:
        begin, end = max(0, first), min(head.frames, first + len(out))
        if end <= begin:
            return
        at = begin
        for part in blocks(head, end - begin, begin):
            mono = _one_channel(np.asarray(part, np.float32).T * np.float32(1.0 / head.full_scale))
            count = min(len(mono), end - at)
            out[at - first : at - first + count] = mono[:count]
            at += count
            if at >= end:
                return

    def _decode(self, out: F32, start_s: float) -> None:
        import av

        stream, rate_hz = self._stream, self._media.sound_rate_hz
        plain = av.AudioResampler(format="fltp")
        stamp_s = start_s + self._media.origin_s
        self._container.seek(
            int(max(0.0, stamp_s - _LEAD_S) / stream.time_base), stream=stream, backward=True, any_frame=False
        )
        channels: F32 = np.zeros((max(1, stream.channels), len(out)), np.float32)
        unit_s, expected = 0.0, None
        for frame in self._container.decode(stream):
            if frame.pts is None:
                continue
            unit_s = unit_s or float(frame.time_base)
            at = round((self._exact(frame.pts * unit_s) - stamp_s) * rate_hz)
            if expected is not None and abs(at - expected) <= _APART_S * rate_hz:
                at = expected
            expected = at + frame.samples
            if at >= len(out):
                break
            if expected > 0:
                for one in (frame,) if frame.format.name == "fltp" else plain.resample(frame):
                    _put(channels, one, at)
        out[:] = _one_channel(channels)

    def _exact(self, stamp_s: float) -> float:
        """Undo the rounding of a stamp, where it was rounded and the frames run on evenly."""
        if self._grid is None:
            return stamp_s
        first, step = self._grid
        near = first + round((stamp_s - first) / step) * step
        return near if abs(near - stamp_s) <= 1.2 * float(self._stream.time_base) else stamp_s


def _grid_of(container: Any, stream: Any, rate_hz: int) -> tuple[float, float] | None:
    """Average the rounded stamps of a file's first frames; Matroska keeps no finer ones than milliseconds."""
    container.seek(0)
    off, size, done = [], 0, 0
    for count, frame in enumerate(container.decode(stream)):
        if count and frame.pts is not None:  # the first may have lost the encoder's lead
            if size and frame.samples != size:
                break
            size = frame.samples
            off.append(float(frame.pts * frame.time_base) - done / rate_hz)
            done += frame.samples
        if count >= _GRID_FRAMES:
            break
    return (float(np.mean(off)), size / rate_hz) if len(off) >= _GRID_FRAMES // 4 else None


def _put(channels: F32, frame: Any, at: int) -> None:
    """Put what a frame holds of each channel where it belongs; where it has fewer, its last stands for the others."""
    skip = max(0, -at)
    count = min(frame.samples - skip, channels.shape[1] - max(0, at))
    for place, row in enumerate(channels):
        plane = frame.planes[min(place, len(frame.planes) - 1)]
        row[max(0, at) : max(0, at) + count] = np.frombuffer(plane, np.float32, frame.samples)[skip : skip + count]


def _one_channel(sound: NDArray[Any]) -> F32:
    """Mix channels, shape (channels, samples), to one; where they cancel one another the strongest is taken."""
    if len(sound) == 1:
        only: F32 = sound[0]
        return only
    mixed: F32 = np.add.reduce(sound, axis=0) * np.float32(1 / len(sound))
    powers = [float(np.dot(row, row)) for row in sound]
    if float(np.dot(mixed, mixed)) < _CANCELS**2 * max(powers):
        strongest: F32 = sound[powers.index(max(powers))]
        return strongest
    return mixed
