"""Offloading: what is copied, what is claimed, and what is refused."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from takes.offload_kit import FarDisk, claims, discs, far, files_of, leftovers, looks_of, make_card
from takes.wave.handmade import fmt, form, noise

from fieldfare.takes.offload import Progress, offload
from fieldfare.takes.wave import Head, raw_blocks, read_head, write_whole


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
    paths = [card, *sorted(card.rglob("*"))]
    for path in paths:
        os.utime(path, ns=(10**18, 10**18))  # an old time of last access is renewed by any ordinary reading
    before = looks_of(paths)
    offload(card, discs(tmp_path), disk=far(), measure=lambda name, head, frames: None)
    if not hasattr(os, "O_NOATIME"):
        pytest.skip("this system cannot read a file without noting the time")
    assert looks_of(paths) == before
    assert [card, *sorted(card.rglob("*"))] == paths


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


def test_an_older_report_claims_nothing_of_a_later_card(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    assert offload(card, roots, disk=far()).complete
    (card / "late.wav").write_bytes(b"late")

    def stop(progress: Progress) -> None:
        raise KeyboardInterrupt("asked to")

    with pytest.raises(KeyboardInterrupt, match="asked to"):
        offload(card, roots, tell=stop, disk=far())
    assert [claims(root) for root in roots] == [None, None]


def test_a_second_card_of_the_night_leaves_the_hashes_of_the_first(tmp_path: Path) -> None:
    """They are all that proves the first card's copies once it is wiped; a copy that was touched has no place there."""
    first, roots = make_card(tmp_path), discs(tmp_path)
    assert offload(first, roots, name="night", disk=far()).complete
    second = tmp_path / "second" / "CARD"
    (second / "TAKE 02").mkdir(parents=True)
    shutil.copy2(first / "TAKE 01" / "01 track.wav", second / "TAKE 02")
    (roots[1] / "night" / "notes.txt").write_text("touched")
    assert offload(second, roots, name="night", disk=far()).complete
    for root, touched in zip(roots, (set[str](), {"notes.txt"}), strict=True):
        lines = (root / "night.sha256").read_text().splitlines()
        told = {name.removeprefix("night/"): sha for sha, name in (line.split("  ") for line in lines)}
        there = files_of(root / "night")
        assert told == {name: sha for name, sha in there.items() if name not in touched}
        assert len(there) == 6


def test_a_journal_torn_in_its_last_line_is_gone_on_with(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)
    assert offload(card, roots, disk=far()).complete
    journal = roots[0] / ".CARD.offload" / "journal.jsonl"
    journal.write_bytes(journal.read_bytes()[:-20])
    assert offload(card, roots, disk=far()).complete
    after = journal.read_bytes()
    assert offload(card, roots, disk=far()).complete
    assert journal.read_bytes() == after  # every line was understood: nothing was left to do


def test_a_file_that_turns_up_while_its_copy_is_written_is_left_alone(tmp_path: Path) -> None:
    card, roots = make_card(tmp_path), discs(tmp_path)

    class Shared(FarDisk):
        def write(self, file: io.FileIO, block: memoryview) -> int:
            if bytes(block) == (card / "notes.txt").read_bytes() and "RIGHT" in Path(str(file.name)).parts:
                (roots[1] / "CARD" / "notes.txt").write_text("somebody was quicker")
            return super().write(file, block)

    report = offload(card, roots, disk=Shared("CARD", "LEFT", "RIGHT"))
    assert not report.complete
    assert (roots[1] / "CARD" / "notes.txt").read_text() == "somebody was quicker"
    assert "a file of that name is already at" in report.missing[0]
    assert leftovers(roots[1]) == []


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
        assert "not a copy of this card and is left alone: offload to folders of its own" in report.missing[0]
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
    assert [file.read_back for file in report.file if file.path == "notes.txt"] == [()]
    assert offload(card, roots, name="again", disk=far()).complete
