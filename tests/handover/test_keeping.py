"""What is kept is read again on its schedule, and whatever drifts is told, in real folders."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldfare.handover import keeping
from fieldfare.handover.keeping import add_place, check_show
from fieldfare.handover.reading import hashed
from fieldfare.show.archive import ArchiveBook, ArchiveReport, read_archive, write_archive
from fieldfare.show.findings import CopiedFile, OffloadReport
from fieldfare.takes.offload.device import Device
from fieldfare.units.faults import Fault, NotDone

DAY = dt.date(2026, 12, 5)
LATER = DAY + dt.timedelta(days=180)


@pytest.fixture(autouse=True)
def _own_devices(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every folder called disc-… is a disc of its own; the machine that runs the tests has one."""

    def device(folder: Path) -> Device:
        name = next(part for part in folder.parts if part.startswith(("disc-", "memory")))
        return Device(frozenset((name,)), memory=name == "memory")

    monkeypatch.setattr(keeping, "device_of", device)


def _fill(folder: Path) -> Path:
    (folder / "take").mkdir(parents=True)
    for number in range(4):
        (folder / "take" / f"{number:02d}.wav").write_bytes(bytes([number]) * (5000 + number))
    return folder


def _kept(root: Path, *names: str) -> ArchiveBook:
    book = ArchiveBook(show="Midwinter Dance")
    for name in names:
        place = _fill(root / name)
        book = add_place(book, place, "", DAY, None, lambda what, share: None)
    return book


def _checked(book: ArchiveBook, day: dt.date = DAY, *, every: bool = False) -> tuple[ArchiveBook, ArchiveReport]:
    return check_show(book, Path("show"), day, lambda what, share: None, every=every)


def test_two_whole_places_on_two_devices_need_nothing(tmp_path: Path) -> None:
    book = _kept(tmp_path, "disc-a", "disc-b")
    after, report = _checked(book)
    assert after == book
    assert (report.copies, report.says) == (2, ())
    assert [(one.state, one.read_now, one.due) for one in report.place] == [("whole", False, LATER)] * 2


@pytest.mark.parametrize("names", [("disc-a",), ("disc-a/1", "disc-a/2"), ("disc-a", "memory")])
def test_one_device_is_one_copy_and_memory_is_none(names: tuple[str, ...], tmp_path: Path) -> None:
    _, report = _checked(_kept(tmp_path, *names))
    assert report.copies == 1
    (says,) = report.says
    assert says.startswith("there is only one copy that counts: keep two on different devices")


def test_what_is_due_is_read_and_what_is_not_is_not(tmp_path: Path) -> None:
    book = _kept(tmp_path, "disc-a", "disc-b")
    _, before = _checked(book, LATER - dt.timedelta(days=1))
    after, report = _checked(book, LATER)
    assert [one.read_now for one in before.place] == [False, False]
    assert [one.read_now for one in report.place] == [True, True]
    assert [one.due for one in report.place] == [LATER + dt.timedelta(days=180)] * 2
    assert [len(one.check) for one in after.place] == [2, 2]


DRIFTS: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (lambda place: (place / "take" / "02.wav").unlink(), "take/02.wav"),
    "changed": (lambda place: (place / "take" / "02.wav").write_bytes(bytes([2]) * 5001 + b"x"), "take/02.wav"),
    "not listed": (lambda place: (place / "more.wav").write_bytes(b""), "more.wav"),
}


