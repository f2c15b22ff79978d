"""Listening to a clip: how it changes from moment to moment, and stretches of its sound at the take's rate."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.picture.coarse import Chunk
from fieldfare.takes.picture.fine import STRETCH_S, Stretch
from fieldfare.takes.picture.media import Media, SoundReader
from fieldfare.takes.picture.novelty import BANDS, PER_S, band_powers, novelty

WHOLE_S = 720.0  # clips up to this are read whole, of longer ones a stretch of every minute
EVERY_S, LISTENED_S = 48.0, 14.0
CHUNK_S = 600.0
MOST_STRETCHES = 64
SHORTEST_S = 2.8  # of a stretch that is listened to
_SHARE = 16  # spans that one worker reads in a row
F32 = NDArray[np.float32]
_Span = tuple[float, F32, Stretch | None]


@dataclass(frozen=True)
class Heard:
    """A clip as it was listened to."""

    chunks: tuple[Chunk, ...]
    stretches: tuple[Stretch, ...]


def listen(media: Media, rate_hz: int, pool: Executor) -> Heard:
    """Listen to a clip, or to a stretch of every minute of it.

    Parameters
    ----------
    media
        The clip.
    rate_hz
        Rate of the take. [Hz]
    pool
        Who shares the work.

    Raises
    ------
    Fault
        Its sound cannot be decoded.
    """
    if not media.sound_codec:
        return Heard((), ())
    length = media.length_s
    if length <= WHOLE_S:
        spans = [(start, min(LISTENED_S, length - start)) for start in np.arange(0, length, LISTENED_S).tolist()]
    else:
        spans = [(start, LISTENED_S) for start in np.arange(0, length - LISTENED_S, EVERY_S).tolist()]
    kept = set(np.linspace(0, len(spans) - 1, min(MOST_STRETCHES, len(spans))).round().astype(int).tolist())
    shares = [range(first, min(first + _SHARE, len(spans))) for first in range(0, len(spans), _SHARE)]
    found = [one for part in pool.map(partial(_some, media, spans, kept, rate_hz), shares) for one in part]
    whole = np.concatenate([powers for _, powers, _ in found], axis=1) if found else np.zeros((BANDS, 0), np.float32)
    changes = novelty(whole) if whole.shape[1] else whole
    return Heard(tuple(_chunks(found, changes)), tuple(one for _, _, one in found if one is not None))


def _some(
    media: Media, spans: Sequence[tuple[float, float]], kept: set[int], rate_hz: int, places: range
) -> list[_Span]:
    found = []
    with SoundReader(media) as reader:
        for place in places:
            start, length = spans[place]
            sound = reader.read(start, length)
            powers = band_powers(sound, media.sound_rate_hz)
            stretch = None
            if place in kept and length >= SHORTEST_S:
                part = sound[: round(min(length, STRETCH_S) * media.sound_rate_hz)]
                stretch = Stretch(start, _at_rate(part, media.sound_rate_hz, rate_hz))
            found.append((start, powers, stretch))
    return found


def _at_rate(sound: F32, rate_hz: int, wanted_hz: int) -> F32:
    if rate_hz == wanted_hz:
        return sound
    import soxr

    return np.asarray(soxr.resample(sound, rate_hz, wanted_hz, quality="HQ"), np.float32)


def _chunks(found: Sequence[_Span], changes: F32) -> list[Chunk]:
    """Lay what was listened to out in chunks, with nothing where it was not."""
    chunks = []
    at = 0
    groups: dict[int, list[tuple[float, F32]]] = {}
    for start, powers, _ in found:
        part = changes[:, at : at + powers.shape[1]].copy()
        part[:, :1] = 0  # against the end of the stretch before it says nothing
        groups.setdefault(int(start / CHUNK_S), []).append((start, part))
        at += powers.shape[1]
    for parts in groups.values():
        first = parts[0][0]
        length = max(round((start - first) * PER_S) + part.shape[1] for start, part in parts)
        out: F32 = np.zeros((BANDS, length), np.float32)
        for start, part in parts:
            place = round((start - first) * PER_S)
            out[:, place : place + part.shape[1]] = part
        chunks.append(Chunk(first, out))
    return chunks
