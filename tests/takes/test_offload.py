"""Offloading: what is copied, what is claimed, and what is refused."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from takes.offload_kit import FarDisk, claims, discs, far, files_of, leftovers, make_card, untouched
from takes.wave.handmade import fmt, form, noise

from fieldfare.takes.offload import Progress, offload
from fieldfare.takes.offload.device import FAT_LIMIT, Device, device_of
from fieldfare.takes.wave import Head, raw_blocks, read_head, write_whole
from fieldfare.units.faults import NotDone


def test_a_card_is_copied_read_back_and_reported(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    report = offload(card, roots, disk=far())
    assert (report.complete, report.missing, report.devices) == (True, (), 2)
    on_card = files_of(card)
    assert {file.path: file.sha256 for file in report.file} == on_card
    for root in roots:
        assert files_of(root / "CARD") == on_card
        assert (root / "CARD" / "EMPTY").is_dir()
        assert claims(root) == report
        assert leftovers(root) == []
        for name in on_card:
            assert (root / "CARD" / name).stat().st_mtime_ns == (card / name).stat().st_mtime_ns
    assert all(file.read_back == tuple(map(str, roots)) for file in report.file)


def test_the_card_is_left_as_it_was_times_included(tmp_path: Path) -> None:
    card = make_card(tmp_path)
    old = (1_000_000_000, 1_000_000_000)
    for path in (*card.rglob("*"), card):
        os.utime(path, ns=old)  # an old time of last access is renewed by any ordinary reading
    before = untouched(card)
    offload(card, discs(tmp_path), disk=far(), measure=lambda name, head, frames: None)
    if not hasattr(os, "O_NOATIME"):
        pytest.skip("this system cannot read a file without noting the time")
    assert untouched(card) == before


def test_any_system_s_checksum_tool_agrees(tmp_path: Path) -> None:
    if shutil.which("sha256sum") is None:
        pytest.skip("this system has no sha256sum")
    card, roots = make_card(tmp_path), discs(tmp_path)
    for name in ("two  spaces", "a\\b", "-dash", "line\nfeed", "größe Φ", "x" * 250 + ".wav"):
        (card / name).write_text(name)
    offload(card, roots, disk=far())
    check = subprocess.run(
        ["sha256sum", "--strict", "-c", "CARD.sha256"], cwd=roots[0], capture_output=True, check=False
    )
    assert check.returncode == 0, check.stderr
    assert check.stdout.count(b": OK\n") == len(files_of(card))


def test_names_that_are_no_text_are_copied_and_told(tmp_path: Path) -> None:
    if sys.platform != "linux":
        pytest.skip("file names are always text here")
    card, roots = make_card(tmp_path), discs(tmp_path)
    (card / os.fsdecode(b"caf\xe9.wav")).write_text("x")
    report = offload(card, roots, disk=far())
    assert report.complete
    assert "caf\\xe9.wav" in [file.path for file in report.file]
    assert os.fsencode(roots[0] / "CARD" / os.fsdecode(b"caf\xe9.wav")).endswith(b"caf\xe9.wav")
    assert files_of(roots[0] / "CARD") == files_of(card)
    assert offload(card, roots, disk=far()).complete  # the journal knows the name again


class _Counting(FarDisk):
    """Counts what is read of the card."""

    def __init__(self, *names: str) -> None:
        super().__init__(*names)
        self.read: dict[str, int] = {}

    def open_source(self, path: Path) -> io.FileIO:
        counts, name = self.read, path.name

        class Counted(io.FileIO):
            def readinto(self, buffer: object, /) -> int:
                count = super().readinto(buffer)  # type: ignore[arg-type]
                counts[name] = counts.get(name, 0) + count
                return count

        return Counted(str(path), "rb")


def test_each_file_of_the_card_is_read_once_and_never_again(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path, frames=800_000), discs(tmp_path)
    disk = _Counting("CARD", "LEFT", "RIGHT")
    assert offload(card, roots, disk=disk).complete
    assert disk.read == {
        path.name: path.stat().st_size for path in card.rglob("*") if path.is_file() and path.stat().st_size
    }
    disk.read.clear()
    assert offload(card, roots, disk=disk).complete
    assert disk.read == {}
    (card / "late.wav").write_bytes(b"late")
    report = offload(card, roots, disk=disk)
    assert report.complete
    assert disk.read == {"late.wav": 4}
    assert len(report.file) == 6


def test_every_block_read_is_measured_in_the_same_pass(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    write_whole(card / "long.wav", 48_000, 24, noise(150_000, 5), 5)  # three blocks
    seen: dict[str, list[bytes]] = {}

    def measure(name: str, head: Head, frames: memoryview) -> None:
        assert len(frames) % head.frame_bytes == 0
        assert head.path == card / name
        seen.setdefault(name, []).append(bytes(frames))

    offload(card, roots, measure=measure, disk=far())
    expected = {f"TAKE 01/{number:02d} track.wav" for number in (1, 2, 3)} | {"long.wav"}
    assert set(seen) == expected
    for name, parts in seen.items():
        assert parts[-1] == b""
        assert b"".join(parts) == b"".join(map(bytes, raw_blocks(read_head(card / name))))
    assert len(seen["long.wav"]) > 3
    seen.clear()
    offload(card, roots, measure=measure, disk=far())  # nothing is read from the card; the copies are measured
    assert set(seen) == expected


def test_a_fault_in_measuring_never_stops_the_copying(tmp_path: Path) -> None:
    def measure(name: str, head: Head, frames: memoryview) -> None:
        raise ValueError("no such window")

    report = offload(make_card(tmp_path), discs(tmp_path), measure=measure, disk=far())
    assert report.complete
    assert sum("could not be measured (ValueError: no such window)" in note for note in report.notes) == 3


def test_a_recording_that_cannot_be_read_is_copied_and_told(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    (card / "headless.wav").write_bytes(bytes(5_000))
    (card / "nothing.WAV").write_bytes(form(b"RIFF", fmt()))
    report = offload(card, roots, measure=lambda name, head, frames: None, disk=far())
    assert report.complete
    assert [note for note in report.notes if "could not be measured" in note] == [
        "headless.wav was copied but could not be measured (it starts with zeros: its header was never written)",
        "nothing.WAV was copied but could not be measured (it holds no audio chunk)",
    ]


def test_progress_runs_to_its_end(tmp_path: Path) -> None:
    told: list[Progress] = []
    card = make_card(tmp_path)
    offload(card, discs(tmp_path), tell=told.append, disk=far())
    size = sum(path.stat().st_size for path in card.rglob("*") if path.is_file())
    for stage, total in (("copying", size), ("reading back", 2 * size)):
        steps = [one.done_bytes for one in told if one.stage == stage]
        assert steps == sorted(steps)
        assert steps[-1] == total == {one.total_bytes for one in told if one.stage == stage}.pop()


def test_an_offload_that_is_stopped_goes_on_where_it_was(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)

    def stop(progress: Progress) -> None:
        if progress.file.endswith("02 track.wav"):
            raise KeyboardInterrupt("asked to")

    with pytest.raises(KeyboardInterrupt, match="asked to"):
        offload(card, roots, tell=stop, disk=far())
    assert sorted(files_of(roots[0] / "CARD")) == ["TAKE 01/01 track.wav"]
    assert [claims(root) for root in roots] == [None, None]
    assert [leftovers(root) for root in roots] == [[], []]
    disk = _Counting("CARD", "LEFT", "RIGHT")
    assert offload(card, roots, disk=disk).complete
    assert "01 track.wav" not in disk.read


def test_a_file_that_is_there_already_is_never_overwritten(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    (roots[0] / "CARD").mkdir()
    (roots[0] / "CARD" / "notes.txt").write_text("another night's notes")
    shutil.copy2(card / "zero.bin", roots[0] / "CARD" / "zero.bin")
    for _ in range(2):
        report = offload(card, roots, disk=far())
        assert (roots[0] / "CARD" / "notes.txt").read_text() == "another night's notes"
        assert not report.complete
        assert len(report.missing) == 1
        assert "notes.txt was not read back equal from " in report.missing[0]
        assert "not of our making and is left alone: offload under another name" in report.missing[0]
        assert [len(file.read_back) for file in report.file] == [2, 2, 2, 1, 2]
    assert offload(card, roots, name="second night", disk=far()).complete


def _spoil(path: Path) -> None:
    """Flip a bit on the medium, as a bad stick would: no time changes."""
    how = path.stat()
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)
    os.utime(path, ns=(how.st_atime_ns, how.st_mtime_ns))


def test_a_copy_that_differs_when_read_back_is_kept_aside_and_made_again(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    copy = roots[1] / "CARD" / "TAKE 01" / "02 track.wav"
    aside = copy.with_stem("02 track (differs)")
    spoilt: list[Path] = []

    def spoil_once(progress: Progress) -> None:
        if progress.stage == "reading back" and not spoilt:
            spoilt.append(copy)
            _spoil(copy)

    report = offload(card, roots, tell=spoil_once, disk=far())
    assert report.complete
    assert files_of(roots[1] / "CARD").keys() - files_of(card).keys() == {"TAKE 01/02 track (differs).wav"}
    file = next(one for one in report.file if one.path == "TAKE 01/02 track.wav")
    assert file.trouble == (f"the copy at {copy} differs from the card", f"it is kept as {aside}")


def test_a_medium_that_spoils_every_copy_is_never_called_safe(tmp_path: Path) -> None:
    class Spoiling(FarDisk):
        def place(self, part: Path, final: Path) -> None:
            super().place(part, final)
            if "RIGHT" in final.parts and final.name == "notes.txt":
                _spoil(final)

    report = offload(make_card(tmp_path), discs(tmp_path), disk=Spoiling("CARD", "LEFT", "RIGHT"))
    assert not report.complete
    assert [len(file.read_back) for file in report.file] == [2, 2, 2, 1, 2]
    assert "notes.txt was not read back equal from" in report.missing[0]


def test_a_copy_touched_since_it_was_read_back_is_left_alone_and_no_longer_counts(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    assert offload(card, roots, disk=far()).complete
    (roots[0] / "CARD" / "notes.txt").write_text("scribbled over after the offload was")
    report = offload(card, roots, disk=far())
    assert not report.complete
    assert "is left alone" in report.missing[0]
    assert (roots[0] / "CARD" / "notes.txt").read_text() == "scribbled over after the offload was"
    (roots[0] / "CARD" / "notes.txt").unlink()
    assert offload(card, roots, disk=far()).complete


def test_a_recheck_reads_every_copy_back_once_more(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    assert offload(card, roots, disk=far()).complete
    _spoil(roots[0] / "CARD" / "TAKE 01" / "03 track.wav")
    assert offload(card, roots, disk=far()).complete  # size and time say that nothing happened
    report = offload(card, roots, recheck=True, disk=far())
    assert report.complete  # and copied again
    assert any("differs from the card" in trouble for file in report.file for trouble in file.trouble)


def test_the_card_may_not_change_meanwhile(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)

    def record(progress: Progress) -> None:
        with (card / "notes.txt").open("a") as file:
            file.write("still writing")
        (card / "new.wav").touch()

    report = offload(card, roots, tell=record, disk=far())
    assert not report.complete
    assert "notes.txt changed on the card meanwhile: stop the recorder and offload again" in report.missing
    assert "new.wav appeared on the card meanwhile: stop the recorder and offload again" in report.missing
    roots.append(tmp_path / "THIRD")
    again = offload(card, roots, name="again", disk=far(), same_device=True)
    assert again.complete


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
        ("NONE", ["LEFT", "RIGHT"], "", "NONE: there is no such card or folder"),
        ("CARD/notes.txt", ["LEFT", "RIGHT"], "", "notes.txt: there is no such card or folder"),
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
    if Path("/dev/shm").is_dir():
        assert device_of(Path("/dev/shm")).memory
        assert not device_of(Path("/dev/shm")).shares_with(device_of(Path("/")))