@pytest.mark.parametrize("kind", DRIFTS)
def test_drift_is_told_with_its_file_and_its_copy_no_longer_counts(kind: str, tmp_path: Path) -> None:
    book = _kept(tmp_path, "disc-a", "disc-b")
    damage, file = DRIFTS[kind]
    damage(tmp_path / "disc-b")
    after, report = _checked(book, every=True)
    assert [(one.path, one.kind) for one in report.place[1].drifted] == [(file, kind)]
    assert report.copies == 1
    assert report.says[0] == f"{tmp_path / 'disc-b'}: {kind}: {file}"
    assert after.place[1].last_whole is None
    _, again = _checked(after)  # what is wrong is read again at every check until it is right
    assert again.place[1].read_now
    shutil.copytree(tmp_path / "disc-a", tmp_path / "disc-b", dirs_exist_ok=True)
    (tmp_path / "disc-b" / "more.wav").unlink(missing_ok=True)
    mended, right = _checked(after)
    assert (right.copies, right.says) == (2, ())
    assert [one.state for one in mended.place[1].check] == ["whole", "drifted", "whole"]


@pytest.mark.skipif(sys.platform != "linux", reason="names of files are always text here")
def test_a_name_that_is_no_text_is_kept_and_read_again_like_any_other(tmp_path: Path) -> None:
    (_fill(tmp_path / "disc-a") / os.fsdecode(b"caf\xe9.wav")).write_bytes(b"kept")
    book = add_place(ArchiveBook(show="Ball"), tmp_path / "disc-a", "", DAY, None, lambda what, share: None)
    assert r"caf\xe9.wav" in [one.path for one in book.file]
    assert not _checked(book, every=True)[1].place[0].drifted
    (tmp_path / "disc-a" / os.fsdecode(b"caf\xe9.wav")).write_bytes(b"lost")
    (found,) = _checked(book, every=True)[1].place[0].drifted
    assert (found.path, found.kind) == (r"caf\xe9.wav", "changed")


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may read every file")
def test_a_file_that_cannot_be_read_is_told_as_that(tmp_path: Path) -> None:
    book = _kept(tmp_path, "disc-a", "disc-b")
    (tmp_path / "disc-b" / "take" / "01.wav").chmod(0)
    _, report = _checked(book, every=True)
    assert [one.kind for one in report.place[1].drifted] == ["unreadable"]


def test_a_reading_that_fails_is_told_as_unreadable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book = _kept(tmp_path, "disc-a", "disc-b")
    true = hashed

    def failing(path: Path, algorithms: list[str]) -> object:
        if path.name == "01.wav" and "disc-b" in path.parts:
            raise OSError(5, "Input/output error")
        return true(path, algorithms)

    monkeypatch.setattr(keeping, "hashed", failing)
    _, report = _checked(book, every=True)
    assert report.says[0].endswith("unreadable: take/01.wav")


def test_a_file_that_is_gone_or_shorter_is_noticed_before_it_is_due(tmp_path: Path) -> None:
    book = _kept(tmp_path, "disc-a", "disc-b")
    os.truncate(tmp_path / "disc-b" / "take" / "03.wav", 10)
    _, report = _checked(book)
    assert [one.read_now for one in report.place] == [False, True]
    assert report.place[1].drifted[0].says == "10 bytes where there were 5003"


def test_a_disc_that_is_away_counts_until_it_is_due_and_then_is_asked_for(tmp_path: Path) -> None:
    book = _kept(tmp_path, "disc-a", "disc-b")
    (tmp_path / "disc-b").rename(tmp_path / "elsewhere")
    after, report = _checked(book)
    assert [one.state for one in report.place] == ["whole", "away"]
    assert (report.copies, report.says) == (2, ())
    later, due = _checked(after, LATER)
    assert due.copies == 1
    assert due.says[0] == f"{tmp_path / 'disc-b'}: due since {LATER}: connect its disc and check again"
    assert len(later.place[1].check) == len(after.place[1].check)  # away twice says nothing new
    (tmp_path / "elsewhere").rename(tmp_path / "disc-b")
    _, back = _checked(later, LATER)
    assert (back.copies, back.place[1].state, back.place[1].read_now) == (2, "whole", True)


