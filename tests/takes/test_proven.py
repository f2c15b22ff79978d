"""Files that were proven are found again after work was broken off, and nothing else is."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from fieldfare.takes.proven import Proven, proven_folder
from fieldfare.takes.wave import read_all, read_head, write_whole
from fieldfare.units.faults import Fault, NotDone

RATE = 8_000


def _write(path: Path, seed: int) -> tuple[int, str]:
    """Write 100 samples of 16 bits; return how many and their SHA-256."""
    write_whole(path, RATE, 16, [[seed]] * 100)
    return 100, hashlib.sha256(seed.to_bytes(2, "little") * 100).hexdigest()


def _broken_off(to: Path, stamp: str, trouble: BaseException) -> None:
    """Prove one file and copy another, leave a half and something strange, and break off."""
    with proven_folder(to, stamp) as proven:
        song = proven.folder / "song"
        song.mkdir()
        proven.keep(song / "a.wav", *_write(song / "a.wav", 1), silent=7)
        (song / "b.mp4").write_bytes(b"copied")
        proven.keep_copy(song / "b.mp4", to.with_name("b.mp4"), hashlib.sha512(b"copied").hexdigest())
        (song / ".c.wav.part").write_bytes(b"half")
        (proven.folder / "d.txt").write_bytes(b"no journal speaks of it")
        raise trouble


@pytest.fixture
def to(tmp_path: Path) -> Path:
    (tmp_path / "b.mp4").write_bytes(b"copied")
    return tmp_path / "made"


def _names(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


@pytest.mark.parametrize(
    "trouble", [KeyboardInterrupt("broken off"), RuntimeError("broken off"), Fault("broken off", "card", "x")]
)
def test_what_is_broken_off_goes_on_with_what_was_proven(to: Path, trouble: BaseException) -> None:
    with pytest.raises(type(trouble), match="broken off"):
        _broken_off(to, "stamp", trouble)
    assert not to.exists()
    with proven_folder(to, "stamp") as proven:
        assert _names(proven.folder) == ["song/a.wav", "song/b.mp4"]
        found = proven.find(proven.folder / "song" / "a.wav")
        assert found is not None
        assert (found.file, found.frames, found.silent) == ("song/a.wav", 100, 7)
        copied = proven.find_copy(proven.folder / "song" / "b.mp4", to.with_name("b.mp4"))
        assert copied == hashlib.sha512(b"copied").hexdigest()
        assert proven.find(proven.folder / "song" / "c.wav") is None
    assert _names(to.parent) == ["b.mp4", "made/song/a.wav", "made/song/b.mp4"]


def test_where_the_disc_fails_nothing_stays(to: Path) -> None:
    for trouble in (NotDone("full", "disc", "x"), OSError(28, "no space left")):
        with pytest.raises(NotDone, match=r"full|no space left"):
            _broken_off(to, "stamp", trouble)
        assert _names(to.parent) == ["b.mp4"]


def test_what_was_made_from_something_else_is_taken_away(to: Path) -> None:
    with pytest.raises(KeyboardInterrupt, match="broken off"):
        _broken_off(to, "stamp", KeyboardInterrupt("broken off"))
    with proven_folder(to, "another") as proven:
        assert _names(proven.folder) == []
        assert proven.find(proven.folder / "song" / "a.wav") is None


def test_a_file_that_is_no_longer_what_was_proven_is_written_again(to: Path) -> None:
    with pytest.raises(KeyboardInterrupt, match="broken off"):
        _broken_off(to, "stamp", KeyboardInterrupt("broken off"))
    file = to.with_name(".made.part") / "song" / "a.wav"
    content = bytearray(file.read_bytes())
    content[-1] ^= 1
    file.write_bytes(content)
    to.with_name("b.mp4").write_bytes(b"another picture")
    with proven_folder(to, "stamp") as proven:
        path = proven.folder / "song" / "a.wav"
        assert proven.find(path) is None
        assert not path.exists()
        assert proven.find_copy(proven.folder / "song" / "b.mp4", to.with_name("b.mp4")) is None
        proven.keep(path, *_write(path, 2))
    assert read_all(read_head(to / "song" / "a.wav"))[0, 0] == 2


def test_a_journal_that_was_cut_off_in_a_line_counts_for_what_it_says_before(to: Path) -> None:
    with pytest.raises(KeyboardInterrupt, match="broken off"):
        _broken_off(to, "stamp", KeyboardInterrupt("broken off"))
    journal = to.with_name(".made.proven")
    journal.write_bytes(journal.read_bytes()[:-20])
    with proven_folder(to, "stamp") as proven:
        assert _names(proven.folder) == ["song/a.wav"]
        path = proven.folder / "e.wav"
        proven.keep(path, *_write(path, 3))
        again = Proven(proven.folder, journal, "stamp")
        assert again.find(path) is not None
        assert again.find(proven.folder / "song" / "a.wav") is not None
