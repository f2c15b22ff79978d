"""Discs that fill, cards that vanish, media that cannot be read: the rest is saved, and what is missing is told."""

from __future__ import annotations

import errno
import io
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest
from takes.offload_kit import FarDisk, claims, discs, far, files_of, leftovers, make_card
from takes.wave.handmade import noise

from fieldfare.takes.offload import Disk, Progress, offload
from fieldfare.takes.wave import read_all, read_head, write_whole
from fieldfare.units.faults import NotDone


class Scratched(FarDisk):
    """A card on which stretches of one file cannot be read."""

    def __init__(self, name: str, *stretches: tuple[int, int]) -> None:
        super().__init__("CARD", "LEFT", "RIGHT")
        self.name, self.stretches = name, stretches

    def open_source(self, path: Path) -> io.FileIO:
        stretches = self.stretches if path.name == self.name else ()

        class Bad(io.FileIO):
            def readinto(self, buffer: memoryview, /) -> int:  # type: ignore[override]
                start = self.tell()
                if any(start < last and start + len(buffer) > first for first, last in stretches):
                    raise OSError(errno.EIO, os.strerror(errno.EIO))
                return super().readinto(buffer)

        return Bad(str(path), "rb")


def test_an_unreadable_stretch_is_told_to_the_sample_and_the_rest_is_kept(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    samples = noise(700_000, 1)
    write_whole(card / "long.wav", 48_000, 24, samples)
    report = offload(card, roots, disk=Scratched("long.wav", (1_500_000, 1_500_010)))
    file = next(one for one in report.file if one.path == "long.wav")
    assert not report.complete
    assert (file.sha256, file.read_back) == ("", ())
    assert sum(len(one.read_back) for one in report.file) == 10  # all the others, twice
    # bytes 1,499,136 to 1,503,231 are the piece of 4096 that holds the stretch; audio of 3 bytes a sample starts at 80
    first, last = 499_685, 501_050
    assert f"cannot be read at samples {first} to {last} (from 0:00:10.410) (Input/output error)" in file.trouble[0]
    for root in roots:
        assert "CARD/long.wav" not in files_of(root)
        saved = read_all(read_head(root / "CARD" / "long (salvaged).wav"))
        assert np.array_equal(saved[:first], samples[:first])
        assert np.array_equal(saved[last + 1 :], samples[last + 1 :])
        assert not saved[first + 1 : last].any()
    assert " and ".join(str(root / "CARD" / "long (salvaged).wav") for root in roots) in file.trouble[0]
    assert all("long.wav" in one for one in report.missing)


def test_a_second_try_with_a_better_reader_makes_it_whole(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    assert not offload(card, roots, disk=Scratched("notes.txt", (0, 1))).complete
    report = offload(card, roots, disk=far())
    assert report.complete
    assert set(files_of(roots[0] / "CARD")) - set(files_of(card)) == {"notes (salvaged).txt"}


def test_what_is_unreadable_to_the_end_is_given_up(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    write_whole(card / "long.wav", 48_000, 24, noise(6_000_000, 1))
    size = (card / "long.wav").stat().st_size
    report = offload(card, roots, disk=Scratched("long.wav", (2_000_000, size)))
    file = next(one for one in report.file if one.path == "long.wav")
    assert "to 5999999 (from " in file.trouble[0]
    kept = read_head(roots[0] / "CARD" / "long (salvaged).wav")
    assert kept.state == "cut"
    assert kept.frames < 4_000_000


def test_a_read_error_in_a_file_that_is_no_recording_is_told_in_bytes(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    (card / "film.mov").write_bytes(bytes(range(256)) * 100)
    report = offload(card, roots, disk=Scratched("film.mov", (9_000, 9_001), (20_000, 20_001)))
    file = next(one for one in report.file if one.path == "film.mov")
    assert "cannot be read at bytes 8192 to 12287 and bytes 16384 to 20479 (Input/output error)" in file.trouble[0]


def test_a_file_that_cannot_be_opened_is_told_and_the_others_copied(tmp_path: Path) -> None:
    class Locked(FarDisk):
        def open_source(self, path: Path) -> io.FileIO:
            if path.name == "notes.txt":
                raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
            return super().open_source(path)

    report = offload(make_card(tmp_path), discs(tmp_path), disk=Locked("CARD", "LEFT", "RIGHT"))
    assert not report.complete
    assert len(report.missing) == 1
    assert "notes.txt was not read back equal" in report.missing[0]
    assert "cannot be read from the card (Permission denied)" in report.missing[0]
    assert [len(one.read_back) for one in report.file] == [2, 2, 2, 0, 2]


class Failing(FarDisk):
    """A disc that answers with an error once so much was written to it."""

    def __init__(self, error: int, after_bytes: int) -> None:
        super().__init__("CARD", "LEFT", "RIGHT")
        self.error, self.left = error, after_bytes

    def write(self, file: io.FileIO, block: memoryview) -> int:
        if "RIGHT" in Path(str(file.name)).parts:
            self.left -= len(block)
            if self.left < 0:
                raise OSError(self.error, os.strerror(self.error))
        return super().write(file, block)


def test_a_disc_that_fails_loses_nothing_on_the_other(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    report = offload(card, roots, disk=Failing(errno.ENOSPC, 10_000))
    assert not report.complete
    assert files_of(roots[0] / "CARD") == files_of(card)
    assert files_of(roots[1] / "CARD") == {"TAKE 01/01 track.wav": files_of(card)["TAKE 01/01 track.wav"]}
    assert [leftovers(root) for root in roots] == [[], []]
    assert f"{roots[1]} took no more: No space left on device" in report.missing
    assert [len(one.read_back) for one in report.file] == [2, 1, 1, 1, 1]
    assert offload(card, roots, disk=far()).complete


def test_a_file_that_is_too_long_for_a_disc_stops_only_itself(tmp_path: Path) -> None:
    class Fat(FarDisk):
        def write(self, file: io.FileIO, block: memoryview) -> int:
            if "RIGHT" in Path(str(file.name)).parts and len(block) > 10_000:
                raise OSError(errno.EFBIG, os.strerror(errno.EFBIG))
            return super().write(file, block)

    card, roots = make_card(tmp_path), discs(tmp_path)
    write_whole(card / "long.wav", 48_000, 24, noise(20_000, 1))
    report = offload(card, roots, disk=Fat("CARD", "LEFT", "RIGHT"))
    assert [len(one.read_back) for one in report.file] == [2, 2, 2, 1, 2, 2]
    assert "cannot be written to" in report.missing[0]


def test_a_card_pulled_while_it_is_read_is_told(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path, tracks=6), discs(tmp_path)
    whole = files_of(card)

    def pull(progress: Progress) -> None:
        if progress.file.endswith("03 track.wav") and card.exists():
            card.rename(tmp_path / "in the pocket")

    report = offload(card, roots, tell=pull, disk=far())
    assert not report.complete
    assert [len(one.read_back) for one in report.file] == [2, 2, 2, 0, 0, 0, 0, 0]
    assert any(one.startswith("the card was gone at the end (") for one in report.missing)
    assert sum("the card was gone" in one for one in report.missing) == 6
    (tmp_path / "in the pocket").rename(card)
    assert offload(card, roots, disk=far()).complete
    assert files_of(roots[1] / "CARD") == whole


# From here on real file systems: small ones on loop devices, which only the system's owner may mount.


@pytest.fixture
def volumes(tmp_path: Path) -> Iterator[dict[str, Path]]:
    """Three ext4 volumes of their own, each on its own block device."""
    tools = [shutil.which(tool) for tool in ("mkfs.ext4", "mount", "umount")]
    if sys.platform != "linux" or os.geteuid() != 0 or not all(tools) or not Path("/dev/loop-control").exists():
        pytest.skip("mounting a volume takes Linux, its owner and a loop device")
    with ExitStack() as stack:
        volumes = {}
        for name, megabytes in (("CARD", 40), ("LEFT", 60), ("RIGHT", 60)):
            image, point = tmp_path / f"{name}.img", tmp_path / name
            point.mkdir()
            with image.open("wb") as file:
                file.truncate(megabytes << 20)
            subprocess.run(["mkfs.ext4", "-q", str(image)], check=True)
            subprocess.run(["mount", "-o", "loop", str(image), str(point)], check=True)
            stack.callback(subprocess.run, ["umount", "-l", str(point)], check=True)
            volumes[name] = point
        yield volumes


@pytest.fixture
def discs_apart(volumes: dict[str, Path], monkeypatch: pytest.MonkeyPatch) -> dict[str, Path]:
    """The same volumes, taken for discs: that their blocks lie in files on one disc is not looked into."""
    monkeypatch.setattr("fieldfare.takes.offload.device._backing_file", lambda node: None)
    return volumes


def test_volumes_that_are_files_on_one_disc_are_one_device(volumes: dict[str, Path]) -> None:
    card, roots = make_card(volumes["CARD"]), [volumes["LEFT"], volumes["RIGHT"]]
    with pytest.raises(NotDone, match="LEFT: it is on the same device as the card"):
        offload(card, roots)
    report = offload(card, roots, same_device=True)
    assert (report.complete, report.devices) == (False, 1)


def test_three_volumes_of_their_own_make_a_safe_offload(discs_apart: dict[str, Path], tmp_path: Path) -> None:
    """Nothing is pretended here: the devices are told apart, and the copies come back around the cache."""
    card, roots = make_card(discs_apart["CARD"]), [discs_apart["LEFT"], discs_apart["RIGHT"]]
    report = offload(card, roots)
    assert (report.complete, report.devices, report.missing) == (True, 2, ())
    assert all("around the system's cache" in note for note in report.notes)
    assert files_of(roots[1] / "CARD") == files_of(card)


def test_a_disc_that_really_fills_up(discs_apart: dict[str, Path], tmp_path: Path) -> None:
    class Hopeful(Disk):
        def free_bytes(self, folder: Path) -> int:
            return 10**12  # somebody else fills the disc after we looked

    card, roots = make_card(discs_apart["CARD"]), [discs_apart["LEFT"], discs_apart["RIGHT"]]
    write_whole(card / "long.wav", 48_000, 24, noise(5_000_000, 1))
    (roots[1] / "somebody else").write_bytes(bytes(shutil.disk_usage(roots[1]).free - 5_000_000))
    report = offload(card, roots, disk=Hopeful())
    assert not report.complete
    assert files_of(roots[0] / "CARD") == files_of(card)
    assert set(files_of(roots[1] / "CARD")) <= set(files_of(card)) - {"long.wav"}
    assert leftovers(roots[1]) == []
    assert any("RIGHT took no more: No space left on device" in one for one in report.missing)
    (roots[1] / "somebody else").unlink()
    assert offload(card, roots).complete


def test_a_card_that_is_really_pulled_out_and_put_back(discs_apart: dict[str, Path], tmp_path: Path) -> None:
    card, roots = make_card(discs_apart["CARD"], tracks=6), [discs_apart["LEFT"], discs_apart["RIGHT"]]
    whole = files_of(card)

    def pull(progress: Progress) -> None:
        if progress.file.endswith("03 track.wav") and card.exists():
            subprocess.run(["umount", "-l", str(discs_apart["CARD"])], check=True)

    report = offload(card, roots, tell=pull)
    assert not report.complete
    assert any(one.startswith("the card was gone at the end (") for one in report.missing)
    copied = [one.path for one in report.file if len(one.read_back) == 2]
    assert copied
    assert len(copied) < len(whole)
    assert files_of(roots[0] / "CARD") == files_of(roots[1] / "CARD") == {name: whole[name] for name in copied}
    subprocess.run(["mount", "-o", "loop", str(tmp_path / "CARD.img"), str(discs_apart["CARD"])], check=True)
    assert offload(card, roots).complete
    assert files_of(roots[1] / "CARD") == whole


def test_a_card_whose_blocks_really_cannot_be_read(discs_apart: dict[str, Path], tmp_path: Path) -> None:
    """The far end of the block device is cut off: the system itself answers with read errors."""
    card, roots = make_card(discs_apart["CARD"]), [discs_apart["LEFT"], discs_apart["RIGHT"]]
    samples = noise(9_000_000, 1)
    write_whole(card / "long.wav", 48_000, 24, samples)
    subprocess.run(["umount", str(discs_apart["CARD"])], check=True)
    subprocess.run(["mount", "-o", "loop,ro", str(tmp_path / "CARD.img"), str(discs_apart["CARD"])], check=True)
    places = [int(one) for one in _extents(card / "long.wav")]
    with (tmp_path / "CARD.img").open("r+b") as file:
        file.truncate(max(places) - 4_000_000 // 4096 * 4096)
    report = offload(card, roots)
    file_report = next(one for one in report.file if one.path == "long.wav")
    assert not report.complete
    assert "Input/output error" in file_report.trouble[0]
    saved = read_all(read_head(roots[0] / "CARD" / "long (salvaged).wav"))
    assert files_of(roots[0] / "CARD") == files_of(roots[1] / "CARD")
    lost = ~(saved == samples[: len(saved)]).all(axis=1)
    assert 0 < lost.sum() < 4_000_000
    assert claims(roots[0]) == report


def _extents(path: Path) -> list[int]:
    """Return where the blocks of a file lie on its device. [byte]"""
    import array
    import fcntl

    with path.open("rb") as file:
        found = []
        for number in range(-(-path.stat().st_size // 4096)):
            block = array.array("i", [number])
            fcntl.ioctl(file.fileno(), 1, block)  # FIBMAP
            found.append(block[0] * os.statvfs(path).f_bsize)
        return found
