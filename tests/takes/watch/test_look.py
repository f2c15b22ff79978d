"""The watch step by step, on files that really grow; only the clock is the test's own."""

from __future__ import annotations

import os
import struct
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from fieldfare.show.inputs_csv import ListedInput
from fieldfare.takes.watch import (
    Event,
    Heard,
    Level,
    LineCheck,
    Reader,
    Seen,
    SeenFile,
    Wanted,
    Watch,
    begin,
    line_check_of,
    look,
    summary,
    wanted_of_inputs,
)
from fieldfare.takes.watch.hearing import hear
from fieldfare.takes.wave import make_form, pack, read_head
from fieldfare.takes.wave.source import open_untouched

RATE_HZ = 8000  # low, so that minutes of sound are written in no time
FORM = make_form(1, RATE_HZ, 24)


class _Recorder:
    """A recorder that never goes back to its headers, unless it is told to close a file."""

    def __init__(self, folder: Path, *names: str) -> None:
        self.folder, self.names, self.now_s = folder, names, 0.0
        self.reader = Reader(folder, now=lambda: self.now_s)
        self.watch: Watch = begin()
        self.said: list[Event] = []
        for name in names:
            self.open(name)

    def open(self, name: str) -> None:
        """Write a header whose sizes are nought."""
        head = b"RIFF" + bytes(4) + b"WAVEfmt " + struct.pack("<I", 16) + FORM.payload + b"data" + bytes(4)
        (self.folder / f"{name}.wav").write_bytes(head)

    def write(self, name: str, samples: NDArray[np.float64]) -> None:
        """Append samples, 1 being full scale."""
        whole = np.clip(np.round(samples * 2**23), -(2**23), 2**23 - 1).astype(np.int32)
        with (self.folder / f"{name}.wav").open("ab") as file:
            file.write(pack(whole, FORM))

    def close(self, name: str) -> None:
        """Fill the sizes in, and put a chunk behind the audio that would be full scale as sound."""
        path = self.folder / f"{name}.wav"
        audio = path.stat().st_size - 44
        tail = bytes(audio % 2) + b"LIST" + struct.pack("<I", 1200) + b"\xff\xff\x7f" * 400
        with path.open("r+b") as file:
            file.seek(40)
            file.write(struct.pack("<I", audio))
            file.seek(0, os.SEEK_END)
            file.write(tail)
            file.seek(4)
            file.write(struct.pack("<I", 44 + audio + len(tail) - 8))

    def look(self, after_s: float = 2.0) -> list[Event]:
        """Let time pass and look."""
        self.now_s += after_s
        self.watch, events = look(self.watch, self.reader.look())
        self.said += events
        return list(events)

    def play(self, seconds: float, sounds: dict[str, float], share: float = 1.0) -> list[Event]:
        """Record so long, looking every two seconds: a sine of the given peak for each file."""
        before = len(self.said)
        for _ in range(round(seconds / 2)):
            for name, peak in sounds.items():
                self.write(name, peak * _sine(2.0 * share))
            self.look()
        return self.said[before:]


def _sine(seconds: float) -> NDArray[np.float64]:
    time = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    wave: NDArray[np.float64] = np.sin(2 * np.pi * 440 * time)
    return wave


def _kinds(events: list[Event]) -> list[str]:
    return [event.kind for event in events]


@pytest.fixture
def recorder(tmp_path: Path) -> _Recorder:
    made = _Recorder(tmp_path, "01_kick", "02_snare")
    made.look()
    return made


def test_a_good_recording_is_told_once_and_then_left_in_peace(recorder: _Recorder) -> None:
    said = recorder.play(60, {"01_kick": 0.5, "02_snare": 0.25})
    assert [(event.kind, event.says) for event in said] == [("rolling", "2 files grow: 01_kick.wav and 02_snare.wav")]
    levels = {one.track: one.loud_dbfs for one in line_check_of(recorder.watch).level}
    assert levels == pytest.approx({"kick": -6.02, "snare": -12.04}, abs=0.1)  # a full-scale sine is 0 [AES17]


def test_nothing_in_the_folder_changes_not_even_the_time_of_access(recorder: _Recorder, tmp_path: Path) -> None:
    recorder.play(4, {"01_kick": 0.5, "02_snare": 0.5})
    old = 1_000_000_000 * 10**9
    for path in tmp_path.iterdir():
        os.utime(path, ns=(old, old))
    before = {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in tmp_path.iterdir()}
    for path in tmp_path.iterdir():
        os.utime(path, ns=(old, old))
    recorder.look()
    recorder.look()
    if hasattr(os, "O_NOATIME"):
        assert {path.stat().st_atime_ns for path in tmp_path.iterdir()} == {old}
    assert {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in tmp_path.iterdir()} == before


