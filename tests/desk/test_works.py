"""Long work that was broken off begins at the first part that is missing, or that was made from something else."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from desk.recorded import RATE, sound_of, with_songs

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Stopped, Tell, Work
from fieldfare.desk.planner import Planner
from fieldfare.desk.work import KINDS
from fieldfare.desk.works import offload, parcels, pictures, rough, songs, timing
from fieldfare.handover.consents import parties
from fieldfare.show.alignment import Alignment, Shift, TakeAlignment
from fieldfare.show.consent import Consent, add_consent
from fieldfare.takes.alignment.kept import keep_alignment
from fieldfare.takes.render.cameras import CameraSpec, write_clip
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import Fault, NotDone


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


def _consented(night: Book) -> None:
    contents = parcels.contents_of(night, with_tracks=False)
    for one in parties(contents.show, contents.venue, contents.recipes, contents.consents):
        said = Consent(of=one.name, side=one.side, uses=("recording",), on=dt.date(2026, 11, 1), how="mail")
        add_consent(night.folder, said)


def _copying_off(place: Path, count: int) -> Tell:
    """Break off as soon as so many files are proven."""

    def tell(stage: str, share: float) -> None:
        for journal in place.glob(".*.proven"):
            if len(journal.read_text("utf-8").splitlines()) > count:
                raise Stopped

    return tell


@pytest.mark.parametrize("kind", ["cut", "shift", "parcel"])
def test_files_that_were_proven_before_work_was_stopped_are_not_written_again(
    kind: str, night: Book, tmp_path: Path
) -> None:
    with_songs(night.folder, "take-1", 2)
    _consented(night)
    shifts = tuple(Shift(track=label, apply=True, samples=12.0) for label in ("Kick", "Snare top"))
    keep_alignment(night.folder, Alignment(take=(TakeAlignment(take="take-1", rate_hz=RATE, frames=1, shift=shifts),)))
    place = tmp_path / "out"
    asks: Asks = {"folder": str(place if kind == "parcel" else place / "made"), "take": "take-1", "receiver": "mixer"}
    make = KINDS[kind].make
    assert _broken_off(make(night, asks), _copying_off(place, 1))
    (part,) = (one for one in place.iterdir() if one.is_dir())
    before = {path.relative_to(part): path.stat().st_mtime_ns for path in part.rglob("*.wav")}
    assert before
    make(night, asks)(_quiet)
    (made,) = place.iterdir()
    assert {path: (made / path).stat().st_mtime_ns for path in before} == before
    assert len(list(made.rglob("*.wav"))) == {"cut": 4, "shift": 2, "parcel": 4}[kind]


def test_a_parcel_that_was_whole_before_the_desk_was_cut_off_is_read_back_and_logged_once(
    night: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _consented(night)
    asks: Asks = {"folder": str(tmp_path), "receiver": "mixer"}
    with monkeypatch.context() as patch:
        patch.setattr(parcels, "_log", _die)
        assert _broken_off(parcels.packing(night, asks), _quiet)
    assert "was read back again" in parcels.packing(night, asks)(_quiet)
    (event,) = [one.event for one in night.events() if one.event.kind == "handed over"]
    (made,) = tmp_path.glob("*_mixer")
    assert hashlib.sha512((made / "tagmanifest-sha512.txt").read_bytes()).hexdigest() in event.text
    with pytest.raises(NotDone, match="there already"):
        parcels.packing(night, asks)(_quiet)


def _die(*_: object) -> None:
    raise Stopped


def test_a_card_that_is_pulled_is_no_offload_that_is_done(night: Book, tmp_path: Path) -> None:
    card, places = tmp_path / "card", [tmp_path / "a", tmp_path / "b"]
    for folder in (card, *places):
        folder.mkdir()
    for number in (1, 2):
        write_whole(card / f"{number:02d}_track.wav", RATE, 24, sound_of(number)[0])
    asks: Asks = {"card": str(card), "to": [str(place) for place in places], "same_device": True}

    def pulled(stage: str, share: float) -> None:
        if share and card.is_dir():
            card.rename(tmp_path / "pulled")

    with pytest.raises(Fault, match=r"not safe to wipe the card: 1 of 2 files .* put the card back and try again"):
        offload.copying(night, asks)(pulled)
    (tmp_path / "pulled").rename(card)
    assert "not safe to wipe all the same" in offload.copying(night, asks)(_quiet)
    assert [len(list(place.rglob("*.wav"))) for place in places] == [2, 2]


def test_pictures_are_laid_again_in_place_of_those_that_were_and_no_half_goes_into_a_parcel(
    night: Book, tmp_path: Path
) -> None:
    sound = (sound_of(1)[0][3 * RATE : 21 * RATE] / 2**23).astype(np.float32)
    spec = CameraSpec("Camera 1", (0.0, 0.0, 0.0), "clip.mp4", 0.0, 18, frame_rate="5", rate_hz=RATE)
    write_clip(tmp_path / "clip.mp4", sound, spec, np.zeros(18 * 5))
    with_songs(night.folder, "take-1", 4)
    rough.mixing(night, {})(_quiet)
    asks: Asks = {"cameras": [f"Camera 1={tmp_path / 'clip.mp4'}"], "lay": True}
    own = night.folder / "pictures" / "take-1"
    own.mkdir(parents=True)
    (own / "cameras.edl").write_bytes(b"an edit list, of cameras that were put there without our mix")
    (night.folder / "takes" / "laying").mkdir()  # of work that was cut off while it laid
    (night.folder / "takes" / "laying" / "half.mp4").write_bytes(b"half")
    pictures.putting(night, asks)(_quiet)
    first = {path.name: path.stat().st_mtime_ns for path in own.glob("*.mp4")}
    with_songs(night.folder, "take-1", 3)
    pictures.putting(night, asks)(_quiet)
    again = {path.name: path.stat().st_mtime_ns for path in own.glob("*.mp4")}
    assert again.keys() < first.keys()
    assert all(first[name] != changed for name, changed in again.items())
    (own / ".clip.part").mkdir()
    (own / ".clip.part" / "half.mp4").write_bytes(b"half")
    assert {path.name for path in parcels.contents_of(night, with_tracks=False).pictures} == again.keys()
    assert not (night.folder / "takes" / "laying").exists()
