"""Which discs a folder lies on, from the kernel's own tree; and how far past the cache a copy is read back."""

from __future__ import annotations

import errno
import io
import os
from pathlib import Path

import pytest
from takes.offload_kit import FarDisk, discs, make_card

from fieldfare.takes.offload import offload
from fieldfare.takes.offload.device import _discs_behind, _discs_of, _Mount
from fieldfare.takes.offload.disk import HOWS, Disk, How


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A kernel's tree: two discs, a partition of the first, a volume over both, an encrypted one over that."""
    for disc in ("sda", "sdb"):
        (tmp_path / disc / f"{disc}1").mkdir(parents=True)
        (tmp_path / disc / f"{disc}1" / "partition").write_text("1\n")
    for volume, below in (("dm-0", ("sda/sda1", "sdb/sdb1")), ("dm-1", ("dm-0",))):
        (tmp_path / volume / "slaves").mkdir(parents=True)
        for one in below:
            (tmp_path / volume / "slaves" / Path(one).name).symlink_to(tmp_path / one, target_is_directory=True)
    return tmp_path


@pytest.mark.parametrize(
    ("node", "expected"),
    [
        ("sda", {"sda"}),
        ("sda/sda1", {"sda"}),
        ("sdb/sdb1", {"sdb"}),
        ("dm-0", {"sda", "sdb"}),
        ("dm-1", {"sda", "sdb"}),
    ],
)
def test_partitions_and_volumes_are_traced_to_their_discs(tree: Path, node: str, expected: set[str]) -> None:
    assert _discs_behind(tree / node) == expected


def test_a_container_lies_on_the_disc_of_its_file(tree: Path) -> None:
    (tree / "loop0" / "loop").mkdir(parents=True)
    (tree / "loop0" / "loop" / "backing_file").write_text(f"{tree}/container.img\n")
    expected = Disk().device(tree).discs
    assert _discs_behind(tree / "loop0") == expected


@pytest.mark.parametrize(
    ("kind", "source", "expected"),
    [
        ("nfs4", "studio:/takes", "studio"),
        ("cifs", "//studio/takes", "studio"),
        ("fuse.sshfs", "me@studio:/takes", "me@studio"),
        ("zfs", "tank/takes/2026", "pool tank"),
        ("overlay", "overlay", "volume 7"),
        ("ext4", "/dev/none-such", "/dev/none-such"),
    ],
)
def test_other_places_are_told_apart_by_what_holds_them(kind: str, source: str, expected: str) -> None:
    assert _discs_of(_Mount("/media/x", kind, source), 7) == {expected}


class Refusing(FarDisk):
    """A system that opens around its cache and then will not read."""

    def open_back(self, path: Path, *, direct: bool = True) -> tuple[io.FileIO, How]:
        if not direct:
            return super().open_back(path, direct=False)

        class Odd(io.FileIO):
            def readinto(self, buffer: memoryview, /) -> int:  # type: ignore[override]
                raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))

        return Odd(str(path), "rb"), HOWS[0]


def test_where_the_cache_cannot_be_gone_around_it_is_emptied_and_said(tmp_path: Path) -> None:
    if not hasattr(os, "posix_fadvise"):
        pytest.skip("this system takes no advice on its cache")
    report = offload(make_card(tmp_path), discs(tmp_path), disk=Refusing("CARD", "LEFT", "RIGHT"))
    assert report.complete
    assert len(report.notes) == 2
    assert all(note.endswith("read back after the system was asked to empty its cache") for note in report.notes)


def test_the_worst_of_all_readings_is_what_is_said(tmp_path: Path) -> None:
    class Cached(FarDisk):
        def open_back(self, path: Path, *, direct: bool = True) -> tuple[io.FileIO, How]:
            return io.FileIO(str(path), "rb"), HOWS[2 if path.name == "notes.txt" and "RIGHT" in path.parts else 0]

    report = offload(make_card(tmp_path), discs(tmp_path), disk=Cached("CARD", "LEFT", "RIGHT"))
    assert report.notes == (
        f"{tmp_path}/LEFT: read back from the medium, around the system's cache",
        f"{tmp_path}/RIGHT: read back, but this system may have answered from its cache and not from the medium",
    )


def test_a_copy_that_cannot_be_read_back_does_not_count(tmp_path: Path) -> None:
    class Dying(FarDisk):
        def open_back(self, path: Path, *, direct: bool = True) -> tuple[io.FileIO, How]:
            if "RIGHT" in path.parts and path.name == "notes.txt":
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            return super().open_back(path, direct=direct)

    report = offload(make_card(tmp_path), discs(tmp_path), disk=Dying("CARD", "LEFT", "RIGHT"))
    assert not report.complete
    assert "RIGHT cannot be read back (Input/output error)" in report.missing[0]
