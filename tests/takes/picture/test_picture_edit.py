"""Timecode, edit lists and timelines: read back by other libraries, and held to published labels."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.show.picture import Clip, Device
from fieldfare.takes.picture.edit import clock_of, hour_of, pieces_of
from fieldfare.takes.picture.edl import edit_list, reel_names
from fieldfare.takes.picture.otio import timeline, write_otio
from fieldfare.takes.picture.timecode import frame_of, label_of
from fieldfare.takes.rough.choose import Stretch
from fieldfare.units.faults import OutOfRange

NTSC, DOUBLE = Fraction(30_000, 1001), Fraction(60_000, 1001)
RATE_HZ = 48_000
# The rule is published in a vendor's reference; these labels were worked out from it and found equal in two libraries.
LABELS = (
    (NTSC, 1799, "00:00:59;29"), (NTSC, 1800, "00:01:00;02"), (NTSC, 3597, "00:01:59;29"), (NTSC, 3598, "00:02:00;02"),
    (NTSC, 17981, "00:09:59;29"), (NTSC, 17982, "00:10:00;00"), (NTSC, 19781, "00:10:59;29"),
    (NTSC, 19782, "00:11:00;02"), (NTSC, 107892, "01:00:00;00"), (NTSC, 2589407, "23:59:59;29"),
    (DOUBLE, 3599, "00:00:59;59"), (DOUBLE, 3600, "00:01:00;04"), (DOUBLE, 35964, "00:10:00;00"),
    (DOUBLE, 215784, "01:00:00;00"),
)  # fmt: skip
SONGS = (Stretch("One", 30 * RATE_HZ, 200 * RATE_HZ), Stretch("The Caulker's Polka", 220 * RATE_HZ, 500 * RATE_HZ))


def _device(name: str = "Camera 1", rate: str = "25", ppm: float = 60.0, **more: object) -> Device:
    plain = {
        "file": "clip-long-name_01.mp4", "found": True, "offset_s": -10.0, "ppm": ppm, "start_s": -10.0, "end_s": 890.0,
        "length_s": 900.0, "picture_rate": rate, "frames": int(900 * Fraction(rate)),
    }  # fmt: skip
    return Device(name=name, clip=(Clip.model_validate({**plain, **more}),))


@pytest.mark.parametrize(("rate", "frame", "label"), LABELS)
def test_labels_that_are_left_out(rate: Fraction, frame: int, label: str) -> None:
    assert label_of(frame, rate) == label
    assert frame_of(label, rate) == frame


@given(st.integers(0, 2_589_407), st.sampled_from([Fraction(24), Fraction(25), NTSC, Fraction(30), DOUBLE]))
def test_a_label_leads_back_to_its_frame(frame: int, rate: Fraction) -> None:
    frame %= 86_400 * round(rate) - 9000
    assert frame_of(label_of(frame, rate), rate) == frame


@pytest.mark.parametrize(
    ("label", "rate", "says"),
    [
        ("00:01:00;00", NTSC, "left out of the count"),
        ("00:00:00:25", Fraction(25), "beyond the count"),
        ("later", Fraction(25), "is no timecode"),
    ],
)
def test_labels_that_do_not_exist_are_refused(label: str, rate: Fraction, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        frame_of(label, rate)


@pytest.mark.parametrize("rate", ["25", "30000/1001", "50"])
def test_pieces_follow_one_another_and_stay_within_half_a_frame(rate: str) -> None:
    device = _device(rate=rate)
    pieces = pieces_of(device, SONGS, RATE_HZ, 600 * RATE_HZ)
    clock, per_s = clock_of(device.clip[0]), float(Fraction(rate))
    for piece in pieces:
        middle = (piece.record + piece.frames / 2) / per_s
        exact = clock.to_device(middle) * per_s
        assert abs(exact - (piece.source + piece.frames / 2)) <= 0.51
        assert piece.source >= 0
        assert piece.source + piece.frames <= device.clip[0].frames
    assert all(one.end <= other.record for one, other in pairwise(pieces))
    assert {piece.song for piece in pieces} == {"", "One", "The Caulker's Polka"}


@pytest.mark.parametrize(("rate", "timecode"), [("25", ""), ("25", "10:00:00:00"), ("30000/1001", "19:44:10;00")])
def test_another_library_reads_the_edit_list(rate: str, timecode: str) -> None:
    """The adapter for CMX 3600 of OpenTimelineIO: same events, same frames, same clip names, same locators."""
    other = pytest.importorskip("opentimelineio", reason="it has no wheel for this Python")

    pieces = pieces_of(_device(rate=rate, timecode=timecode), SONGS, RATE_HZ, 600 * RATE_HZ)
    text = edit_list("A show, camera 1", pieces, SONGS, RATE_HZ)
    read = other.adapters.read_from_string(text, "cmx_3600", rate=float(Fraction(rate)))
    (track,) = read.tracks
    clips = [item for item in track if isinstance(item, other.schema.Clip)]
    assert [clip.name for clip in clips] == ["clip-long-name_01.mp4"] * len(pieces)
    assert [clip.source_range.duration.value for clip in clips] == [piece.frames for piece in pieces]
    first = frame_of(timecode, Fraction(rate)) if timecode else 0
    assert [clip.source_range.start_time.value for clip in clips] == [first + piece.source for piece in pieces]
    assert sorted(mark.name for clip in clips for mark in clip.markers) == ["One", "The Caulker's Polka"]


def test_another_library_reads_the_timeline(tmp_path: Path) -> None:
    """OpenTimelineIO itself: read, and written again as the same data."""
    other = pytest.importorskip("opentimelineio", reason="it has no wheel for this Python")

    cameras = [(one, pieces_of(one, SONGS, RATE_HZ, 600 * RATE_HZ)) for one in (_device(), _device("Camera 2", "50"))]
    names = {(f"Camera {one}", "clip-long-name_01.mp4"): f"{one}/clip-long-name_01.mp4" for one in (1, 2)}
    data = timeline("A show", cameras, [("whole.wav", 0, 600 * RATE_HZ)], SONGS, RATE_HZ, names)
    write_otio(tmp_path / "show.otio", data)
    read = other.adapters.read_from_file(str(tmp_path / "show.otio"))
    assert [(track.name, track.kind) for track in read.tracks] == [
        ("Camera 1", "Video"), ("Camera 2", "Video"), ("mix", "Audio"),
    ]  # fmt: skip
    assert [mark.name for mark in read.tracks.markers] == ["One", "The Caulker's Polka"]
    assert read.tracks.markers[1].marked_range.start_time.value == 220 * 25
    for (device, pieces), track in zip(cameras, read.tracks, strict=False):
        clips = [item for item in track if isinstance(item, other.schema.Clip)]
        placed = [track.range_of_child(clip).start_time.value for clip in clips]
        assert placed == [piece.record for piece in pieces]
        assert {clip.media_reference.target_url for clip in clips} == {f"{device.name[-1]}/clip-long-name_01.mp4"}
    again = json.loads(other.adapters.write_to_string(read, "otio_json"))
    assert again["global_start_time"]["value"] == data["global_start_time"]["value"] == hour_of(Fraction(25))


def test_reels_are_short_and_no_two_alike() -> None:
    reels = reel_names(["MVI_0001_long.mp4", "MVI_0001_longer.mp4", "Φωνή.mov", "a.mkv"])
    assert all(1 <= len(reel) <= 8 and reel.isascii() for reel in reels.values())
    assert len(set(reels.values())) == 4