def test_two_places_on_one_disc_are_one_copy_when_it_is_away_too_and_memory_that_is_gone_is_none(
    tmp_path: Path,
) -> None:
    book = _kept(tmp_path, "disc-a/1", "disc-a/2", "memory")
    (tmp_path / "disc-a").rename(tmp_path / "drawer")
    (tmp_path / "memory").rename(tmp_path / "lost")
    _, report = _checked(book)
    assert [one.state for one in report.place] == ["away"] * 3
    assert report.copies == 1
    assert report.says[-1].startswith("there is only one copy that counts")


def test_a_place_that_differs_is_not_added_and_neither_is_one_twice(tmp_path: Path) -> None:
    book = _kept(tmp_path, "disc-a")
    other = _fill(tmp_path / "disc-b")
    (other / "take" / "00.wav").write_bytes(b"\1" * 5000)
    with pytest.raises(NotDone, match=r"does not hold what is kept: take/00\.wav \(changed\)"):
        add_place(book, other, "", DAY, None, lambda what, share: None)
    with pytest.raises(Fault, match="known already"):
        add_place(book, tmp_path / "disc-a", "", DAY, None, lambda what, share: None)
    (tmp_path / "disc-c").mkdir()
    with pytest.raises(Fault, match="there is no file in it"):
        add_place(ArchiveBook(show="x"), tmp_path / "disc-c", "", DAY, None, lambda what, share: None)


def test_the_first_place_must_hold_what_was_offloaded(tmp_path: Path) -> None:
    place = _fill(tmp_path / "disc-a")
    file = CopiedFile(path="take/00.wav", bytes=5000, sha256="0" * 64, read_back=())
    report = OffloadReport(card="c", destination=(), devices=2, file=(file,), complete=True)
    with pytest.raises(NotDone, match=r"take/00\.wav is not what was offloaded"):
        add_place(ArchiveBook(show="x"), place, "", DAY, report, lambda what, share: None)


def test_a_first_place_from_which_a_track_is_missing_is_not_what_there_is_to_keep(tmp_path: Path) -> None:
    place = _fill(tmp_path / "disc-a")
    files = [
        CopiedFile(
            path=f"take/{file.name}",
            bytes=file.stat().st_size,
            sha256=hashed(file, ["sha256"])[0]["sha256"],
            read_back=(),
        )
        for file in sorted((place / "take").iterdir())
    ]
    report = OffloadReport(card="c", destination=(), devices=2, file=tuple(files), complete=True)
    (place / files[1].path).unlink()
    with pytest.raises(NotDone, match=r"take/01\.wav of the offload is not in it; add the other copy first"):
        add_place(ArchiveBook(show="x"), place, "", DAY, report, lambda what, share: None)
    whole = add_place(ArchiveBook(show="x"), place / "take", "", DAY, report, lambda what, share: None)
    assert len(whole.file) == len(files) - 1


def test_the_book_is_read_as_it_was_written_and_another_file_is_refused(tmp_path: Path) -> None:
    assert read_archive(tmp_path) is None
    book = _kept(tmp_path, "disc-a", "disc-b")
    write_archive(tmp_path, book)
    assert read_archive(tmp_path) == book
    (tmp_path / "archive.json").write_text("{}")
    with pytest.raises(Fault, match="not a list of what is kept where"):
        read_archive(tmp_path)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 3), st.integers(0, 4999), st.integers(0, 7))
def test_any_bit_of_any_file_that_turns_is_found(
    tmp_path_factory: pytest.TempPathFactory, number: int, at: int, bit: int
) -> None:
    root = tmp_path_factory.mktemp("bit")
    book = _kept(root, "disc-a", "disc-b")
    path = root / "disc-b" / "take" / f"{number:02d}.wav"
    raw = bytearray(path.read_bytes())
    raw[at] ^= 1 << bit
    path.write_bytes(raw)
    _, report = _checked(book, LATER)
    assert [(one.path, one.kind) for one in report.place[1].drifted] == [(f"take/{number:02d}.wav", "changed")]
