"""Holds cameras at rendered shows to their true clocks, and times a camera of three hours.

python bench/picture.py accuracy FOLDER [cases] [first case]
python bench/picture.py speed [hours]

Each case is the demo show with another room, two cameras and a recorder, each with its own place, clock and noise. They
are kept in the folder, so that only the first run has to make them.
"""

from __future__ import annotations

import sys
import tempfile
import time
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np
from render import _memory as memory

from fieldfare.plan.inputs import soundings
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.drawn import Drawing, drawing_of
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
SURE = 0.8


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


def speed(hours: float) -> None:
    """Write a long take of noise that swells and a camera of the same length, and time finding it."""
    rng = np.random.default_rng(1)
    ppm, offset_s, late = 37.0, 12.5, 1500
    minute, minutes = 60 * RATE_HZ, round(60 * hours)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "take").mkdir()
        heard = []
        with (
            write(folder / "take" / "01_room_left.wav", RATE_HZ, 24, 1) as room,
            write(folder / "take" / "02_kick.wav", RATE_HZ, 24, 1) as kick,
        ):
            for _ in range(minutes):
                swell = np.repeat(10 ** rng.uniform(-2, -0.5, 600), minute // 600).astype(np.float32)
                sound = rng.standard_normal(minute, dtype=np.float32) * swell * np.float32(0.3)
                whole = np.rint(np.clip(sound, -1, 0.99) * (1 << 23)).astype(np.int32)
                room.write(whole)
                kick.write(whole)
                heard.append(sound.astype(np.float16))
        import soxr

        stream = soxr.ResampleStream(RATE_HZ, RATE_HZ * (1 + ppm * 1e-6), 1, dtype="float32", quality="HQ")
        first = round(offset_s * RATE_HZ) - late
        parts = [stream.resample_chunk(part.astype(np.float32)) for part in _from(heard, first)]
        device = np.concatenate([*parts, stream.resample_chunk(np.zeros(0, np.float32), last=True)])
        one = CameraSpec("camera", (0, 0, 0), "camera.mp4", 0, len(device) / RATE_HZ, frame_rate="1")
        write_clip(folder / "camera.mp4", device, one, np.zeros(int(len(device) / RATE_HZ)))
        del heard, parts, device
        began, processor = time.perf_counter(), time.process_time()
        (axis,) = find_axes(folder / "take")
        subject = subject_of(axis)
        (clip,) = sync_device(subject, "camera", folder / "camera.mp4").clip
        took, processor = time.perf_counter() - began, time.process_time() - processor
        print(f"a camera of {hours:g} hours: {took:.1f} s by the clock, {processor:.1f} s of processor{memory()}")
        off = 1000 * (clip.offset_s - (offset_s - late / RATE_HZ))
        print(f"{off:+.3f} ms and {clip.ppm - ppm:+.3f} ppm off, confidence {clip.confidence:.2f}")


def _from(parts: list[np.ndarray], first: int):  # type: ignore[no-untyped-def, type-arg]
    for part in parts:
        if first < len(part):
            yield part[max(0, first) :]
        first = max(0, first - len(part))


if __name__ == "__main__":
    what = sys.argv[1] if len(sys.argv) > 1 else "accuracy"
    if what == "speed":
        speed(float(sys.argv[2]) if len(sys.argv) > 2 else 3)
    else:
        accuracy(Path(sys.argv[2]), *(int(word) for word in sys.argv[3:5] or ["12"]))