def test_nothing_rolling_is_told_once_after_ten_seconds(recorder: _Recorder) -> None:
    said = [event for _ in range(15) for event in recorder.look()]
    assert [(event.kind, event.severity) for event in said] == [("not-rolling", "stop")]
    assert said[0].after_s == 10.0


def test_one_file_that_stalls_while_the_others_grow(recorder: _Recorder) -> None:
    recorder.play(20, {"01_kick": 0.5, "02_snare": 0.5})
    said = recorder.play(20, {"01_kick": 0.5})
    assert [(event.kind, event.severity, event.file) for event in said] == [("stalled", "stop", "02_snare.wav")]
    again = recorder.play(2, {"01_kick": 0.5, "02_snare": 0.5})
    assert _kinds(again) == ["goes-on"]


def test_a_recorder_that_writes_in_bursts_does_not_stall(recorder: _Recorder) -> None:
    for _ in range(8):
        for name in recorder.names:
            recorder.write(name, 0.5 * _sine(8))
        for _ in range(4):
            recorder.look()
    assert _kinds(recorder.said) == ["rolling"]


@pytest.mark.parametrize(("share", "way"), [(44_100 / 48_000, "slower"), (0.5, "slower"), (2.0, "faster")])
def test_growth_that_does_not_fit_the_header(recorder: _Recorder, share: float, way: str) -> None:
    said = recorder.play(90, {"01_kick": 0.5, "02_snare": 0.5}, share)
    wrong = [event for event in said if event.kind == "rate"]
    assert [event.file for event in wrong] == ["01_kick.wav", "02_snare.wav"]
    assert f"grows {way} than" in wrong[0].says
    assert wrong[0].figures["least_b_s"] < share * wrong[0].figures["stated_b_s"] < wrong[0].figures["most_b_s"]


def test_power_lost_leaves_unfinished_files(recorder: _Recorder) -> None:
    recorder.play(20, {"01_kick": 0.5, "02_snare": 0.5})
    said = [event for _ in range(10) for event in recorder.look()]
    assert [(event.kind, event.severity) for event in said] == [("stopped", "stop")]
    assert "unfinished" in said[0].says


def test_a_recording_that_was_closed_is_a_note_and_its_last_chunk_is_no_sound(recorder: _Recorder) -> None:
    recorder.play(20, {"01_kick": 0.5, "02_snare": 0.5})
    for name in recorder.names:
        recorder.close(name)
    said = [event for _ in range(10) for event in recorder.look()]
    assert [(event.kind, event.severity) for event in said] == [("stopped", "note")]
    assert all(one.clips == 0 and one.peak_dbfs < -6 for one in recorder.watch.channel.values())
    assert all(one.heard_s == pytest.approx(20) for one in recorder.watch.channel.values())
    assert summary(recorder.watch).severity == "note"


def test_a_track_that_was_closed_alone_is_no_note(recorder: _Recorder) -> None:
    recorder.play(20, {"01_kick": 0.5, "02_snare": 0.5})
    recorder.close("02_snare")
    said = recorder.play(20, {"01_kick": 0.5})
    assert [(event.kind, event.severity, event.file) for event in said] == [("closed", "stop", "02_snare.wav")]


def test_a_new_file_goes_on_from_an_old_one_and_takes_its_track_along(tmp_path: Path) -> None:
    recorder = _Recorder(tmp_path, "night_0001")
    recorder.look()
    recorder.play(20, {"night_0001": 0.5})
    recorder.close("night_0001")
    recorder.open("night_0002")
    said = recorder.play(30, {"night_0002": 0.5})
    assert [(event.kind, event.says) for event in said] == [("continues", "night_0002.wav goes on from night_0001.wav")]
    assert list(recorder.watch.channel) == [("night_0002.wav", 1)]


def test_a_file_that_is_gone(recorder: _Recorder, tmp_path: Path) -> None:
    recorder.play(10, {"01_kick": 0.5, "02_snare": 0.5})
    (tmp_path / "02_snare.wav").unlink()
    assert [(event.kind, event.file) for event in recorder.look()] == [("vanished", "02_snare.wav")]


def test_a_file_whose_space_was_reserved_is_told_and_its_end_noticed(recorder: _Recorder, tmp_path: Path) -> None:
    for second in range(5):
        os.utime(tmp_path / "01_kick.wav", ns=(0, (2_000_000_000 + second) * 10**9))
        recorder.look()
    assert _kinds(recorder.said) == ["reserved"]
    said = [event for _ in range(10) for event in recorder.look()]
    assert [(event.kind, event.severity) for event in said] == [("stopped", "stop")]


