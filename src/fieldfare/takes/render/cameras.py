"""Cameras and second recorders at a rendered show: each with its own place, clock, level control and noise.

A camera hears the stage and the room from where it stands; its sound goes through a level control that is slow to rise
and quick to fall, into a lossy encoder where its container has one. Its clock runs a little fast or slow, so that its
samples and its frames are not those of the recorder. What is true of it is added to `truth.json`.

Conventions: t_take = offset + t_device / (1 + ppm·10⁻⁶), in seconds; t_device is 0 at the first picture, or the first
sample of a recorder.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import log10
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.record import Place3
from fieldfare.takes.render.paths import Ear, diffuse_amplitude, paths_of
from fieldfare.takes.render.pictures import HEIGHT, WIDTH, picture
from fieldfare.takes.render.room import BLOCK, LEAD, Room
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.sound import Sound, lowpass
from fieldfare.takes.render.stage import Stage
from fieldfare.takes.render.truth import TrueArrival, TrueCamera, Truth
from fieldfare.takes.render.write import TRUTH, dry_blocks

PEAK_DBFS = -9.0  # where the loudest moment would lie without a level control
AGC_HOP_S = 0.01
AGC_TARGET_DBFS, AGC_MOST_DB = -18.0, 24.0
AGC_RISE_DB_S, AGC_FALL_DB_S = 3.0, 120.0
BUMPS_PER_MINUTE = 2.0
SOUND_CODECS = {".mp4": "aac", ".mov": "pcm_s16le", ".mkv": "aac"}


@dataclass(frozen=True, slots=True)
class CameraSpec:
    """A camera, or a recorder where it has no frame rate, and one clip of it."""

    name: str
    at: Place3
    file: str  # its ending tells the container: mp4, mov, mkv, wav
    start_s: float  # on the take's axis; negative where it ran before
    length_s: float
    ppm: float = 0.0  # by how much its clock is fast
    frame_rate: str = "25"  # blank for a recorder without pictures
    rate_hz: int = 48_000
    level_control: bool = True
    noise_dbfs: float = -62.0
    bit_rate: int = 128_000
    timecode: str = ""  # of its first frame


def render_cameras(
    stage: Stage, folder: Path, cameras: Sequence[CameraSpec], *, subfolder: str = "cameras"
) -> tuple[TrueCamera, ...]:
    """Render what cameras recorded of a show that was rendered.

    Parameters
    ----------
    stage
        The stage, set as for the show's own render.
    folder
        Where the show's truth lies; the cameras' files go into a folder in it.
    cameras
        Which cameras, and their clips.
    subfolder
        What that folder is called.

    Returns
    -------
    What is true of every file; it is added to the show's truth too.
    """
    (folder / subfolder).mkdir(exist_ok=True)
    heard, loud = _heard(stage, tuple({(one.name, one.at) for one in sorted(cameras, key=lambda one: one.name)}))
    found = []
    for one in cameras:
        path = folder / subfolder / one.file
        sound = _recorded(heard[one.name, one.at], one, stage)
        frames = _write(path, one, sound, loud, stage.programme.rate_hz)
        found.append(_truth(stage, one, f"{subfolder}/{one.file}", frames, len(sound)))
    path = folder / TRUTH
    truth = Truth.model_validate(json.loads(path.read_text("utf-8")))
    more = truth.model_copy(update={"camera": (*truth.camera, *found)})
    path.write_text(more.model_dump_json(indent=1) + "\n", "utf-8")
    return tuple(found)


def _ear(stage: Stage, name: str, at: Place3) -> Ear:
    """What a camera's microphone hears with: an omni at its place, its gain set for the loudest moment."""
    row = stage.plan.input[0].model_copy(
        update={"id": name, "taking": "mic", "recipe": "camera", "at": at, "aim": (0.0, 1.0, 0.0), "flip": False}
    )
    room = sum((10 ** (one.level_db / 20) * diffuse_amplitude(one, stage.hall)) ** 2 for one in stage.sounders) ** 0.5
    return Ear(row, (), PEAK_DBFS - 20 * log10(room) - 12.0, 1.0, -90.0)


