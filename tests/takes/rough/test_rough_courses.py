"""What is told of a mixed piece to be plotted: held against another library and against what was put in."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from takes.rough.band import RATE_HZ, noise, steps, take

from fieldfare.show.mix import IdleGate, MixCourse, MixSheet, MixSong, MixTarget, MixTrack, Ride
from fieldfare.takes.axis import Axis
from fieldfare.takes.rough.courses import STEPS
from fieldfare.takes.rough.levels import power_of_tracks
from fieldfare.takes.rough.render import render_mix
from fieldfare.takes.wave import read_all, read_head


def _course(axis: Axis, sheet: MixSheet, folder: Path, *, whole: bool = False) -> MixCourse:
    report = render_mix(axis, sheet, folder, ("wav", "flac"), whole=whole)
    assert [bool(one.course) for one in report.file] == [True, False] * (len(report.file) // 2)
    course = report.file[-2].course
    assert course
    return course


def _sheet(axis: Axis, *tracks: MixTrack, target: float = -16.0, rides: tuple[Ride, ...] = ()) -> MixSheet:
    song = MixSong(title="A song", start=RATE_HZ, end=axis.frames - 17)
    return MixSheet(
        take="take", rate_hz=RATE_HZ, target=MixTarget(loudness_lufs=target), track=tracks, song=(song,), ride=rides
    )


def test_loudness_over_time_is_what_another_library_says_of_the_file(tmp_path: Path) -> None:
    """libebur128, fed a tenth of a second at a time: its momentary and short-term loudness, highest of each step."""
    pyebur128 = pytest.importorskip("pyebur128", reason="it has no wheel for this Python")

    axis = take(tmp_path / "take", {"one": steps([(9, -30), (8, -20), (9, -36)], 1), "two": noise(26, -30, 9)})
    sheet = _sheet(axis, *(MixTrack(label=track.label, role="other", gain_db=(0.0,)) for track in axis.track))
    course = _course(axis, sheet, tmp_path / "mix")
    assert course.step_s == pytest.approx(0.2), "25 s in tenths are more than fit"
    assert len(course.momentary_lufs) == len(course.short_lufs) == len(course.limited_db) == 125 <= STEPS
    sound = read_all(read_head(tmp_path / "mix" / "01-a-song.wav")) / (1 << 23)
    state = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_M | pyebur128.MeasurementMode.MODE_S)
    momentary, short = [], []
    for start in range(0, len(sound) - 4799, 4800):
        state.add_frames(np.ascontiguousarray(sound[start : start + 4800]).ravel(), 4800)
        momentary.append(pyebur128.get_loudness_momentary(state))
        short.append(pyebur128.get_loudness_shortterm(state))
    for step in range(15, 124):
        both = slice(2 * step, 2 * step + 2)
        assert course.momentary_lufs[step] == pytest.approx(max(momentary[both]), abs=0.06), step
        assert course.short_lufs[step] == pytest.approx(max(short[both]), abs=0.06), step
    assert course.momentary_lufs[0] is None
    assert course.short_lufs[13] is None


def test_each_track_is_told_as_loud_as_it_is_alone_in_the_mix(tmp_path: Path) -> None:
    axis = take(tmp_path / "take", {"one": noise(8, -20, 1), "two": noise(8, -30, 2), "three": noise(8, -20, 3)})
    one = MixTrack(label="one", role="other", gain_db=(3.0,), trim_db=1.0, pan=-0.5)
    two = MixTrack(label="two", role="other", gain_db=(0.0,), pan=1.0, shift=4800)
    out = MixTrack(label="three", role="other", gain_db=(0.0,), mute=True)
    course = _course(axis, _sheet(axis, one, two, out), tmp_path / "mix")
    assert [(track.label, track.pan, track.shut) for track in course.track] == [("one", -0.5, ()), ("two", 1.0, ())]
    loud, soft = (track.loudness_lufs for track in course.track)
    assert loud is not None
    assert soft is not None
    power, spans = power_of_tracks(axis, axis.track), ((RATE_HZ, 8 * RATE_HZ),)
    assert loud - soft == pytest.approx(power.loudness(0, spans) - power.loudness(1, spans) + 4, abs=0.15)
    assert 10 * np.log10(10 ** (loud / 10) + 10 ** (soft / 10)) == pytest.approx(-16, abs=0.15)


def test_where_a_gate_is_shut_and_a_ride_is_down(tmp_path: Path) -> None:
    sung = np.concatenate([noise(4, -60, 1), noise(3, -20, 2), noise(5, -60, 3)])
    axis = take(tmp_path / "take", {"voice": sung, "kick": noise(12, -20, 4)})
    voice = MixTrack(label="voice", role="lead vocal", gain_db=(0.0,), gate=IdleGate(below_lufs=-45.0))
    kick = MixTrack(label="kick", role="kick", gain_db=(0.0,))
    ride = Ride(start=8 * RATE_HZ, end=12 * RATE_HZ, gain_db=-12)
    course = _course(axis, _sheet(axis, voice, kick, rides=(ride,)), tmp_path / "mix")
    (first, last) = course.track[0].shut
    assert (first[0], last[1]) == (course.start, course.end)
    assert first[1] / RATE_HZ == pytest.approx(3.75, abs=0.1), "a quarter of a second ahead of the voice"
    assert last[0] / RATE_HZ == pytest.approx(7.6, abs=0.1)
    assert course.track[1].shut == ()
    before, down = (course.short_lufs[round((at - 1) / course.step_s)] for at in (7.5, 11.4))
    assert before is not None
    assert down is not None
    assert before - down > 6


def test_what_the_limiter_took_is_told_where_it_did(tmp_path: Path) -> None:
    sound = noise(8, -30, 1)
    sound[5 * RATE_HZ] = 0.99
    axis = take(tmp_path / "take", {"one": sound, "two": noise(8, -30, 2)})
    tracks = [MixTrack(label=track.label, role="other", gain_db=(0.0,)) for track in axis.track]
    course = _course(axis, _sheet(axis, *tracks, target=-14), tmp_path / "mix")
    assert round((int(np.argmax(course.limited_db)) + 0.5) * course.step_s, 1) == pytest.approx(4.0, abs=0.2)
    assert max(course.limited_db) > 3
    assert course.limited_db[10] == 0


def test_silence_and_a_piece_of_a_moment(tmp_path: Path) -> None:
    axis = take(tmp_path / "take", {"kick": np.zeros(5 * RATE_HZ), "bass": np.zeros(5 * RATE_HZ)})
    tracks = [MixTrack(label=track.label, role="other", gain_db=(0.0,)) for track in axis.track]
    course = _course(axis, _sheet(axis, *tracks), tmp_path / "mix")
    assert set(course.short_lufs) == {None}
    assert {track.loudness_lufs for track in course.track} == {None}
    short = _sheet(axis, *tracks).model_copy(update={"song": (MixSong(title="A song", start=0, end=100),)})
    assert len(_course(axis, short, tmp_path / "short").limited_db) == 1