def test_a_silent_track_is_told_and_heard_again(recorder: _Recorder) -> None:
    said = recorder.play(30, {"01_kick": 0.5, "02_snare": 0.0})
    assert _kinds(said) == ["rolling", "silent"]
    assert "digital silence" in said[1].says
    assert said[1].track == "snare"
    assert _kinds(recorder.play(4, {"01_kick": 0.5, "02_snare": 0.5})) == ["back"]


def test_noise_on_every_track_before_the_show_is_no_alarm(recorder: _Recorder) -> None:
    assert _kinds(recorder.play(40, {"01_kick": 1e-5, "02_snare": 1e-5})) == ["rolling"]
    later = recorder.play(20, {"01_kick": 0.5, "02_snare": 1e-5})
    assert [(event.kind, event.track) for event in later] == [("silent", "snare")]


def test_a_converter_that_hangs(recorder: _Recorder) -> None:
    recorder.play(6, {"01_kick": 0.5, "02_snare": 0.5})
    recorder.write("01_kick", np.full(2 * RATE_HZ, 0.1))
    recorder.write("02_snare", 0.5 * _sine(2))
    said = recorder.look()
    assert [(event.kind, event.severity, event.track) for event in said] == [("stuck", "stop", "kick")]
    recorder.play(6, {"01_kick": 0.5, "02_snare": 0.5})
    assert _kinds(recorder.said) == ["rolling", "stuck", "back"]


def test_clipping_is_told_at_once_and_not_again_for_half_a_minute(recorder: _Recorder) -> None:
    said = recorder.play(28, {"01_kick": 3.0, "02_snare": 0.5})
    assert [(event.kind, event.track) for event in said] == [("rolling", ""), ("clipping", "kick")]
    assert "clipping" in _kinds(recorder.play(10, {"01_kick": 3.0, "02_snare": 0.5}))


def test_a_track_far_under_its_line_check_while_others_play(recorder: _Recorder) -> None:
    levels = LineCheck(level=(Level(track="kick", loud_dbfs=-6), Level(track="snare", loud_dbfs=-6)))
    recorder.watch = replace(recorder.watch, line_check=begin(None, levels).line_check)
    said = recorder.play(80, {"01_kick": 0.5, "02_snare": 0.02})
    assert [(event.kind, event.track) for event in said] == [("rolling", ""), ("lower", "snare")]
    assert "28 dB under line check" in said[1].says
    assert _kinds(recorder.play(4, {"01_kick": 0.5, "02_snare": 0.5})) == ["back"]
    assert _kinds(recorder.play(40, {"01_kick": 0.5, "02_snare": 0.5})) == []


def test_nobody_playing_is_not_lower_than_line_check(recorder: _Recorder) -> None:
    levels = LineCheck(level=(Level(track="kick", loud_dbfs=-6), Level(track="snare", loud_dbfs=-6)))
    recorder.watch = replace(recorder.watch, line_check=begin(None, levels).line_check)
    assert _kinds(recorder.play(80, {"01_kick": 0.02, "02_snare": 0.02})) == ["rolling"]


def test_what_is_recorded_against_the_plan(recorder: _Recorder) -> None:
    recorder.watch = replace(recorder.watch, wanted=Wanted(48_000, 24, ("kick", "snare", "lead vocal")))
    said = recorder.play(30, {"01_kick": 0.5, "02_snare": 0.5})
    assert _kinds(said) == ["rolling", "form", "missing"]
    assert "8000 Hz, the plan says 48000 Hz" in said[1].says
    assert said[2].says == "1 of 3 tracks of the plan are not recorded: lead vocal"


def _big(name: str, head_of: Path, at_s: float, bytes_now: int, free: int) -> Seen:
    head = replace(read_head(head_of), form=make_form(32, 48_000, 24))
    return Seen(at_s, (SeenFile(name, bytes_now, 0, head),), free)


def test_a_list_of_inputs_asks_for_tracks_and_no_more(recorder: _Recorder) -> None:
    inputs = [ListedInput(channel=n, source=source) for n, source in enumerate(("kick", "snare", "voice"), 1)]
    recorder.watch = replace(recorder.watch, wanted=wanted_of_inputs(inputs))
    said = recorder.play(30, {"01_kick": 0.5, "02_snare": 0.5})
    assert _kinds(said) == ["rolling", "missing"]
    assert said[1].says == "1 of 3 tracks of the list of inputs are not recorded: voice"


