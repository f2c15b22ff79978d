"""Whole folders of files: takes, matches with the plan, reports, and what is said where nothing can be known."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from concurrent.futures import CancelledError
from pathlib import Path

import numpy as np
import pytest
from takes.checks.material import drums, plucked, speech
from takes.measure.signals import RATE_HZ, Codes, Floats, codes, noise
from takes.render.small import SOUNDS, small_kit, small_plan, small_show, small_venue
from takes.wave.handmade import chunk, fmt, form

from fieldfare.show.findings import TakeReport
from fieldfare.takes.axis import find_axes
from fieldfare.takes.offload import offload
from fieldfare.takes.render.faults import Planted
from fieldfare.takes.render.truth import Truth
from fieldfare.takes.render.write import render_show
from fieldfare.takes.tracks import Listener, check_folder
from fieldfare.takes.tracks.run import Teller, measure_strand, stopping
from fieldfare.takes.wave import Bext, Ixml, IxmlTrack, find_takes, make_bext, make_ixml, write
from fieldfare.units.faults import Fault

SHORT = 6 * RATE_HZ


def _write(
    path: Path,
    samples: Codes | Floats,
    start: int | None = None,
    names: Sequence[str] = (),
    bits: int = 24,
    rate_hz: int = RATE_HZ,
) -> Path:
    """Write a recording with a place on the clock and names of tracks, where they are given."""
    path.parent.mkdir(parents=True, exist_ok=True)
    whole = codes(np.asarray(samples, np.float64), bits) if samples.dtype.kind == "f" else samples
    columns = whole[:, np.newaxis] if whole.ndim == 1 else whole
    before = []
    if start is not None:
        before.append((b"bext", make_bext(Bext(date="2026-12-04", time_reference=start))))
    if names:
        tracks = tuple(IxmlTrack(channel=at, interleave=at, name=name) for at, name in enumerate(names, 1))
        before.append((b"iXML", make_ixml(Ixml(track=tracks))))
    with write(path, rate_hz, bits, columns.shape[1], before=before) as file:
        file.write(columns)
    return path


def _labels(report: TakeReport) -> list[tuple[int | None, str, str]]:
    return [(track.number, track.label, track.input) for track in report.track]


def test_mono_files_are_matched_by_number_and_name(tmp_path: Path) -> None:
    _write(tmp_path / "01_kick.wav", drums()[:SHORT])
    _write(tmp_path / "02.wav", drums(seed=4)[:SHORT])
    _write(tmp_path / "Fiddle DI.wav", plucked()[:SHORT])
    (report,) = check_folder(tmp_path, small_plan())
    assert _labels(report) == [
        (1, "Kick", "kick"), (2, "Snare top", "snare-top"), (6, "Fiddle DI", "fiddle-di")
    ]  # fmt: skip
    missing = [one.track for one in report.finding if one.kind == "missing"]
    assert missing == [row.label for row in small_plan().input if row.number not in (1, 2, 6)]


def test_an_interleaved_file_is_matched_by_its_channels_or_by_the_names_inside(tmp_path: Path) -> None:
    sounds = np.stack([codes(noise(-25, 6, n)) for n in range(4)], axis=1)
    _write(tmp_path / "a" / "take.wav", sounds)
    _write(tmp_path / "b" / "take.wav", sounds, names=("Trumpet", "Room left", "Kick", "Snare top"))
    first, second = check_folder(tmp_path, small_plan())
    assert [label for _, label, _ in _labels(first)] == ["Kick", "Snare top", "Snare bottom", "Overhead left"]
    assert [label for _, label, _ in _labels(second)] == ["Trumpet", "Room left", "Kick", "Snare top"]
    assert [track.channel for track in second.track] == [1, 2, 3, 4]


def test_a_name_counts_for_more_than_a_number_and_the_doubt_is_told(tmp_path: Path) -> None:
    _write(tmp_path / "02_kick.wav", drums()[:SHORT])
    (report,) = check_folder(tmp_path, small_plan())
    assert _labels(report) == [(1, "Kick", "kick")]
    (doubt,) = (one for one in report.finding if one.kind == "unexpected")
    assert "its number is that of Snare top" in doubt.says


def test_takes_are_told_apart_and_a_track_armed_late_belongs_to_its_own(tmp_path: Path) -> None:
    day = 20 * 3600 * RATE_HZ
    _write(tmp_path / "01_kick.wav", drums()[:SHORT], day)
    _write(tmp_path / "02_fiddle.wav", plucked()[:SHORT], day + 48_000)
    _write(tmp_path / "03_voice.wav", speech()[:SHORT], day)
    _write(tmp_path / "11_kick.wav", drums(seed=4)[:SHORT], day + 100 * RATE_HZ)
    reports = check_folder(tmp_path)
    assert [len(report.track) for report in reports] == [3, 1]
    (late,) = (one for one in reports[0].finding if one.kind == "wrong length")
    assert (late.track, late.figures["late_samples"]) == ("fiddle", 48_000)


def test_files_that_continue_one_another_are_one_recording(tmp_path: Path) -> None:
    """A repeat that lies over the seam, and times counted from the first file."""
    sound, day = codes(noise(-25, 12)), 20 * 3600 * RATE_HZ
    sound[288_100:288_600] = 0
    pair = np.stack([sound, codes(noise(-25, 12, 2)), codes(noise(-25, 12, 3))], axis=1)
    _write(tmp_path / "show_001.wav", pair[:288_300], day)
    _write(tmp_path / "show_002.wav", pair[288_300:], day + 288_300)
    (report,) = check_folder(tmp_path)
    assert (report.frames, len(report.track), len(report.file)) == (len(sound), 3, 2)
    (gap,) = (one for one in report.finding if one.kind == "dropout")
    assert gap.places == ((288_100, 288_600),)


def test_without_a_plan_it_says_what_cannot_be_known(tmp_path: Path) -> None:
    _write(tmp_path / "voice.wav", speech()[:SHORT])
    (report,) = check_folder(tmp_path)
    assert not report.finding
    assert any("without a plan" in text for text in report.not_known)
    assert any("one track only" in text for text in report.not_known)
    _write(tmp_path / "short.wav", speech()[48_000:140_000])
    (report,) = check_folder(tmp_path)
    assert any(text.startswith("hum on short") for text in report.not_known)


def test_a_plan_of_another_show_matches_nothing_and_says_so(tmp_path: Path) -> None:
    _write(tmp_path / "gong.wav", speech()[:SHORT])
    plan = small_plan().model_copy(update={"input": small_plan().input[3:5]})
    (report,) = check_folder(tmp_path, plan)
    assert any("no track could be matched" in text for text in report.not_known)
    assert "missing" not in {one.kind for one in report.finding}


def test_what_cannot_be_read_is_told_beside_the_rest(tmp_path: Path) -> None:
    _write(tmp_path / "01_kick.wav", drums()[:SHORT])
    (tmp_path / "02_snare.wav").write_bytes(bytes(5000))
    (tmp_path / "03_tom.wav").write_bytes(form(b"RIFF", fmt(1) + chunk(b"data", b"")))
    (report,) = check_folder(tmp_path)
    kinds = {one.file: one.kind for one in report.finding}
    assert kinds["02_snare.wav"] == "unreadable"
    assert [state.header for state in report.file if state.path == "02_snare.wav"] == ["unreadable"]
    assert [track.label for track in report.track] == ["kick"]


@pytest.mark.skipif(sys.platform != "linux", reason="names of files are always text here")
def test_a_name_that_is_no_text_is_written_out_and_its_track_checked(tmp_path: Path) -> None:
    name = os.fsdecode(b"07_caf\xe9.wav")
    _write(tmp_path / name, drums()[:SHORT])
    (report,) = check_folder(tmp_path)
    assert (report.take, report.file[0].path) == (r"07_caf\xe9", r"07_caf\xe9.wav")
    assert _labels(report) == [(7, r"caf\xe9", "")]
    assert TakeReport.model_validate_json(report.model_dump_json()) == report


@pytest.mark.parametrize("folder", ["nowhere", "."])
def test_nothing_to_check_is_one_sentence(tmp_path: Path, folder: str) -> None:
    with pytest.raises(Fault, match=r"no such folder|no recordings lie there"):
        check_folder(tmp_path / folder)


def test_reports_are_the_same_every_time_and_by_both_kinds_of_loop(tmp_path: Path) -> None:
    for number, sound in enumerate((drums(), plucked(), np.clip(3 * speech(), -0.3, 0.3)), 1):
        _write(tmp_path / f"{number:02d}.wav", sound[:SHORT])
    told: list[float] = []
    one = check_folder(tmp_path, workers=1, tell=told.append)
    assert one == check_folder(tmp_path, workers=4)
    assert one == check_folder(tmp_path, compiled=False)
    assert told == sorted(told)
    assert told[-1] == 1.0


PLANTED = (
    Planted("polarity", "overhead-right", of="overhead-left"),
    Planted("dead", "snare-bottom"),
    Planted("hum", "fiddle-di", amount=-52),
    Planted("clipped", "trumpet", amount=18),
    Planted("clipped before the converter", "kick", amount=-18),
    Planted("dropout", "fiddle-mic", places=((400_000, 400_480), (500_000, 500_064), (600_000, 602_400))),
    Planted("repeated block", "snare-top", places=((700_000, 700_256),)),
    Planted("unfinished header", "room-left"),
)


@pytest.fixture(scope="module")
def rendered(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Truth]:
    """A rendered recording with a fault of most sorts."""
    folder = tmp_path_factory.mktemp("rendered")
    truth = render_show(
        small_plan(), small_show(), small_venue(), small_kit(), SOUNDS, folder, duration_s=24, planted=PLANTED
    )
    return folder / "card", truth


def test_every_fault_of_a_rendered_recording_is_found_and_nothing_else(rendered: tuple[Path, Truth]) -> None:
    card, truth = rendered
    (report,) = check_folder(card, small_plan())
    assert {(one.kind, one.track) for one in report.finding} == {(one.kind, one.label) for one in truth.fault}
    found = {one.kind: one for one in report.finding}
    for fault in truth.fault:
        if fault.kind in ("dropout", "repeated block"):
            assert found[fault.kind].places == fault.places
        if fault.kind == "clipped":
            assert found["clipped"].start == fault.start
            assert found["clipped"].end == fault.end
            assert found["clipped"].figures["samples"] == pytest.approx(fault.figures["samples"], rel=0.01)
        if fault.kind == "clipped before the converter":
            assert found[fault.kind].figures["ceiling_dbfs"] == pytest.approx(-18, abs=0.1)


def test_the_same_is_found_while_the_card_is_copied(rendered: tuple[Path, Truth], tmp_path: Path) -> None:
    card, _ = rendered
    listener, places = Listener(), [tmp_path / "a", tmp_path / "b"]
    for place in places:
        place.mkdir()
    offload(card, places, same_device=True, measure=listener)
    assert listener.reports(card, small_plan()) == check_folder(card, small_plan())


def test_a_recording_that_nobody_waits_for_is_not_measured_to_its_end(tmp_path: Path) -> None:
    """Ctrl+C once waited for whatever the threads had begun: with a file of all tracks of a night, for minutes."""
    with write(tmp_path / "01.wav", RATE_HZ, 24, 1) as file:
        file.write(np.zeros((RATE_HZ, 1), np.int32))
    (take,) = find_takes(tmp_path).take
    told: list[float] = []
    teller = Teller(told.append, 3 * RATE_HZ)
    with pytest.raises(KeyboardInterrupt, match="by hand"), stopping(teller):
        raise KeyboardInterrupt("by hand")
    with pytest.raises(CancelledError, match="stopped"):
        measure_strand(take.strand[0], teller)
    assert told == []


def test_a_track_armed_after_midnight_belongs_to_the_take(tmp_path: Path) -> None:
    """Its clock begins anew; it is late by what lies between, and no take of its own."""
    day, late = 86_400 * RATE_HZ, 2 * RATE_HZ
    for name, start in (("01_kick", day - RATE_HZ), ("02_snare", day - RATE_HZ), ("03_fiddle", RATE_HZ)):
        _write(tmp_path / f"{name}.wav", plucked()[: SHORT - (late if start == RATE_HZ else 0)], start=start)
    (report,) = check_folder(tmp_path)
    assert len(report.track) == 3
    (axis,) = find_axes(tmp_path)
    assert [track.course.late for track in axis.track] == [0, 0, late]
    assert axis.begin == day - RATE_HZ