def _heard(stage: Stage, places: Sequence[tuple[str, Place3]]) -> tuple[dict[tuple[str, Place3], Sound], Sound]:
    """What is heard at places over the take, and how loud the stage itself is from moment to moment."""
    ears = tuple(_ear(stage, name, at) for name, at in places)
    paths = paths_of(stage.sounders, ears, stage.hall, stage.programme.rate_hz)
    there = replace(stage, ears=ears, paths=paths, planted=())
    frames = stage.programme.frames
    out: Sound = np.zeros((len(ears), frames + LEAD + BLOCK), np.float32)
    loud: Sound = np.zeros(frames + LEAD + 2 * BLOCK, np.float32)
    strength = np.array([10 ** (one.level_db / 20) for one in stage.sounders], np.float32)
    strength[[one.family == "audience" for one in stage.sounders]] = 0.0

    def watched(blocks: Iterator[Sound]) -> Iterator[Sound]:
        at = 0
        for block in blocks:
            part = loud[at : at + BLOCK]
            part += (np.abs(block) * strength[:, None]).max(axis=0)[: len(part)]
            at += BLOCK
            yield block

    with ThreadPoolExecutor(os.cpu_count() or 1) as workers:
        at = 0
        for block in Room(there, workers).hear(watched(dry_blocks(there, workers))):
            end = min(out.shape[1], at + BLOCK)
            out[:, at:end] = block[:, : end - at]
            at = end
    heard = {place: out[number, LEAD : LEAD + frames] for number, place in enumerate(places)}
    return heard, loud[:frames] / max(float(loud.max()), 1e-9)


def _recorded(heard: Sound, one: CameraSpec, stage: Stage) -> Sound:
    """What a camera's encoder is given: its stretch of the take, on its own clock, shape (samples,)."""
    import soxr

    rate_hz = stage.programme.rate_hz
    first = round(one.start_s * rate_hz)
    count = round(one.length_s * rate_hz)
    rng = seeded(stage.seed, "camera", one.file)
    margin = rate_hz // 10
    stretch = np.zeros(count + margin, np.float32)
    begin, end = max(0, first), min(len(heard), first + count + margin)
    if end > begin:
        stretch[begin - first : end - first] = heard[begin:end]
    stretch += _noise(one, len(stretch), rate_hz, rng)
    if one.level_control:
        stretch = level_control(stretch, rate_hz)
    stretch = np.tanh(stretch)
    clock_hz = one.rate_hz * (1 + one.ppm * 1e-6)
    own = soxr.resample(stretch.astype(np.float64), rate_hz, clock_hz, quality="VHQ")
    return np.asarray(own[: round(one.length_s * clock_hz)], np.float32)