def test_the_disc_and_the_largest_file_are_told_in_minutes(tmp_path: Path) -> None:
    """32 channels of 24 bits at 48 kHz are 4 608 000 B/s: 2^32 bytes after 15.5 minutes (arithmetic)."""
    _Recorder(tmp_path, "a")
    rate, watch, said = 4_608_000 * 60, begin(), []
    for minute in range(55):
        seen = _big("a.wav", tmp_path / "a.wav", minute * 60.0, rate * minute, rate * (62 - minute))
        watch, events = look(watch, seen)
        said += [(event.kind, event.severity, minute) for event in events if event.kind in ("disc", "limit")]
    assert sorted(said, key=lambda one: one[2]) == [
        ("limit", "warn", 1),
        ("disc", "note", 2),
        ("limit", "stop", 11),
        ("limit", "warn", 16),
        ("disc", "warn", 32),
        ("disc", "stop", 52),
    ]


def test_hearing_counts_runs_at_full_scale_and_ignores_single_peaks() -> None:
    samples = np.zeros((4000, 2), np.int32)
    full = 2**23 - 1
    samples[100:102, 0] = full  # two: a clean peak may
    samples[200:203, 0] = full
    samples[300:310, 0] = -(2**23)
    samples[:, 1] = 77
    left, right = hear(samples, make_form(2, 8000, 24))
    assert (left.clips, left.held_s, left.zero) == (2, 0.0, False)
    assert (right.held_all, right.clips) == (True, 0)
    assert right.held_s == pytest.approx(0.5)
    assert hear(samples[:0], make_form(2, 8000, 24)) == ()


def test_a_full_scale_sine_reads_0_dbfs() -> None:
    """AES17: the level of a full-scale sine is 0 dBFS rms."""
    samples = np.round((2**23 - 1) * _sine(1.0)).astype(np.int32)[:, np.newaxis]
    (one,) = hear(samples, FORM)
    assert isinstance(one, Heard)
    assert one.loud_dbfs == pytest.approx(0.0, abs=0.05)


def test_a_recorder_that_writes_under_another_ending_is_seen_and_followed(tmp_path: Path) -> None:
    recorder = _Recorder(tmp_path)
    (tmp_path / "notes.txt").write_text("the snare mic was moved after song 3")
    recorder.open("01_kick")
    (tmp_path / "01_kick.wav").rename(tmp_path / "01_kick.recording")
    recorder.look()
    for _ in range(3):
        with (tmp_path / "01_kick.recording").open("ab") as file:
            file.write(pack(np.full((2 * RATE_HZ, 1), 1 << 20, np.int32), FORM))
        recorder.look()
    (tmp_path / "01_kick.recording").rename(tmp_path / "01_kick.wav")
    said = recorder.look()
    assert [event.kind for event in recorder.said if event.kind in ("rolling", "vanished")] == ["rolling"]
    assert [event.says for event in said] == ["01_kick.recording is called 01_kick.wav now"]
    assert list(recorder.watch.file) == ["01_kick.wav"]


def test_a_growing_flac_is_heard_frame_by_frame(tmp_path: Path) -> None:
    """A real encoder, flushed between the looks; each sample is heard once."""
    now = [0.0]
    reader = Reader(tmp_path, now=lambda: now[0])
    reader.look()
    sine = 0.5 * np.sin(2 * np.pi * 440 * np.arange(48_000) / 48_000)
    heard = 0.0
    with soundfile.SoundFile(tmp_path / "01_voice.flac", "w", 48_000, 2, "PCM_24") as file:
        for turn in range(4):
            file.write(np.stack([sine, np.zeros(48_000) if turn < 2 else sine], axis=1))
            file.flush()
            now[0] += 1.0
            (one,) = reader.look().file
            heard += one.heard_s
            assert one.heard[0].loud_dbfs == pytest.approx(-6.0, abs=0.1)
            assert one.heard[1].zero == (turn < 2)
    for _ in range(2):
        now[0] += 1.0
        (one,) = reader.look().file
        heard += one.heard_s
    assert heard == pytest.approx(4.0)
    assert one.head is not None
    assert (one.head.state, one.head.frames, one.label) == ("good", 192_000, ("voice 1", "voice 2"))


def test_the_reader_leaves_old_files_unread_until_they_grow(tmp_path: Path) -> None:
    recorder = _Recorder(tmp_path, "old")
    recorder.write("old", 0.5 * _sine(600))
    first = recorder.reader.look()
    assert first.file[0].head is None
    assert first.file[0].heard == ()
    recorder.write("old", 0.5 * _sine(10))
    second = recorder.reader.look()
    assert 1.0 < second.file[0].heard_s <= 2.5
    with open_untouched(tmp_path / "old.wav") as file:
        assert not file.writable()
