"""Holds cameras at rendered shows to their true clocks, and times a camera of three hours.

python bench/picture.py judged FONT FOLDER NUMBER...   judge gigs one by one; keeps each in bench/picture.json
python bench/picture.py accuracy FOLDER [cases] [first case]
python bench/picture.py speed [hours] [FOLDER]         keeps it in bench/picture.json too

Judged gigs are those of judged.py, with real sampled instruments: a camera that runs all through, one that is stopped
twice, a recorder, each with its own place, clock and noise; python tools/docs_takes.py writes docs/picture.md. A case
of `accuracy` is the demo show with another room and cameras of two minutes, to look at while something is set. They are
kept in the folder, so that only the first run has to make them; so is the long take of `speed` where one is named.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np
import soxr
from judged import SEEN_IN, judged
from kept import keep
from numpy.typing import NDArray
from sampled import sampled

from fieldfare.plan.inputs import soundings
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.drawn import Drawing, drawing_of
from fieldfare.show.picture import Clip
from fieldfare.show.record import Fact
from fieldfare.show.toml import read_show
from fieldfare.takes.axis import find_axes
from fieldfare.takes.picture.edit import clock_of
from fieldfare.takes.picture.sync import Subject, subject_of, sync_device
from fieldfare.takes.render.cameras import CameraSpec, render_cameras, write_clip
from fieldfare.takes.render.stage import set_stage
from fieldfare.takes.render.truth import TrueCamera, Truth
from fieldfare.takes.render.write import TRUTH, render_show
from fieldfare.takes.wave import write

RATE_HZ = 48_000
REVERBERATIONS_S = (0.6, 1.4, 2.4)
NOISES_DBFS = (-65.0, -42.0)
TAKE_S = 120.0
OUT = "picture.json"
SURE = 0.8
OFFSET_S, LATE, PPM = 12.5, 1500, 37.0  # of the camera of the long take: begin, samples its sound is late, drift
NAMES = (
    "room_left", "kick", "room_right", "snare", "hat", "tom_1", "tom_2", "overhead_left", "overhead_right", "bass",
    "guitar", "fiddle", "accordion", "lead_vocal", "trumpet", "clarinet", "saxophone", "bouzouki",
)  # fmt: skip


def _cameras(number: int) -> tuple[CameraSpec, ...]:
    rng = np.random.default_rng(300 + number)
    noise = NOISES_DBFS[number // 3 % 2]
    found = []
    for place, (name, file, rate) in enumerate(
        (("Camera 1", "one.mp4", "25"), ("Camera 2", "two.mov", "30000/1001"), ("Recorder", "three.wav", ""))
    ):
        at = (float(rng.uniform(-3, 3)), -float(rng.uniform(1.5, 12)), float(rng.uniform(0.8, 2.0)))
        start, length = float(rng.uniform(-20, 20)), TAKE_S + float(rng.uniform(-10, 30))
        ppm = float(rng.uniform(-100, 100))
        rate_hz = (48_000, 48_000, 44_100)[place]
        found.append(
            CameraSpec(name, at, file, start, length, ppm, rate, rate_hz, level_control=place < 2, noise_dbfs=noise)
        )
    return tuple(found)


def _case(number: int, folder: Path) -> tuple[Subject, tuple[TrueCamera, ...], float]:
    """Return a show with cameras, rendered where the folder does not hold it yet: the take, the truth, the warmth."""
    with as_file(files("fieldfare.show") / "demo") as documents:
        read = read_show(documents)
    recipes = own_recipes()
    room = read.venue.room.model_copy(
        update={"reverberation_s": Fact(value=REVERBERATIONS_S[number % 3], status="expected")}
    )
    warm = 15.0 + number
    venue = read.venue.model_copy(update={"room": room, "temperature_c": Fact[float](value=warm, status="expected")})
    here, drawn = folder / f"case-{number:02d}", folder / f"case-{number:02d}" / "drawn.json"
    if not drawn.is_file():
        plan = make_plan(read.show, venue, read.kit, read.digest, recipes)
        sounding = tuple(soundings(read.show, venue, recipes))
        render_show(plan, read.show, venue, read.kit, sounding, here, duration_s=TAKE_S, seed=number + 1, planted=())
        stage = set_stage(plan, read.show, venue, read.kit, sounding, TAKE_S, number + 1, ())
        render_cameras(stage, here, _cameras(number))
        drawn.write_text(drawing_of(plan, sounding, warm).model_dump_json(indent=1), "utf-8")
    true = Truth.model_validate_json((here / TRUTH).read_text("utf-8")).camera
    rows = Drawing.model_validate_json(drawn.read_text("utf-8")).input
    (axis,) = find_axes(here / "card", rows)
    return subject_of(axis, warm), true, warm


def judge(font: Path, folder: Path, number: int) -> None:
    """Keep how far off the clocks of a gig are, and how sure they were said to be."""
    one = judged(number, folder, sampled(font))
    (axis,) = find_axes(one.card, one.drawing.input)
    processor = time.process_time()
    subject = subject_of(axis, one.drawing.temperature_c)
    clips = []
    for name in dict.fromkeys(true.name for true in one.truth.camera):
        mine = [true for true in one.truth.camera if true.name == name]
        path = one.folder / mine[0].file
        path = path if len(mine) == 1 else path.parent
        device = sync_device(subject, name, path, mine[0].at)
        for true in mine:
            (clip,) = [clip for clip in device.clip if Path(true.file).name == clip.file]
            clips.append(_held(true, clip, one.truth.frames / one.truth.rate_hz))
            print(f"gig {number}, {clips[-1]}", flush=True)
    keep(OUT, f"gig {number}", {
        "reverberation_s": one.reverberation_s, "noise_db": one.noise_db, "tracks": len(axis.track),
        "length_s": round(axis.frames / axis.rate_hz), "font": font.stem,
        "processor_s": round(time.process_time() - processor, 1), "clip": clips,
    })  # fmt: skip


def _held(true: TrueCamera, clip: Clip, whole_s: float) -> dict[str, object]:
    """Hold a clip to its true clock, every second of it that lies in the take."""
    off = 1000 * np.array(list(_off(true, clip, whole_s)))
    return {
        "name": true.name, "file": true.file.removeprefix(f"{SEEN_IN}/"), "away_m": round(-true.at[1], 1),
        "length_s": round(clip.length_s), "found": clip.found, "confidence": clip.confidence,
        "worst_ms": round(float(np.abs(off).max()), 3), "drift_off_ppm": round(clip.ppm - true.ppm, 3),
        "shared": clip.ppm_shared, "corners": len(clip.corner), "tracks": len(clip.heard),
    }  # fmt: skip


def _off(true: TrueCamera, clip: Clip, whole_s: float) -> Iterator[float]:
    clock = clock_of(clip)
    first, last = max(0.0, -true.offset_s), min(clip.length_s, whole_s - true.offset_s)
    for t in np.linspace(first, last, 2 + int(last - first)).tolist():
        yield clock.to_take(t) - true.offset_s - t / (1 + true.ppm * 1e-6)


def accuracy(folder: Path, cases: int, first: int = 0) -> None:
    """Print how far off each clock is, anywhere in the show, and how sure it was said to be."""
    rows: list[tuple[float, float, float, bool]] = []
    for number in range(first, first + cases):
        subject, true, _ = _case(number, folder)
        for one in true:
            (clip,) = sync_device(subject, one.name, folder / f"case-{number:02d}" / one.file, one.at).clip
            clock = clock_of(clip)
            at = np.linspace(max(0.0, -one.offset_s), min(clip.length_s, TAKE_S - one.offset_s), 21).tolist()
            off = [1000 * (clock.to_take(t) - one.offset_s - t / (1 + one.ppm * 1e-6)) for t in at]
            rows.append((max(map(abs, off)), abs(clip.ppm - one.ppm), clip.confidence, clip.found))
            print(f"case {number:2d}, {one.name:9s}: reverberation {REVERBERATIONS_S[number % 3]} s, "
                  f"{NOISES_DBFS[number // 3 % 2]:.0f} dBFS of hiss, {-one.at[1]:4.1f} m: "
                  f"{'found' if clip.found else 'not found'}, {rows[-1][0]:.3f} ms at worst, "
                  f"{rows[-1][1]:.2f} ppm off, confidence {clip.confidence:.2f}", flush=True)  # fmt: skip
    found = [row for row in rows if row[3]]
    sure = [row for row in found if row[2] > SURE]
    print(f"{len(rows)} clips, {len(found)} found; within 1 ms {sum(row[0] < 1 for row in found)}, "
          f"worst {max(row[0] for row in found):.3f} ms, median {np.median([row[0] for row in found]):.3f} ms; "
          f"of {len(sure)} surer than {SURE}: within 1 ms {sum(row[0] < 1 for row in sure)}; "
          f"drift: worst {max(row[1] for row in found):.2f} ppm, "
          f"median {np.median([row[1] for row in found]):.3f}")  # fmt: skip


def speed(hours: float, folder: Path) -> None:
    """Time finding a camera that ran as long as a take of 18 tracks, in a process of its own, and keep that."""
    if not (folder / "camera.mp4").is_file():
        _long_take(hours, folder)
    told = subprocess.run(
        [sys.executable, __file__, "timed", str(folder)], check=True, stdout=subprocess.PIPE, text=True
    ).stdout
    row = {"hours": hours, **json.loads(told), "cores": os.cpu_count(), "busy": round(os.getloadavg()[0], 1)}
    print(row)
    keep(OUT, f"speed, {hours:g} hours", row)


def timed(folder: Path) -> None:
    """Print what finding the camera of a long take costs, and how far off it is."""
    import resource

    began, processor = time.perf_counter(), time.process_time()
    (axis,) = find_axes(folder / "take")
    (clip,) = sync_device(subject_of(axis), "camera", folder / "camera.mp4").clip
    took, processor = time.perf_counter() - began, time.process_time() - processor
    print(json.dumps({
        "tracks": len(axis.track), "clock_s": round(took, 1), "processor_s": round(processor, 1),
        "memory_mib": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
        "off_ms": round(1000 * (clip.offset_s - (OFFSET_S - LATE / RATE_HZ)), 3),
        "drift_off_ppm": round(clip.ppm - PPM, 3), "confidence": clip.confidence,
    }))  # fmt: skip


def _long_take(hours: float, folder: Path) -> None:
    """Write a take of noise that swells, and a camera that heard it late and whose clock is fast.

    Two tracks are written; the others are links to them, so that a long take fits on a disc.
    """
    (folder / "take").mkdir(parents=True)
    room, kick = (folder / "take" / f"{number:02d}_{name}.wav" for number, name in enumerate(NAMES[:2], 1))
    with (
        write(room, RATE_HZ, 24, 1) as one,
        write(kick, RATE_HZ, 24, 1) as other,
        tempfile.TemporaryFile(dir=folder) as heard,
    ):
        stream = soxr.ResampleStream(RATE_HZ, RATE_HZ * (1 + PPM * 1e-6), 1, dtype="float32", quality="HQ")
        skip = round(OFFSET_S * RATE_HZ) - LATE
        for sound in _swelling(round(60 * hours)):
            whole = np.rint(np.clip(sound, -1, 0.99) * (1 << 23)).astype(np.int32)
            one.write(whole)
            other.write(whole)
            heard.write(stream.resample_chunk(sound[skip:]).tobytes())
            skip = 0
        heard.write(stream.resample_chunk(np.zeros(0, np.float32), last=True).tobytes())
        heard.flush()
        device = np.memmap(heard, np.float32, "r")
        camera = CameraSpec("camera", (0, 0, 0), "camera.mp4", 0, len(device) / RATE_HZ, frame_rate="1")
        write_clip(folder / camera.file, device, camera, np.zeros(int(camera.length_s)))
    for number, name in enumerate(NAMES[2:], 3):
        os.link(kick, folder / "take" / f"{number:02d}_{name}.wav")


def _swelling(minutes: int) -> Iterator[NDArray[np.float32]]:
    """Make noise that swells, a minute at a time."""
    rng, minute = np.random.default_rng(1), 60 * RATE_HZ
    for _ in range(minutes):
        swell = np.repeat(10 ** rng.uniform(-2, -0.5, 600), minute // 600).astype(np.float32)
        yield rng.standard_normal(minute, dtype=np.float32) * swell * np.float32(0.3)


def main(words: list[str]) -> None:
    """Do what was asked."""
    what = words[0] if words else "accuracy"
    if what == "speed":
        hours = float(words[1]) if len(words) > 1 else 3.0
        if len(words) > 2:
            speed(hours, Path(words[2]))
            return
        with tempfile.TemporaryDirectory() as folder:
            speed(hours, Path(folder) / "long")
    elif what == "timed":
        timed(Path(words[1]))
    elif what == "judged":
        for number in map(int, words[3:]):
            judge(Path(words[1]), Path(words[2]), number)
    else:
        accuracy(Path(words[1]), *(int(word) for word in words[2:4] or ["12"]))


if __name__ == "__main__":
    main(sys.argv[1:])
