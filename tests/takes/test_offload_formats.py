"""Cards of any kind of recording, and discs that keep coarse times: measured on the way, and gone on with."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import soundfile
from takes.offload_kit import discs, far, files_of, make_card
from takes.wave.handmade import noise

from fieldfare.takes.offload import offload
from fieldfare.takes.tracks import Listener, check_folder

FORMATS = [("W64", "w64"), ("AIFF", "aif"), ("FLAC", "flac"), ("WAV", "wav")]


def _card(folder: Path) -> Path:
    card = folder / "CARD"
    card.mkdir()
    for number, (kind, suffix) in enumerate(FORMATS, 1):
        samples = noise(60_000, 2, number) << 8
        soundfile.write(card / f"{number:02d} track.{suffix}", samples, 48_000, "PCM_24", format=kind)
    return card


def test_every_format_is_copied_byte_by_byte_and_measured_as_a_check_of_the_copy_does(tmp_path: Path) -> None:
    card, roots = _card(tmp_path), discs(tmp_path)
    whole, listener = files_of(card), Listener()
    report = offload(card, roots, measure=listener, disk=far())
    assert report.complete
    assert not any("measured" in note for note in report.notes)
    assert files_of(roots[0] / "CARD") == files_of(roots[1] / "CARD") == whole == files_of(card)
    on_the_way = {track.file: track for take in listener.reports(card) for track in take.track if track.channel == 1}
    afterwards = {
        track.file: track for take in check_folder(roots[0] / "CARD") for track in take.track if track.channel == 1
    }
    assert len(on_the_way) == len(FORMATS)
    for name, track in afterwards.items():
        figures = {"peak_dbfs", "rms_dbfs", "frames", "peak_at", "bits", "course"}
        assert on_the_way[name].model_dump(include=figures) == track.model_dump(include=figures)


def test_a_torn_recording_is_copied_as_it_is_and_told(tmp_path: Path) -> None:
    card, roots = _card(tmp_path), discs(tmp_path)
    content = bytearray((card / "03 track.flac").read_bytes())
    content[len(content) // 2] ^= 1
    (card / "03 track.flac").write_bytes(content)
    report = offload(card, roots, measure=Listener(), disk=far())
    assert report.complete
    assert (roots[0] / "CARD" / "03 track.flac").read_bytes() == content
    (note,) = (note for note in report.notes if "03 track.flac" in note)
    assert "cannot be decoded" in note


def test_a_disc_that_keeps_times_to_two_seconds_is_gone_on_with(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """FAT keeps the time of last writing to 2 s, rounded down (from memory)."""
    exact = os.utime

    def coarse(path: str | Path, ns: tuple[int, int]) -> None:
        exact(path, ns=(ns[0] // 2_000_000_000 * 2_000_000_000, ns[1] // 2_000_000_000 * 2_000_000_000))

    monkeypatch.setattr("fieldfare.takes.offload.copying.os.utime", coarse)
    card, roots = make_card(tmp_path), discs(tmp_path)
    for path in card.rglob("*.wav"):
        exact(path, ns=(1_700_000_001_234_567_890, 1_700_000_001_234_567_890))
    assert offload(card, roots, disk=far()).complete
    written = {path: path.stat().st_ino for path in (roots[0] / "CARD").rglob("*") if path.is_file()}
    assert offload(card, roots, disk=far()).complete
    assert {path: path.stat().st_ino for path in written} == written
