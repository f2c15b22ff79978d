"""A rendered show with cameras, and little clips whose every frame is known."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from takes.render.small import SOUNDS, small_kit, small_plan, small_show, small_venue

from fieldfare.show.drawn import drawing_of
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.render.cameras import CameraSpec, render_cameras, write_clip
from fieldfare.takes.render.pictures import read_number
from fieldfare.takes.render.stage import set_stage
from fieldfare.takes.render.truth import TrueCamera
from fieldfare.takes.render.write import render_show

SECONDS = 60.0
CAMERAS = (
    CameraSpec("Camera 1", (0.0, -7.0, 1.0), "one.mp4", -4.2, 70.0, 41.0),
    CameraSpec(
        "Camera 2", (-3.0, -2.0, 1.0), "two.mov", 8.3, 45.0, -23.0, frame_rate="30000/1001", timecode="19:44:10;00"
    ),
    CameraSpec("Camera 3", (2.0, -4.0, 1.2), "three.mkv", 2.0, 50.0, 12.0, noise_dbfs=-45.0),
    CameraSpec(
        "Recorder", (3.0, -9.0, 1.5), "four.wav", -10.0, 80.0, 7.0, frame_rate="", rate_hz=44_100, level_control=False
    ),
)


def rendered(folder: Path) -> tuple[Axis, dict[str, TrueCamera]]:
    """Render the small show and its cameras; return the take on its axis and what is true of each camera."""
    documents = small_plan(), small_show(), small_venue(), small_kit()
    render_show(*documents, SOUNDS, folder, duration_s=SECONDS, planted=())
    stage = set_stage(*documents, SOUNDS, SECONDS, 1, ())
    true = render_cameras(stage, folder, CAMERAS)
    (axis,) = find_axes(folder / "card", drawing_of(documents[0], SOUNDS, 20.0).input)
    return axis, {one.name: one for one in true}


def clip(path: Path, seconds: float, rate: str, clicks_s: tuple[float, ...], rate_hz: int = 48_000) -> None:
    """Write a clip with numbered frames and a click at each of several device times."""
    sound = np.zeros(round(seconds * rate_hz), np.float32)
    for at in clicks_s:
        first = round(at * rate_hz)
        sound[first : first + 96] = 0.7 * np.hanning(96).astype(np.float32)
    one = CameraSpec("clip", (0, 0, 0), path.name, 0.0, seconds, frame_rate=rate, rate_hz=rate_hz)
    write_clip(path, sound, one, np.zeros(int(seconds * Fraction(rate))))


def frames_of(path: Path) -> list[int]:
    """Numbers burnt into the frames, in the order in which they are shown."""
    import av

    with av.open(str(path)) as container:
        return [
            read_number(np.asarray(frame.to_ndarray(format="gray"), np.uint8)) for frame in container.decode(video=0)
        ]


def clicks_in(sound: NDArray[np.float32], near_s: tuple[float, ...], rate_hz: int = 48_000) -> list[float]:
    """Middles of the loudest click near each of several times."""
    found = []
    for at in near_s:
        first = max(0, round((at - 0.2) * rate_hz))
        part = np.abs(sound[first : first + round(0.4 * rate_hz)])
        found.append((first + int(np.argmax(part))) / rate_hz)
    return found
