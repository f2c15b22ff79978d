"""Cameras with clocks, places, level controls and encoders of their own, found on the take."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest
from takes.picture.stage import rendered

from fieldfare.show.picture import Clip
from fieldfare.takes.axis import Axis
from fieldfare.takes.picture.edit import clock_of
from fieldfare.takes.picture.sync import Subject, subject_of, sync_device
from fieldfare.takes.render.truth import TrueCamera
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import Fault

NAMES = ("Camera 1", "Camera 2", "Camera 3", "Recorder")


@pytest.fixture(scope="module")
def show(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Axis, dict[str, TrueCamera], Subject]:
    folder = tmp_path_factory.mktemp("show")
    axis, true = rendered(folder)
    return folder, axis, true, subject_of(axis, 20.0)


def _worst_ms(clip: Clip, true: TrueCamera) -> float:
    """Largest difference from the truth anywhere in the clip."""
    clock = clock_of(clip)
    at = np.linspace(0, clip.length_s, 9)
    return float(max(abs(clock.to_take(t) - (true.offset_s + t / (1 + true.ppm * 1e-6))) * 1000 for t in at.tolist()))


@pytest.mark.parametrize("name", NAMES)
def test_a_camera_is_found_to_a_millisecond_everywhere(
    show: tuple[Path, Axis, dict[str, TrueCamera], Subject], name: str
) -> None:
    folder, axis, true, subject = show
    path = folder / true[name].file
    before = sha256(path.read_bytes()).hexdigest()
    (clip,) = sync_device(subject, name, path, true[name].at).clip
    assert clip.found
    assert clip.confidence > 0.9
    assert _worst_ms(clip, true[name]) < 1.0
    assert clip.ppm == pytest.approx(true[name].ppm, abs=3.0), "a minute tells a drift to a part of a millisecond"
    assert clip.start == pytest.approx(clip.start_s * axis.rate_hz, abs=1)
    assert clip.residual_ms < 0.5
    assert sha256(path.read_bytes()).hexdigest() == before


def test_without_its_place_it_is_put_in_time_by_its_sound(
    show: tuple[Path, Axis, dict[str, TrueCamera], Subject],
) -> None:
    folder, _, true, subject = show
    (clip,) = sync_device(subject, "Camera 1", folder / true["Camera 1"].file).clip
    late = [one.late_s for one in true["Camera 1"].arrival if "Audience" not in one.sound]
    assert clip.air == "unknown"
    assert any("2.9 ms for each metre" in note for note in clip.note)
    assert min(late) - 0.006 <= true["Camera 1"].offset_s - clip.offset_s <= max(late) + 0.001


def test_a_recording_of_something_else_is_not_put_anywhere(
    show: tuple[Path, Axis, dict[str, TrueCamera], Subject], tmp_path: Path
) -> None:
    rng = np.random.default_rng(9)
    sound = rng.standard_normal(40 * 48_000) * np.repeat(rng.uniform(0.01, 0.3, 400), 4800)
    write_whole(tmp_path / "other.wav", 48_000, 24, np.rint(sound.clip(-1, 0.99) * (1 << 23)).astype(np.int32))
    (clip,) = sync_device(show[3], "other", tmp_path / "other.wav").clip
    assert not clip.found
    assert clip.confidence < 0.5


def test_silence_is_not_put_anywhere(show: tuple[Path, Axis, dict[str, TrueCamera], Subject], tmp_path: Path) -> None:
    write_whole(tmp_path / "silent.wav", 48_000, 24, np.zeros(30 * 48_000, np.int32))
    (clip,) = sync_device(show[3], "silent", tmp_path / "silent.wav").clip
    assert not clip.found


def test_what_is_no_camera_is_told(show: tuple[Path, Axis, dict[str, TrueCamera], Subject], tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("no camera", "utf-8")
    (tmp_path / "broken.mp4").write_bytes(b"not a film" * 100)
    (tmp_path / "empty").mkdir()
    for name, says in (
        ("nowhere.mp4", "no such file or folder"),
        ("notes.txt", "not a kind of file"),
        ("broken.mp4", "cannot be read"),
        ("empty", "holds no file of a camera"),
    ):
        with pytest.raises(Fault, match=says):
            sync_device(show[3], "camera", tmp_path / name)
