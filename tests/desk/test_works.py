"""Long work that was broken off begins at the first part that is missing, or that was made from something else."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from desk.recorded import RATE, sound_of

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Stopped, Tell, Work
from fieldfare.desk.planner import Planner
from fieldfare.desk.works import pictures, songs, timing
from fieldfare.takes.wave import write_whole


@pytest.fixture
def night(after: Path) -> Iterator[Book]:
    """The demo show after a night of two takes."""
    book = Book(after, Planner(explain=False))
    yield book
    book.close()


@pytest.fixture
def parts(night: Book) -> Path:
    """Where finished parts are kept."""
    return night.folder / "takes" / "parts"


def _stop_after(parts: Path, kind: str, count: int) -> Tell:
    def tell(stage: str, share: float) -> None:
        if len(list((parts / kind).glob("*"))) >= count:
            raise Stopped

    return tell


def _broken_off(work: Work, tell: Tell) -> bool:
    try:
        work(tell)
    except Stopped:
        return True
    return False


def _quiet(stage: str, share: float) -> None:
    assert 0 <= share <= 1


def _spied(monkeypatch: pytest.MonkeyPatch, place: str, name: Callable[..., str]) -> list[str]:
    """Write down what a function did, as soon as it has done it."""
    module, _, function = place.rpartition(".")
    real = getattr(__import__(module, fromlist=[function]), function)
    done: list[str] = []

    def told(*args: Any, **more: Any) -> Any:
        found = real(*args, **more)
        done.append(name(*args))
        return found

    monkeypatch.setattr(place, told)
    return done


def test_a_take_that_was_measured_is_not_measured_again(
    night: Book, parts: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done = _spied(monkeypatch, "fieldfare.takes.alignment.align.align", lambda axis, *_: axis.name)
    assert _broken_off(timing.measuring(night, {}), _stop_after(parts, "timing", 1))
    assert done == ["take-1"]
    timing.measuring(night, {})(_quiet)
    assert done == ["take-1", "take-2"]
    assert not (parts / "timing").exists()
    timing.measuring(night, {})(_quiet)
    assert done == ["take-1", "take-2", "take-1", "take-2"]  # asked for anew, it is measured anew


def test_a_take_whose_file_has_changed_since_is_measured_again(
    night: Book, parts: Path, recorded_night: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert _broken_off(timing.measuring(night, {}), _stop_after(parts, "timing", 1))
    done = _spied(monkeypatch, "fieldfare.takes.alignment.align.align", lambda axis, *_: axis.name)
    for file in recorded_night.parents[1].glob("disc-*/**/take-1/01_kick.wav"):
        os.utime(file, (0, 0))
    timing.measuring(night, {})(_quiet)
    assert done == ["take-1", "take-2"]


def test_a_take_that_was_listened_to_for_songs_is_not_listened_to_again(
    night: Book, parts: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = songs.finding(night, {})(_quiet)
    found = (night.folder / "songs.toml").read_bytes()
    (night.folder / "songs.toml").unlink()
    done = _spied(monkeypatch, "fieldfare.takes.songs.levels.levels_of", lambda axis, *_: axis.name)
    assert _broken_off(songs.finding(night, {}), _stop_after(parts, "songs", 1))
    assert not (night.folder / "songs.toml").exists()
    assert songs.finding(night, {})(_quiet) == whole
    assert done == ["take-1", "take-2"]
    assert (night.folder / "songs.toml").read_bytes() == found
    assert not (parts / "songs").exists()


def test_a_camera_that_was_found_is_not_looked_for_again(
    night: Book, parts: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number, name in enumerate(("left", "right")):
        write_whole(tmp_path / f"{name}.wav", RATE, 24, sound_of(1)[number][2 * RATE :])
    asks: Asks = {"cameras": [f"{name}={tmp_path / name}.wav" for name in ("left", "right")]}
    done = _spied(
        monkeypatch, "fieldfare.takes.picture.work.sync_device", lambda subject, name, *_: f"{subject.axis.name} {name}"
    )
    assert _broken_off(pictures.putting(night, asks), _stop_after(parts, "pictures", 1))
    assert done == ["take-1 left"]
    pictures.putting(night, asks)(_quiet)
    assert done == ["take-1 left", "take-1 right", "take-2 left", "take-2 right"]
    reports = pictures.kept_pictures(night.folder)
    assert [[one.name for one in report.device] for report in reports] == [["left", "right"]] * 2
    assert not (parts / "pictures").exists()
