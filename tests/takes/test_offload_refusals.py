"""What is refused before anything is written, and what is copied but never called safe."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from takes.offload_kit import FarDisk, discs, far, files_of, make_card
from takes.wave.handmade import noise

from fieldfare.takes.offload import Progress, offload
from fieldfare.takes.offload.device import FAT_LIMIT, Device, device_of
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import NotDone


def test_two_copies_on_one_device_are_refused_unless_told_and_never_safe(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    one_disc = FarDisk("CARD")
    with pytest.raises(NotDone, match=r"RIGHT: it is on the same device as .*LEFT; give a folder on another disc"):
        offload(card, roots, disk=one_disc)
    assert [list(root.iterdir()) for root in roots] == [[], []]
    report = offload(card, roots, disk=one_disc, same_device=True)
    assert not report.complete
    assert report.devices == 1
    assert report.missing == (
        "the copies do not lie on two different devices: offload to one more before the card is wiped",
    )
    assert all(len(file.read_back) == 2 for file in report.file)


def test_a_copy_on_the_card_s_own_device_does_not_count(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    with pytest.raises(NotDone, match="LEFT: it is on the same device as the card"):
        offload(card, roots, disk=FarDisk("RIGHT"))
    report = offload(card, roots, disk=FarDisk("RIGHT"), same_device=True)
    assert not report.complete
    assert "LEFT is on the same device as the card: it does not count as a second device" in report.missing[0]


def test_a_copy_in_memory_does_not_count(tmp_path: Path) -> None:
    class Memory(FarDisk):
        def device(self, folder: Path) -> Device:
            found = super().device(folder)
            return Device(found.discs, memory="RIGHT" in folder.parts)

    report = offload(make_card(tmp_path), discs(tmp_path), disk=Memory("CARD", "LEFT", "RIGHT"))
    assert not report.complete
    assert "RIGHT lies in memory, which is gone when the machine is switched off" in report.missing[0]


def test_a_third_place_that_does_not_count_is_only_noted(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    report = offload(card, [*roots, tmp_path / "beside"], disk=FarDisk("LEFT", "RIGHT"), same_device=True)
    assert report.complete
    assert "beside is on the same device as the card: it does not count" in report.notes[-1]


def test_one_destination_is_a_copy_and_never_safe(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    report = offload(card, roots[:1], disk=far())
    assert not report.complete
    assert files_of(roots[0] / "CARD") == files_of(card)
    third = tmp_path / "THIRD"
    assert offload(card, [*roots, third], disk=far(), same_device=True).complete  # two of three lie apart


def test_an_empty_card_is_never_safe(tmp_path: Path) -> None:
    (tmp_path / "CARD").mkdir()
    report = offload(tmp_path / "CARD", discs(tmp_path), disk=far())
    assert not report.complete
    assert report.missing == ("the card holds no file: check that it is the right one, and mounted",)


def test_links_and_channels_are_told_and_not_followed(tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no such files")
    card, roots = make_card(tmp_path), discs(tmp_path)
    (tmp_path / "secret").write_text("not on the card")
    (card / "link.wav").symlink_to(tmp_path / "secret")
    (card / "loop").symlink_to(card, target_is_directory=True)
    os.mkfifo(card / "pipe")
    report = offload(card, roots, disk=far())
    assert not report.complete
    assert [one.split(",")[0] for one in report.missing] == [
        "link.wav is a link",
        "loop is a link",
        "pipe is no file but a device or a channel between programs",
    ]
    assert sorted(path.name for path in (roots[0] / "CARD").iterdir()) == ["EMPTY", "TAKE 01", "notes.txt", "zero.bin"]


@pytest.mark.parametrize(
    ("card", "destinations", "name", "match"),
    [
        ("NONE", ["LEFT", "RIGHT"], "", "NONE: there is no such folder"),
        ("CARD/notes.txt", ["LEFT", "RIGHT"], "", "notes.txt: this is a file, not a folder"),
        ("CARD", [], "", "no destination is given; give two folders on different discs"),
        ("CARD", ["LEFT", "none/deeper"], "", "deeper: there is no such folder; check that the disc is mounted"),
        ("CARD", ["LEFT", "CARD/copy"], "", "copy: it lies on the card itself"),
        ("CARD", ["LEFT", "LEFT"], "", "LEFT: it is given twice"),
        ("CARD", ["LEFT", "RIGHT"], "a/b", "'a/b' cannot be the name of a folder; give a name"),
        ("CARD", ["LEFT", "RIGHT"], "..", "'..' cannot be the name of a folder; give a name"),
    ],
)
def test_what_cannot_work_is_refused_before_anything_is_written(
    card: str, destinations: list[str], name: str, match: str, tmp_path: Path
) -> None:
    make_card(tmp_path)
    roots = discs(tmp_path)
    with pytest.raises(NotDone, match=match):
        offload(tmp_path / card, [tmp_path / one for one in destinations], name=name, disk=far())
    assert [list(root.iterdir()) for root in roots] == [[], []]


def test_a_place_that_is_closed_is_refused_before_the_other_is_touched(tmp_path: Path) -> None:
    class Closed(FarDisk):
        def may_write(self, folder: Path) -> bool:
            return super().may_write(folder) and "RIGHT" not in folder.parts

    card, roots = make_card(tmp_path), discs(tmp_path)
    with pytest.raises(NotDone, match="RIGHT: nothing can be written there; see to its rights"):
        offload(card, roots, disk=Closed("LEFT", "RIGHT"))
    assert [list(root.iterdir()) for root in roots] == [[], []]


def test_too_little_room_is_refused_with_both_figures(tmp_path: Path) -> None:
    class Tight(FarDisk):
        def free_bytes(self, folder: Path) -> int:
            return 20_000_000 if "RIGHT" in folder.parts else 10**12

    card, roots = make_card(tmp_path), discs(tmp_path)
    write_whole(card / "long.wav", 48_000, 24, noise(1_500_000, 1))
    with pytest.raises(NotDone, match=r"RIGHT: 21\.3 MB are needed and 20\.0 MB are free; make room"):
        offload(card, roots, disk=Tight("CARD", "LEFT", "RIGHT"))
    assert [list(root.iterdir()) for root in roots] == [[], []]


def test_room_is_counted_once_for_each_device(tmp_path: Path) -> None:
    """Two copies on one disc need twice the room."""

    class Tight(FarDisk):
        def free_bytes(self, folder: Path) -> int:
            return 24_000_000

    card, roots = make_card(tmp_path), discs(tmp_path)
    write_whole(card / "long.wav", 48_000, 24, noise(1_500_000, 1))
    with pytest.raises(NotDone, match=r"LEFT and .*RIGHT: 25.8 MB are needed and 24.0 MB are free"):
        offload(card, roots, disk=Tight("CARD"), same_device=True)


def test_a_file_longer_than_the_disc_can_hold_is_refused(tmp_path: Path) -> None:
    """[FAT32]: no file of 2^32 bytes. The long one is a hole and takes no room here."""

    class Fat(FarDisk):
        def device(self, folder: Path) -> Device:
            found = super().device(folder)
            return Device(found.discs, largest_file=FAT_LIMIT if "RIGHT" in folder.parts else None)

        def free_bytes(self, folder: Path) -> int:
            return 10**12

    card, roots = make_card(tmp_path), discs(tmp_path)
    with (card / "long.wav").open("wb") as file:
        file.truncate(2**32)
    with pytest.raises(
        NotDone, match=r"long\.wav has 4294967296 bytes, and no file there may have more than 4294967295"
    ):
        offload(card, roots, disk=Fat("CARD", "LEFT", "RIGHT"))


def test_two_offloads_of_one_name_do_not_meet(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    refused: list[str] = []

    def meanwhile(progress: Progress) -> None:
        if not refused:
            with pytest.raises(NotDone, match="another offload of that name is writing here") as fault:
                offload(card, roots, disk=far())
            refused.append(str(fault.value))

    assert offload(card, roots, tell=meanwhile, disk=far()).complete
    assert len(refused) == 1


def test_a_folder_on_the_system_s_disc_has_a_device(tmp_path: Path) -> None:
    """The same folder twice shares its device with itself, and a folder in it too."""
    (tmp_path / "in").mkdir()
    assert device_of(tmp_path).shares_with(device_of(tmp_path / "in"))
    if sys.platform == "linux":
        assert device_of(Path("/dev/shm")).memory
        assert not device_of(Path("/dev/shm")).shares_with(device_of(Path("/")))
