"""The calls to the system go by other ways where a file system does not have them."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

import pytest

from fieldfare.takes.offload.disk import Disk

# On FAT, exFAT and many shares a link fails: Linux says EPERM or EOPNOTSUPP (its manual's page on link), macOS ENOTSUP,
# Windows error 1, ERROR_INVALID_FUNCTION, of which Python makes EINVAL (PC/errmap.h of its sources).
WITHOUT_LINKS = (errno.EPERM, errno.EOPNOTSUPP, errno.ENOTSUP, errno.EINVAL)


def _without_links(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    def link(source: Path, target: Path) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "link", link)


@pytest.mark.parametrize("number", WITHOUT_LINKS, ids=lambda number: errno.errorcode[number])
def test_a_copy_gets_its_name_where_there_are_no_links(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "0.part").write_bytes(b"whole")
    _without_links(monkeypatch, number)
    Disk().place(tmp_path / "0.part", tmp_path / "kick.wav")
    assert [path.name for path in tmp_path.iterdir()] == ["kick.wav"]
    assert (tmp_path / "kick.wav").read_bytes() == b"whole"


@pytest.mark.parametrize("number", WITHOUT_LINKS, ids=lambda number: errno.errorcode[number])
def test_what_has_the_name_already_is_left_alone_there_too(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "0.part").write_bytes(b"whole")
    (tmp_path / "kick.wav").write_bytes(b"another's")
    _without_links(monkeypatch, number)
    with pytest.raises(FileExistsError, match=r"kick\.wav"):
        Disk().place(tmp_path / "0.part", tmp_path / "kick.wav")
    assert (tmp_path / "kick.wav").read_bytes() == b"another's"


def test_a_disc_that_fails_is_not_taken_for_one_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "0.part").write_bytes(b"whole")
    _without_links(monkeypatch, errno.EIO)
    with pytest.raises(OSError, match=os.strerror(errno.EIO)):
        Disk().place(tmp_path / "0.part", tmp_path / "kick.wav")
    assert not (tmp_path / "kick.wav").exists()


@pytest.mark.skipif(sys.platform != "linux", reason="needs a system that has none of macOS's own calls")
def test_without_the_calls_of_macos_a_copy_is_settled_and_read_back_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a share says to them there, this system's kernel says as well: it does not know the call."""
    monkeypatch.setattr(sys, "platform", "darwin")
    monkeypatch.delattr(os, "posix_fadvise")
    disk = Disk()
    with disk.create(tmp_path / "kick.wav") as file:
        disk.write(file, memoryview(b"whole"))
        disk.settle(file)
    file, how = disk.open_back(tmp_path / "kick.wav", direct=False)
    with file:
        assert (file.read(), how) == (b"whole", "through the cache")
