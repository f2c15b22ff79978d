"""Finding where the clips of a camera lie on the take's axis, and how its clock went."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass
from math import comb
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.picture import Clip, ClockCorner, ClockReading, Device, HeardTrack
from fieldfare.show.record import Place3
from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.picture.clock import TOLERANCE_S, Clock, Fit, Readings, fit_clock, shared_ppm, with_corners
from fieldfare.takes.picture.coarse import Place, find_places
from fieldfare.takes.picture.fine import HIGH_S, LOW_S, TRIED, guess_drift, read_clock
from fieldfare.takes.picture.listen import listen
from fieldfare.takes.picture.media import Media, clip_name, media_files, probe
from fieldfare.takes.picture.novelty import BANDS, band_powers, novelty
from fieldfare.takes.picture.travel import Air, Witness, agreed, loud_places, through_s, travel_s, weighted_median

BLOCK_S = 10  # of the take that one worker has in hand: more would not stay near the processor
FIRST_STRETCHES = 24
SCREENED = 2  # stretches by which places that are left open are told apart
REFERENCES = 6
DOUBTFUL = 0.8  # a clip told with less wants a person's eye
SURE_SHARE = 0.5  # of the readings that must agree
SHARED_PPM = 0.5  # a clip that tells its drift less surely than this takes that of its device
AIR_NOTE = (
    "put in time by its sound alone: the picture is early by about 2.9 ms for each metre from the camera to the stage; "
    "say where the camera stood and that is taken off"
)
DISAGREE_NOTE = (
    "the tracks do not agree on the way of the sound to it: by some milliseconds it may be off; look where it stood"
)
UNSURE_AIR = 0.8
F32 = NDArray[np.float32]
Tell = Callable[[str, float], None]


@dataclass(frozen=True)
class Subject:
    """What cameras are compared with: a take, and how it sounds from moment to moment."""

    axis: Axis
    tracks: tuple[AxisTrack, ...]  # that may be listened for
    novelty: F32
    temperature_c: float | None


@dataclass(frozen=True)
class _Placed:
    """A clip whose clock was read."""

    media: Media
    readings: Readings | None = None
    tracks: tuple[AxisTrack, ...] = ()
    fit: Fit | None = None


def subject_of(axis: Axis, temperature_c: float | None = None, tell: Tell | None = None) -> Subject:
    """Listen through a take once, so that cameras can be compared with it.

    Parameters
    ----------
    axis
        The take.
    temperature_c
        Of the room, where somebody said. [°C]
    tell
        Called with what is being done and the share of it that is done.
    """
    tracks = tuple(track for track in axis.track if track.role != "talk")
    some = _references(axis, tracks)
    gains = np.array([gain for _, gain in some], np.float32)
    block = BLOCK_S * axis.rate_hz
    done = 0

    def one(start: int) -> F32:
        nonlocal done
        frames = min(block, axis.frames - start)
        sound = axis.read(start, frames, [track for track, _ in some])
        mixed: F32 = np.einsum("tf,t->f", sound, gains)  # not by BLAS, whose own threads would contend with these
        powers = band_powers(mixed, axis.rate_hz)
        done += frames
        if tell is not None:
            tell("listening to the take", min(1.0, done / max(1, axis.frames)))
        return powers

    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        parts = list(pool.map(one, range(0, axis.frames, block))) if some else []
    none: F32 = np.zeros((BANDS, 0), np.float32)
    powers = np.concatenate([none, *parts], axis=1)
    return Subject(axis, tracks, novelty(powers) if powers.shape[1] else powers, temperature_c)


def _references(axis: Axis, tracks: Sequence[AxisTrack]) -> list[tuple[AxisTrack, float]]:
    """The tracks that together sound most like the room: its own mics first, then the loudest, all made alike."""
    spots = np.linspace(0, max(0, axis.frames - axis.rate_hz), 24).astype(int).tolist()
    power = np.zeros(len(tracks))
    for spot in spots:
        power += (axis.read(spot, min(axis.rate_hz, axis.frames), tracks).astype(np.float64) ** 2).mean(axis=1)
    order = sorted(range(len(tracks)), key=lambda place: (tracks[place].role != "room", -power[place]))
    rooms = [place for place in order if tracks[place].role == "room"][:2]
    others = [place for place in order if tracks[place].role != "room"]
    chosen = [place for place in (*rooms, *others) if power[place] > 0][:REFERENCES]
    return [(tracks[place], float(1 / np.sqrt(power[place] / len(spots)))) for place in chosen]


def sync_device(
    subject: Subject,
    name: str,
    path: Path,
    at: Place3 | None = None,
    tell: Tell | None = None,
) -> Device:
    """Find where the clips of one camera or recorder lie.

    Parameters
    ----------
    subject
        The take, from `subject_of`.
    name
        What the camera is called.
    path
        Its file, or the folder of its clips.
    at
        Where it stood, where somebody said. [m]
    tell
        Called with what is being done and the share of it that is done.

    Raises
    ------
    Fault
        There is no such file, or one cannot be read.
    """
    files = media_files(path)
    root = path if path.is_dir() else path.parent
    placed = []
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        for number, file in enumerate(files):
            if tell is not None:
                tell(f"listening to {file.name}", number / len(files))
            placed.append(_place(subject, probe(file), pool))
    shared = shared_ppm([one.fit for one in placed if one.fit])
    clips = tuple(_told(subject, one, shared, at, root) for one in placed)
    return Device(name=name, at=at, clip=tuple(sorted(clips, key=lambda clip: (not clip.found, clip.offset_s))))


def _place(subject: Subject, media: Media, pool: Executor) -> _Placed:
    """Read the clock at the place that changes of level tell; of several that they leave, at the one heard best."""
    heard = listen(media, subject.axis.rate_hz, pool)
    places = find_places(subject.novelty, heard.chunks)
    if not places:
        return _Placed(media)

    def drift(place: Place, most: int) -> tuple[float, float]:
        return guess_drift(subject.axis, heard.stretches, place.clock(place.ppm), subject.tracks, pool, most)

    place = max(places, key=lambda one: drift(one, SCREENED)[1]) if len(places) > 1 else places[0]
    guess = place.clock(drift(place, TRIED)[0])
    step = max(1, len(heard.stretches) // FIRST_STRETCHES)
    readings, tracks = read_clock(subject.axis, heard.stretches[::step], guess, subject.tracks, pool)
    if (first := fit_clock(readings, guess.ppm)) is None:
        return _Placed(media)
    readings, tracks = read_clock(subject.axis, heard.stretches, _centred(first.clock), tracks, pool)
    return _Placed(media, readings, tracks, fit_clock(readings, first.clock.ppm))


def _centred(clock: Clock) -> Clock:
    """A clock whose lags come out in the middle of those that are looked at."""
    return Clock(clock.offset_s + (LOW_S + HIGH_S) / 2, clock.ppm)


def _told(subject: Subject, placed: _Placed, shared: tuple[float, float] | None, at: Place3 | None, root: Path) -> Clip:
    media = placed.media
    plain = Clip(
        file=clip_name(media.path, root),
        found=False,
        length_s=round(media.length_s, 6),
        picture_rate=str(media.picture_rate) if media.picture_rate else "",
        frames=media.frames,
        timecode=media.timecode,
        sound_begins_ms=round(media.sound_begins_s * 1000, 3),
        container=media.container,
        note=tuple(_notes(media)),
    )
    fit, readings = placed.fit, placed.readings
    if fit is None or readings is None:
        return plain
    borrowed = shared is not None and fit.ppm_sigma > SHARED_PPM and shared[1] < fit.ppm_sigma
    if borrowed and shared is not None:
        fit = fit_clock(readings, shared[0], fixed_ppm=shared[0]) or fit
    clock = with_corners(fit, readings, media.length_s)
    moments = _moments(readings, fit, clock)
    air, air_s, agree, same, said = _air(subject, placed, fit, readings, at)
    sure = _confidence(readings, fit, moments, max(0, same - 1), max(0, said - 1))
    clock = Clock(clock.offset_s + air_s, clock.ppm, clock.corners)
    start_s, end_s = clock.to_take(0.0), clock.to_take(media.length_s)
    sigma = shared[1] if borrowed and shared else fit.ppm_sigma
    return plain.model_copy(
        update={
            "found": sure >= SURE_SHARE,
            "offset_s": round(clock.offset_s, 7),
            "ppm": round(clock.ppm, 3),
            "ppm_plus_minus": round(sigma, 3) if np.isfinite(sigma) else None,
            "ppm_shared": borrowed,
            "corner": tuple(ClockCorner(device_s=round(a, 3), late_s=round(b, 7)) for a, b in clock.corners),
            "start": round(start_s * subject.axis.rate_hz),
            "end": round(end_s * subject.axis.rate_hz),
            "start_s": round(start_s, 6),
            "end_s": round(end_s, 6),
            "confidence": round(sure * agree, 3),
            "residual_ms": round(1000 * _rms([one.residual_ms / 1000 for one in moments]), 3),
            "worst_ms": max((abs(one.residual_ms) for one in moments), default=0.0),
            "air": "drawing" if air else "unknown",
            "air_ms": round(air_s * 1000, 2) if air else 0.0,
            "note": (*plain.note, *_air_notes(media, agree, drawn=air)),
            "reading": tuple(moments),
            "heard": _heard_tracks(subject, placed, fit, readings, at),
        }
    )


def _notes(media: Media) -> list[str]:
    if not media.sound_codec:
        return ["it has no sound to find its place by; put it in by its timecode or by eye"]
    return []


def _air_notes(media: Media, agree: float, *, drawn: bool) -> list[str]:
    if drawn:
        return [] if agree >= UNSURE_AIR else [DISAGREE_NOTE]
    return [AIR_NOTE] if media.picture_rate is not None else []


def _rms(values: Sequence[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else 0.0


def _moments(readings: Readings, fit: Fit, clock: Clock) -> list[ClockReading]:
    """What all tracks together say at each moment that was listened to."""
    found = []
    for device_s in np.unique(readings.device_s[fit.good]).tolist():
        here = fit.good & (readings.device_s == device_s)
        off = [
            float(take_s) - fit.late_s[int(track)] - clock.to_take(device_s)
            for take_s, track in zip(readings.take_s[here], readings.track[here], strict=True)
        ]
        middle = float(np.average(off, weights=readings.clear[here]))
        found.append(
            ClockReading(
                device_s=round(device_s, 4),
                take_s=round(clock.to_take(device_s) + middle, 6),
                residual_ms=round(1000 * middle, 3),
                tracks=len(off),
            )
        )
    return found


def _confidence(readings: Readings, fit: Fit, moments: Sequence[ClockReading], same: int, said: int) -> float:
    """How sure the place is: how much that was read agrees, less the odds that so much would by chance.

    Readings agree with the line, and tracks with one another once their ways through the air are taken off: `same` of
    `said`, beside the first.
    """
    fitted = len(fit.late_s) + 1  # offsets and a drift: so many readings agree with any line
    count = len(readings) - fitted + said
    agreed = int(np.count_nonzero(fit.good)) - fitted + same
    if agreed < 1:
        return 0.0
    chance = 2 * TOLERANCE_S / (HIGH_S - LOW_S)
    by_chance = sum(comb(count, k) * chance**k * (1 - chance) ** (count - k) for k in range(agreed, count + 1))
    return max(0.0, 1 - 1000 * by_chance) * min(1.0, agreed / (0.6 * count)) * min(1.0, len(moments) / 3)


def _air(subject: Subject, placed: _Placed, fit: Fit, readings: Readings, at: Place3 | None) -> Air:
    """Seconds to add, so that the picture agrees with the stage and not with what the camera hears of it."""
    found: list[Witness] = []
    stage: list[float] = []
    stage_weights: list[int] = []
    places = loud_places(subject.tracks)
    for place, track in enumerate(placed.tracks):
        good = int(np.count_nonzero(fit.good & (readings.track == place)))
        if not good or place not in fit.late_s:
            continue
        if at is not None:
            way, ways = travel_s(track, at, subject.temperature_c), through_s(track, at, subject.temperature_c, places)
            found.append(Witness(fit.late_s[place], float(good), way, ways))
        if good > 1 and track.role in ("close", "voice"):
            stage.append(fit.late_s[place])
            stage_weights.append(good)
    if any(one.own_s is not None for one in found):
        return agreed(found)
    return Air(False, weighted_median(stage, stage_weights) if stage else 0.0, 1.0)


def _heard_tracks(
    subject: Subject, placed: _Placed, fit: Fit, readings: Readings, at: Place3 | None
) -> tuple[HeardTrack, ...]:
    found = []
    for place, track in enumerate(placed.tracks):
        good = int(np.count_nonzero(fit.good & (readings.track == place)))
        if good and place in fit.late_s:
            way = travel_s(track, at, subject.temperature_c) if at is not None else None
            late = round(-1000 * fit.late_s[place], 3)
            travel = None if way is None else round(1000 * way, 3)
            found.append(HeardTrack(track=track.label, late_ms=late, travel_ms=travel, readings=good))
    return tuple(found)
