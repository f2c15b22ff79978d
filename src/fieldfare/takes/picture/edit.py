"""What an editor is given: each camera in pieces that are in time with the take, in open formats.

A camera's clock drifts and an editor's does not, so one long clip would slide out of time by frames in an hour. Clips
are therefore cut at the songs and every few minutes, each piece put in time at its middle, to the nearest frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from fieldfare.show.picture import Clip, Device
from fieldfare.takes.picture.clock import Clock
from fieldfare.takes.picture.timecode import frame_of
from fieldfare.takes.rough.choose import Stretch

LONGEST_S = 240.0
SHORTEST_FRAMES = 12
BEGIN_HOUR = 1  # the take's first sample stands at 01:00:00:00


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a clip on the take's axis, in frames of its camera."""

    clip: Clip
    rate: Fraction
    record: int  # first frame on the take's axis; frame 0 begins with sample 0
    source: int  # first frame of the clip
    frames: int
    song: str  # title of the song it begins in, "" between songs
    off_ms: float  # by how much our sound is early against it at its middle: only whole frames can be chosen

    @property
    def end(self) -> int:
        """Frame after the last on the take's axis."""
        return self.record + self.frames


def clock_of(clip: Clip) -> Clock:
    """The clock of a clip as it was found."""
    return Clock(clip.offset_s, clip.ppm, tuple((one.device_s, one.late_s) for one in clip.corner))


def pieces_of(device: Device, songs: Sequence[Stretch], rate_hz: int, take_frames: int) -> tuple[Piece, ...]:
    """Cut a camera's clips to pieces that follow one another without overlap.

    Parameters
    ----------
    device
        The camera.
    songs
        Songs, in samples.
    rate_hz
        Sample rate of the take. [Hz]
    take_frames
        Length of the take. [sample]
    """
    found: list[Piece] = []
    for clip in device.clip:
        if not clip.found or not clip.picture_rate:
            continue
        rate, clock = Fraction(clip.picture_rate), clock_of(clip)
        first = max(0.0, clip.start_s, float(found[-1].end / found[-1].rate) if found else 0.0)
        last = min(clip.end_s, take_frames / rate_hz)
        for start_s, end_s in pairwise(_corners(first, last, songs, rate_hz)):
            piece = _piece(clip, clock, rate, (start_s, end_s), songs, rate_hz)
            if piece is not None:
                found.append(piece)
    return tuple(found)


def _corners(first_s: float, last_s: float, songs: Sequence[Stretch], rate_hz: int) -> list[float]:
    """Where a clip is cut: at the songs, and so that no piece is too long."""
    inside = sorted({edge / rate_hz for song in songs for edge in (song.start, song.end)})
    marks = [first_s, *(at for at in inside if first_s < at < last_s), last_s]
    corners = [first_s]
    for one, other in pairwise(marks):
        count = max(1, -int(-(other - one) // LONGEST_S))
        corners += [one + (other - one) * (step + 1) / count for step in range(count)]
    return corners


def _piece(
    clip: Clip, clock: Clock, rate: Fraction, span_s: tuple[float, float], songs: Sequence[Stretch], rate_hz: int
) -> Piece | None:
    record, end = (round(at * rate) for at in span_s)
    middle_s = (record + end) / 2 / float(rate)
    exact = clock.to_device(middle_s) * float(rate) - (end - record) / 2
    source = round(exact)
    skipped = max(0, -source)
    record, source = record + skipped, source + skipped
    frames = min(end - record, clip.frames - source)
    if frames < SHORTEST_FRAMES:
        return None
    at = (record + 1) * rate_hz / rate
    song = next((one.title for one in songs if one.start <= at < one.end), "")
    return Piece(clip, rate, record, source, frames, song, 1000 * (exact + skipped - source) / float(rate))


def source_start(clip: Clip) -> int:
    """Frame count of a clip's first picture: of its timecode, or 0."""
    return frame_of(clip.timecode, Fraction(clip.picture_rate)) if clip.timecode else 0


def hour_of(rate: Fraction) -> int:
    """Frame count at which the take begins."""
    return frame_of(
        f"{BEGIN_HOUR:02d}:00:00{';' if rate.denominator == 1001 and rate.numerator > 24_000 else ':'}00", rate
    )


def marks_of(songs: Sequence[Stretch], rate: Fraction, rate_hz: int) -> list[tuple[int, int, str]]:
    """First frame, number of frames and title of every song."""
    return [
        (
            round(Fraction(song.start, rate_hz) * rate),
            round(Fraction(song.end - song.start, rate_hz) * rate),
            song.title,
        )
        for song in songs
    ]
