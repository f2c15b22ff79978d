"""Bags held to [RFC8493] by another validator and by the system's own tool, whole and damaged in every way."""

from __future__ import annotations

import logging
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import bagit
import pytest

from fieldfare.handover.bag import info_text, seal
from fieldfare.handover.copying import copy_bag
from fieldfare.handover.reading import hashed
from fieldfare.handover.validate import check_bag
from fieldfare.units.faults import Fault, NotDone


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    folder = tmp_path / "bag"
    (folder / "data" / "tracks").mkdir(parents=True)
    (folder / "data" / "tracks" / "01_Φωνη.wav").write_bytes(bytes(range(256)) * 40_000)
    (folder / "data" / "empty.txt").write_bytes(b"")
    (folder / "data" / "notes.txt").write_text("เสียงร้อง\n", "utf-8", newline="\n")
    seal(folder, {"Source-Organization": "The recordist", "External-Description": "a long one " * 30})
    return folder


def _others_say_valid(folder: Path) -> bool:
    logging.disable(logging.CRITICAL)
    try:
        return bool(bagit.Bag(str(folder)).is_valid())
    except bagit.BagError:
        return False
    finally:
        logging.disable(logging.NOTSET)


def test_a_bag_of_ours_is_complete_and_valid_for_another_validator(bag: Path) -> None:
    assert _others_say_valid(bag)
    assert check_bag(bag).fault == []
    info = bagit.Bag(str(bag)).info
    assert info["Payload-Oxum"] == f"{256 * 40_000 + len('เสียงร้อง'.encode()) + 1}.3"
    assert info["External-Description"].split() == ("a long one " * 30).split()


@pytest.mark.skipif(shutil.which("sha512sum") is None, reason="the system has no sha512sum")
def test_the_system_s_own_tool_finds_every_hash_right(bag: Path) -> None:
    for manifest in ("manifest-sha512.txt", "tagmanifest-sha512.txt"):
        done = subprocess.run(["sha512sum", "--check", "--strict", "--quiet", manifest], cwd=bag, check=False)
        assert done.returncode == 0


def _flip(path: Path) -> None:
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2] ^= 1
    path.write_bytes(raw)