def _noise(one: CameraSpec, count: int, rate_hz: int, rng: np.random.Generator) -> Sound:
    """Hiss, and the thump of somebody who touches the camera now and then."""
    hiss = np.float32(10 ** (one.noise_dbfs / 20) / 2**0.5)
    out: Sound = hiss * rng.standard_normal(count, dtype=np.float32)
    thump = lowpass(rng.standard_normal(rate_hz // 4, dtype=np.float32), rate_hz, 90.0)
    thump *= np.hanning(len(thump)).astype(np.float32) * np.float32(0.5) / np.float32(np.abs(thump).max())
    for at in rng.integers(0, max(1, count - len(thump)), int(rng.poisson(BUMPS_PER_MINUTE * count / rate_hz / 60))):
        out[at : at + len(thump)] += thump[: max(0, count - at)]
    return out


def level_control(sound: Sound, rate_hz: int) -> Sound:
    """Raise what is soft and lower what is loud, as a camera does that is left to itself.

    Parameters
    ----------
    sound
        Shape (samples,).
    rate_hz
        Sample rate. [Hz]
    """
    hop = round(AGC_HOP_S * rate_hz)
    hops = -(-len(sound) // hop)
    padded = np.pad(sound, (0, hops * hop - len(sound))).reshape(hops, hop)
    level_db = 10 * np.log10(2 * np.mean(padded**2, axis=1) + 1e-12)
    wanted = np.clip(AGC_TARGET_DBFS - level_db, -AGC_MOST_DB, AGC_MOST_DB)
    gain_db = np.empty(hops)
    now = 0.0
    for place, target in enumerate(wanted.tolist()):
        now = (
            max(target, now - AGC_FALL_DB_S * AGC_HOP_S)
            if target < now
            else min(target, now + AGC_RISE_DB_S * AGC_HOP_S)
        )
        gain_db[place] = now
    gain = 10 ** (np.interp(np.arange(len(sound)) / hop, np.arange(hops), gain_db) / 20)
    return sound * gain.astype(np.float32)


def _truth(stage: Stage, one: CameraSpec, file: str, frames: int, samples: int) -> TrueCamera:
    rate_hz = stage.programme.rate_hz
    paths = paths_of(stage.sounders, (_ear(stage, one.name, one.at),), stage.hall, rate_hz)
    return TrueCamera(
        name=one.name,
        file=file,
        at=one.at,
        offset_s=round(one.start_s * rate_hz) / rate_hz,
        ppm=one.ppm,
        frame_rate=one.frame_rate,
        frames=frames,
        rate_hz=one.rate_hz,
        samples=samples,
        arrival=tuple(
            TrueArrival(
                sound=stage.sounders[path.sounder].name, distance_m=path.distance_m, late_s=path.delay / rate_hz
            )
            for path in paths
        ),
    )


def _write(path: Path, one: CameraSpec, sound: Sound, loud: Sound, take_hz: int) -> int:
    if path.suffix == ".wav":
        from fieldfare.takes.wave import write_whole

        whole = np.clip(np.rint(sound * (1 << 23)), -(1 << 23), (1 << 23) - 1).astype(np.int32)
        write_whole(path, one.rate_hz, 24, whole)
        return 0
    return write_clip(path, sound, one, _columns(one, loud, take_hz))


def _columns(one: CameraSpec, loud: Sound, take_hz: int) -> NDArray[np.float64]:
    """How loud the stage is while each frame is exposed."""
    rate = Fraction(one.frame_rate)
    count = int(one.length_s * (1 + one.ppm * 1e-6) * rate)
    edges_s = one.start_s + np.arange(count + 1) * float(1 / rate) / (1 + one.ppm * 1e-6)
    edges = np.rint(edges_s * take_hz).astype(np.int64)
    inside = [(max(0, first), max(0, last)) for first, last in pairwise(edges.tolist())]
    return np.array([float(loud[first:last].max(initial=0.0)) for first, last in inside])


def write_clip(path: Path, sound: Sound, one: CameraSpec, columns: NDArray[np.float64]) -> int:
    """Write a clip with test pictures; return how many frames it has.

    Parameters
    ----------
    path
        The file.
    sound
        At the camera's rate, shape (samples,).
    one
        The camera.
    columns
        How loud the stage is in every frame, re its loudest. [1]
    """
    import av

    rate = Fraction(one.frame_rate)
    codec = SOUND_CODECS[path.suffix]
    with av.open(str(path), "w") as container:
        pictures: Any = container.add_stream("libx264", rate=rate)
        pictures.width, pictures.height, pictures.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        pictures.options = {"preset": "ultrafast", "g": str(round(2 * rate)), "bf": "2", "crf": "28"}
        if one.timecode:
            pictures.metadata["timecode"] = one.timecode
        sounds: Any = container.add_stream(codec, rate=one.rate_hz, layout="stereo")
        if codec == "aac":
            sounds.bit_rate = one.bit_rate
        done = 0
        for number, column in enumerate(columns):
            frame = av.VideoFrame.from_ndarray(picture(number, float(column)), format="gray").reformat(format="yuv420p")
            frame.pts, frame.time_base = number, 1 / rate
            container.mux(pictures.encode(frame))
            end = min(len(sound), round((number + 1) * one.rate_hz / rate))
            _encode_sound(container, sounds, sound[done:end], done, one.rate_hz)
            done = end
        _encode_sound(container, sounds, sound[done:], done, one.rate_hz)
        container.mux(pictures.encode(None))
        container.mux(sounds.encode(None))
    return len(columns)


def _encode_sound(container: Any, stream: Any, sound: Sound, at: int, rate_hz: int) -> None:
    import av

    if not len(sound):
        return
    clipped = np.clip(sound, -1, 1)
    if stream.codec_context.name == "aac":
        frame = av.AudioFrame.from_ndarray(np.stack([clipped, clipped]), format="fltp", layout="stereo")
    else:
        whole = np.rint(clipped * 32767).astype(np.int16)
        frame = av.AudioFrame.from_ndarray(np.repeat(whole, 2).reshape(1, -1), format="s16", layout="stereo")
    frame.sample_rate, frame.pts, frame.time_base = rate_hz, at, Fraction(1, rate_hz)
    container.mux(stream.encode(frame))