def _replace(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


TRACK = "data/tracks/01_Φωνη.wav"
DAMAGE: dict[str, tuple[Callable[[Path], object], str, str]] = {
    "a bit of a track": (lambda bag: _flip(bag / TRACK), "changed", TRACK),
    "a track gone": (lambda bag: (bag / TRACK).unlink(), "missing", TRACK),
    "a track cut": (lambda bag: os.truncate(bag / TRACK, 77), "changed", TRACK),
    "a file more": (lambda bag: (bag / "data" / "more.wav").write_bytes(b"x"), "not listed", "data/more.wav"),
    "a bit of the manifest": (lambda bag: _flip(bag / "manifest-sha512.txt"), "changed", "manifest-sha512.txt"),
    "the manifest gone": (lambda bag: (bag / "manifest-sha512.txt").unlink(), "missing", "manifest-sha512.txt"),
    "the declaration gone": (lambda bag: (bag / "bagit.txt").unlink(), "bag", "bagit.txt"),
    "another version": (lambda bag: _replace(bag / "bagit.txt", "Version: 1.0", "Version: one"), "bag", "bagit.txt"),
    "another count": (lambda bag: _replace(bag / "bag-info.txt", ".3\n", ".4\n"), "bag", "bag-info.txt"),
    "no payload": (lambda bag: shutil.rmtree(bag / "data"), "bag", "data"),
    "out of the bag": (
        lambda bag: _replace(bag / "manifest-sha512.txt", TRACK, "data/../../x"), "bag", "manifest-sha512.txt",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", DAMAGE)
def test_what_another_validator_refuses_we_refuse_and_name(name: str, bag: Path) -> None:
    damage, kind, file = DAMAGE[name]
    damage(bag)
    assert not _others_say_valid(bag)
    assert (kind, file) in [(one.kind, one.file) for one in check_bag(bag).fault]


def test_a_manifest_that_nothing_holds_in_place_is_told(bag: Path) -> None:
    """[RFC8493] 2.2.1: each tag manifest must list every payload manifest. The other validator lets this pass."""
    seal = bag / "tagmanifest-sha512.txt"
    lines = seal.read_text("utf-8").splitlines(keepends=True)
    seal.write_text("".join(line for line in lines if " manifest-" not in line), "utf-8")
    (fault,) = check_bag(bag).fault
    assert (fault.kind, fault.file) == ("bag", "manifest-sha512.txt")
    assert "whether it was altered" in fault.says


@pytest.mark.parametrize("algorithms", [["md5"], ["sha1"], ["sha256"], ["md5", "sha256"]])
def test_a_bag_that_another_program_made_is_found_valid_and_its_damage_too(
    algorithms: list[str], tmp_path: Path
) -> None:
    (tmp_path / "take one").mkdir()
    (tmp_path / "take one" / "100% kick.wav").write_bytes(b"kick" * 1000)
    bagit.make_bag(str(tmp_path), {"Contact-Name": "somebody"}, checksums=algorithms)
    assert check_bag(tmp_path).fault == []
    _flip(tmp_path / "data" / "take one" / "100% kick.wav")
    assert [one.kind for one in check_bag(tmp_path).fault] == ["changed"]


def test_hashes_are_read_from_the_medium_whatever_the_size(tmp_path: Path) -> None:
    import hashlib

    for size in (0, 1, 511, 4096, (4 << 20) - 1, 4 << 20, (4 << 20) + 1):
        content = os.urandom(size)
        (tmp_path / "x").write_bytes(content)
        assert hashed(tmp_path / "x", ["sha512", "md5"])[0] == {
            "sha512": hashlib.sha512(content).hexdigest(), "md5": hashlib.md5(content).hexdigest(),
        }  # fmt: skip


def test_an_unsafe_name_or_a_folder_that_is_a_bag_already_is_refused(bag: Path, tmp_path: Path) -> None:
    with pytest.raises(Fault, match="holds data/ alone"):
        seal(bag, {})
    (tmp_path / "other" / "data").mkdir(parents=True)
    (tmp_path / "other" / "data" / "aux.txt").write_bytes(b"")
    with pytest.raises(Fault, match=r"aux\.txt is the name of a device"):
        seal(tmp_path / "other", {})
    assert [one.name for one in (tmp_path / "other").iterdir()] == ["data"]


def test_a_copy_is_read_back_and_is_there_whole_or_not_at_all(bag: Path, tmp_path: Path) -> None:
    said: list[str] = []
    copy, found = copy_bag(bag, tmp_path / "stick", lambda what, share: said.append(what))
    assert found.fault == []
    assert found.how in ("around the cache", "cache emptied first", "through the cache")
    assert {path.relative_to(copy) for path in copy.rglob("*")} == {path.relative_to(bag) for path in bag.rglob("*")}
    assert _others_say_valid(copy)
    assert dict.fromkeys(said) == {"copying": None, "reading back": None}
    with pytest.raises(Fault, match="this is no bag"):
        copy_bag(tmp_path, tmp_path / "nowhere", lambda what, share: None)
    assert not (tmp_path / "nowhere").exists()
    with pytest.raises(NotDone, match="left alone"):
        copy_bag(bag, tmp_path / "stick", lambda what, share: None)
    _flip(bag / TRACK)
    with pytest.raises(NotDone, match=r"the copy is not the bag: data/tracks/01_Φωνη\.wav: its bytes are not those"):
        copy_bag(bag, tmp_path / "other", lambda what, share: None)
    assert list((tmp_path / "other").iterdir()) == []


def test_what_an_operating_system_leaves_behind_is_named_as_that_and_not_copied_on(bag: Path, tmp_path: Path) -> None:
    (bag / "data" / ".DS_Store").write_bytes(b"left")
    (bag / "._bagit.txt").write_bytes(b"left")
    fault, count = check_bag(bag).fault
    assert (fault.kind, fault.file) == ("not listed", "data/.DS_Store")
    assert "an operating system left it there" in fault.says
    assert count.file == "bag-info.txt"  # which counts what is there
    copy, found = copy_bag(bag, tmp_path / "stick", lambda what, share: None)
    assert found.fault == []
    assert not list(copy.rglob("*DS_Store"))


@pytest.mark.skipif(sys.platform != "linux", reason="Linux lets a test write past the cache of the copy")
def test_a_stick_that_keeps_another_byte_than_it_was_given_is_found(
    bag: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fieldfare.takes.offload.disk import Disk

    true_settle = Disk.settle

    def bad(self: Disk, file: object) -> None:
        import io

        assert isinstance(file, io.FileIO)
        true_settle(self, file)
        if str(file.name).endswith("notes.txt"):
            with open(str(file.name), "r+b") as again:  # noqa: PTH123  # beside the open file, as a bad cell would
                again.write(b"X")

    monkeypatch.setattr(Disk, "settle", bad)
    with pytest.raises(NotDone, match=r"data/notes\.txt: its bytes are not those of the manifest"):
        copy_bag(bag, tmp_path / "stick", lambda what, share: None)


def test_long_values_go_on_in_the_next_line() -> None:
    text = info_text({"A": "word " * 40, "B": "x" * 200})
    assert all(line.startswith((" ", "A:", "B:")) for line in text.splitlines())
    assert max(len(line) for line in text.splitlines() if "x" not in line) <= 79
