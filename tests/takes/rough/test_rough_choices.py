"""How a mix is chosen: roles, levels, pan, gates, rides and the time of the rooms."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from takes.rough.band import RATE_HZ, Sound, dbfs, noise, steps, take

from fieldfare.show.drawn import DrawnInput, Role
from fieldfare.show.mix import MixSheet, MixTrack
from fieldfare.show.plan import Taking
from fieldfare.show.record import Place3
from fieldfare.takes.axis import find_axes
from fieldfare.takes.rough.choose import Stretch, choose_mix
from fieldfare.takes.rough.gate import AHEAD, gate_course, gate_of
from fieldfare.takes.rough.levels import GRAINS, power_of_tracks
from fieldfare.takes.rough.render import render_mix
from fieldfare.takes.rough.roles import ROLES, mix_role
from fieldfare.takes.wave import write, write_whole


def _row(
    number: int, label: str, source: str = "", part: str = "", *, at: Place3 | None = None, pair: str = "",
    role: Role = "close", taking: Taking = "mic", flip: bool = False, sound_at: tuple[Place3, ...] = (),
) -> DrawnInput:  # fmt: skip
    return DrawnInput(
        id=label.lower().replace(" ", "-"), label=label, number=number, channel=number, source=source, part=part,
        role=role, taking=taking, at=at, pair=pair, flip=flip, sound_at=sound_at,
    )  # fmt: skip


def _by_label(sheet: MixSheet) -> dict[str, MixTrack]:
    return {track.label: track for track in sheet.track}


@pytest.mark.parametrize(
    ("label", "role"),
    [
        ("Kick", "kick"),
        ("Bass drum", "kick"),
        ("Snare bottom", "snare"),
        ("Floor tom", "tom"),
        ("OH L", "overhead"),
        ("Bass DI", "bass"),
        ("Button accordion bass", "accordion"),
        ("Backing vocal, guitar", "backing vocal"),
        ("Lead vocal", "lead vocal"),
        ("Fiddle mic", "fiddle"),
        ("Alto sax", "wind"),
        ("Room left", "room"),
        ("House mix right", "house mix"),
        ("Talkback", "talkback"),
        ("track 7", "other"),
    ],
)
def test_names_tell_what_a_track_is(label: str, role: str) -> None:
    assert mix_role("", label, "").name == role


def test_a_recipe_tells_where_the_name_does_not() -> None:
    assert mix_role("bell", "Tilda", "Tilda", "trumpet").name == "brass"
    assert mix_role("voice", "Tilda", "Tilda", "lead vocal").name == "lead vocal"


def test_every_role_has_a_name_of_its_own() -> None:
    names = [role.name for role in ROLES]
    assert len(set(names)) == len(names)


def test_each_track_comes_out_at_the_level_of_its_role(tmp_path: Path) -> None:
    """Whatever the preamps were set to."""
    recorded = {"lead vocal": -30.0, "kick": -12.0, "bass di": -40.0, "guitar": -21.0}
    axis = take(
        tmp_path / "take", {name: noise(20, level, place) for place, (name, level) in enumerate(recorded.items())}
    )
    tracks = _by_label(choose_mix(axis))
    power = power_of_tracks(axis, axis.track)
    heard = {
        track.label: power.loudness(place, ((0, axis.frames),)) + tracks[track.label].gain_db[0]
        for place, track in enumerate(axis.track)
    }
    for name, below in (("kick", -4), ("bass di", -4), ("guitar", -7)):
        assert heard[name] - heard["lead vocal"] == pytest.approx(below, abs=0.15), name


def test_two_tracks_of_one_source_share_its_level(tmp_path: Path) -> None:
    sounds = {"lead vocal": noise(20, -20, 1), "fiddle mic": noise(20, -30, 2), "fiddle di": noise(20, -10, 3)}
    axis = take(tmp_path / "take", sounds)
    tracks = _by_label(choose_mix(axis))
    power = power_of_tracks(axis, axis.track)
    heard = [
        power.loudness(place, ((0, axis.frames),)) + tracks[track.label].gain_db[0]
        for place, track in enumerate(axis.track)
    ]
    together = 10 * np.log10(10 ** (heard[1] / 10) + 10 ** (heard[2] / 10))
    assert together - heard[0] == pytest.approx(-4, abs=0.2)
    assert heard[1] - heard[2] == pytest.approx(6, abs=0.2), "the pickup stands behind the mic"


def test_a_pair_keeps_its_image(tmp_path: Path) -> None:
    axis = take(tmp_path / "take", {"overhead left": noise(20, -20, 1), "overhead right": noise(20, -26, 2)})
    left, right = choose_mix(axis).track
    assert left.gain_db == right.gain_db
    assert (left.pan, right.pan) == (-0.8, 0.8)


def test_a_track_that_is_not_played_in_a_song_keeps_its_gain(tmp_path: Path) -> None:
    """What spills into it is not pulled up."""
    trumpet = steps([(20, -18), (20, -48)], 1)
    axis = take(tmp_path / "take", {"trumpet": trumpet, "guitar": noise(40, -20, 5), "kick": noise(40, -20, 6)})
    songs = [Stretch("one", 0, 20 * RATE_HZ), Stretch("two", 20 * RATE_HZ, 40 * RATE_HZ)]
    track = _by_label(choose_mix(axis, songs))["trumpet"]
    assert abs(track.gain_db[0] - track.gain_db[1]) < 0.5
    assert "hardly played in 1 of 2 songs" in track.why


def test_nothing_is_left_out_quietly(tmp_path: Path) -> None:
    sounds = {
        "kick": noise(15, -20, 1), "bass di": noise(15, -20, 2), "lead vocal": noise(15, -20, 3),
        "guitar": np.zeros(15 * RATE_HZ), "house mix left": noise(15, -20, 4), "talkback": noise(15, -20, 5),
    }  # fmt: skip
    tracks = _by_label(choose_mix(take(tmp_path / "take", sounds)))
    for name, why in (
        ("guitar", "nothing on it"),
        ("house mix left", "a second time"),
        ("talkback", "said to the recorder"),
    ):
        assert tracks[name].mute
        assert why in tracks[name].why
    assert not tracks["kick"].mute


def test_a_house_mix_is_used_where_there_is_little_else(tmp_path: Path) -> None:
    axis = take(tmp_path / "take", {"house mix left": noise(15, -20, 1), "house mix right": noise(15, -20, 2)})
    assert not any(track.mute for track in choose_mix(axis).track)


def test_pan_is_as_the_audience_sees_the_stage(tmp_path: Path) -> None:
    rows = (
        _row(1, "Fiddle", "Fiddle", "mic", at=(-1.5, 1, 1.5), sound_at=((-2.0, 1, 1.5),)),
        _row(2, "Trumpet", "Trumpet", "bell", at=(3.0, 1, 1.5)),
        _row(3, "Kick", "Kit", "kick", at=(1.0, 3, 0.3)),
        _row(4, "Room left", "Room", "room", at=(-3.1, 0, 2), pair="room-right", role="room"),
        _row(5, "Room right", "Room", "room", at=(-2.9, 0, 2), pair="room-left", role="room"),
    )
    axis = take(tmp_path / "take", {row.label: noise(12, -20, row.number) for row in rows}, rows)
    pans = {label: track.pan for label, track in _by_label(choose_mix(axis)).items()}
    assert pans == {"Fiddle": -0.47, "Trumpet": 0.7, "Kick": 0.0, "Room left": -1.0, "Room right": 1.0}


def test_polarity_is_turned_where_it_was_drawn_so(tmp_path: Path) -> None:
    rows = (_row(1, "Snare top", "Kit", "snare top"), _row(2, "Snare bottom", "Kit", "snare bottom", flip=True))
    axis = take(tmp_path / "take", {row.label: noise(12, -20, row.number) for row in rows}, rows)
    assert [track.flip for track in choose_mix(axis).track] == [False, True]


# gates


def _phrases(onsets_s: list[float], length_s: float, swell_s: float, spill_dbfs: float, seconds: float) -> Sound:
    """Notes that swell from nothing, over noise that spills in."""
    out = noise(seconds, spill_dbfs, 7)
    for place, onset in enumerate(onsets_s):
        note = noise(length_s, -18, 20 + place)
        ramp = np.minimum(np.arange(len(note)) / (swell_s * RATE_HZ), 1.0)
        at = round(onset * RATE_HZ)
        out[at : at + len(note)] += note * ramp
    return out


@pytest.mark.parametrize("swell_s", [0.002, 0.05, 0.25])
@pytest.mark.parametrize("spill_dbfs", [-70.0, -50.0, -42.0])
def test_a_gate_never_cuts_the_start_of_a_note(tmp_path: Path, swell_s: float, spill_dbfs: float) -> None:
    onsets = [5.0, 11.37, 17.013, 24.5, 31.71]
    axis = take(tmp_path / "take", {"lead vocal": _phrases(onsets, 2.0, swell_s, spill_dbfs, 40)})
    power = power_of_tracks(axis, axis.track)
    gate = gate_of(power, 0, ((0, axis.frames),))
    assert gate is not None
    course = gate_course(power, 0, gate)
    for onset in onsets:
        whole = course[round((onset - 0.01) * GRAINS) : round((onset + 2.0) * GRAINS)]
        assert whole.min() == pytest.approx(1.0), f"closed within the note at {onset} s"
    assert course.min() == pytest.approx(10 ** (-9 / 20))
    assert np.mean(course < 0.5) > 0.3, "it is closed while nobody sings"
    assert np.abs(np.diff(course)).max() < 0.1, "no steps"


def test_short_pauses_do_not_close_it(tmp_path: Path) -> None:
    onsets = list(np.arange(4.0, 20.0, 3.0))
    axis = take(tmp_path / "take", {"lead vocal": _phrases(onsets, 2.0, 0.01, -60, 40)})
    power = power_of_tracks(axis, axis.track)
    gate = gate_of(power, 0, ((0, axis.frames),))
    assert gate is not None
    course = gate_course(power, 0, gate)
    assert course[4 * GRAINS - AHEAD // 2 : 20 * GRAINS].min() == pytest.approx(1.0)


@pytest.mark.parametrize("spill_dbfs", [-28.0, -22.0])
def test_no_gate_where_the_spill_is_nearly_as_loud(tmp_path: Path, spill_dbfs: float) -> None:
    axis = take(tmp_path / "take", {"lead vocal": _phrases([5, 15, 25], 3.0, 0.01, spill_dbfs, 40)})
    power = power_of_tracks(axis, axis.track)
    assert gate_of(power, 0, ((0, axis.frames),)) is None


def test_no_gate_on_what_plays_all_the_time(tmp_path: Path) -> None:
    axis = take(tmp_path / "take", {"lead vocal": noise(40, -20, 1)})
    assert gate_of(power_of_tracks(axis, axis.track), 0, ((0, axis.frames),)) is None


# between the songs


def test_loud_talk_is_turned_down_and_soft_talk_is_not(tmp_path: Path) -> None:
    voice = steps([(20, -30), (12, -12), (20, -30), (12, -40), (20, -30)], 1)
    band = steps([(20, -18), (12, -70), (20, -18), (12, -70), (20, -18)], 9)
    axis = take(tmp_path / "take", {"lead vocal": voice, "guitar": band, "fiddle mic": band[::-1].copy()})
    songs = [Stretch(str(n), n * 32 * RATE_HZ, (n * 32 + 20) * RATE_HZ) for n in range(3)]
    sheet = choose_mix(axis, songs)
    (ride,) = sheet.ride
    assert 20 * RATE_HZ < ride.start < ride.end < 32 * RATE_HZ
    assert -15 <= ride.gain_db <= -5


def test_there_are_no_rides_where_nobody_said_what_the_songs_are(tmp_path: Path) -> None:
    axis = take(tmp_path / "take", {"lead vocal": steps([(20, -30), (12, -12)], 1)})
    assert choose_mix(axis).ride == ()


# the rooms


def test_rooms_are_put_in_time_by_measurement(tmp_path: Path) -> None:
    from scipy.signal import fftconvolve

    dry = noise(30, -18, 1)
    late = 2217
    rng = np.random.default_rng(4)
    tail = rng.standard_normal(RATE_HZ // 2) * np.exp(-np.arange(RATE_HZ // 2) / 6000) * 0.008
    heard = fftconvolve(dry, np.concatenate([[0.1], tail]))[: len(dry)]
    room = np.concatenate([np.zeros(late), heard])[: len(dry)]
    axis = take(tmp_path / "take", {"guitar": dry, "bass di": noise(30, -30, 2), "room left": room})
    track = _by_label(choose_mix(axis))["room left"]
    assert track.shift == pytest.approx(-late, abs=1)
    assert "measured" in track.why


def test_rooms_are_put_in_time_by_the_drawing_where_nothing_is_heard_in_common(tmp_path: Path) -> None:
    rows = (
        _row(1, "Guitar", "Guitar", "mic", at=(0, 1, 1), sound_at=((0.0, 1.0, 1.0),)),
        _row(2, "Room", "Room", "room", at=(0.0, -9.0, 1.0), role="room"),
    )
    axis = take(tmp_path / "take", {"Guitar": noise(20, -18, 1), "Room": noise(20, -30, 2)}, rows)
    track = _by_label(choose_mix(axis))["Room"]
    assert track.shift == pytest.approx(-10 / 343.2 * RATE_HZ, abs=2)
    assert "by the drawing" in track.why


def test_rooms_lie_under_the_close_tracks(tmp_path: Path) -> None:
    axis = take(tmp_path / "take", {"lead vocal": noise(20, -30, 1), "room left": noise(20, -6, 2)})
    tracks = _by_label(choose_mix(axis))
    power = power_of_tracks(axis, axis.track)
    heard = [power.loudness(n, ((0, axis.frames),)) + tracks[t.label].gain_db[0] for n, t in enumerate(axis.track)]
    assert heard[1] - heard[0] == pytest.approx(-14, abs=0.2)


def test_levels_are_measured_as_a_meter_does(tmp_path: Path) -> None:
    """A full-scale sine of 997 Hz in one channel reads -3.01. [BS1770]"""
    sine = 0.1 * np.sin(2 * np.pi * 997 / RATE_HZ * np.arange(10 * RATE_HZ))
    axis = take(tmp_path / "take", {"one": sine})
    assert dbfs(sine) == pytest.approx(-20, abs=0.01)
    assert power_of_tracks(axis, axis.track).loudness(0, ((0, axis.frames),)) == pytest.approx(-23.01, abs=0.02)


@pytest.mark.parametrize("depth", ["24", "float"])
def test_tracks_measured_side_by_side_read_as_each_alone(tmp_path: Path, depth: str) -> None:
    """Seven files of one channel, one armed late and one short: side by side, and each as the only track."""
    folder = tmp_path / "take"
    folder.mkdir()
    for number in range(7):
        sound = noise(2.5 - 0.3 * (number == 3), -20 - number, number)
        place = folder / f"{number + 1:02d}_track_{number + 1}.wav"
        if depth == "24":
            write_whole(place, RATE_HZ, 24, np.rint(sound * (1 << 23)).astype(np.int32))
        else:
            with write(place, RATE_HZ, 32, 1, is_float=True) as file:
                file.write(sound.astype(np.float32))
    (axis,) = find_axes(folder)
    late = replace(axis.track[1].course, late=12_345)
    tracks = tuple(replace(track, course=late) if place == 1 else track for place, track in enumerate(axis.track))
    together = power_of_tracks(axis, tracks, workers=1).power
    for number, track in enumerate(tracks):
        alone = power_of_tracks(axis, (track,)).power[0]
        heard = min(axis.frames, track.course.end) * GRAINS // RATE_HZ
        assert np.array_equal(together[number, :heard], alone[:heard]), track.label
        assert together[number, heard + 2 :].max(initial=0.0) < 1e-6 * together[number].max(), "silence after its end"


def test_a_mix_that_is_given_what_was_measured_is_the_same(tmp_path: Path) -> None:
    sung = steps([(4, -60), (4, -20), (4, -60)], 1)
    axis = take(tmp_path / "take", {"kick": noise(12, -20, 5), "lead vocal": sung, "bass di": noise(12, -24, 6)})
    power = power_of_tracks(axis, axis.track)
    sheet = choose_mix(axis, power=power)
    assert sheet == choose_mix(axis)
    assert sheet.track[1].gate
    for name, given in (("a", power), ("b", None)):
        render_mix(axis, sheet, tmp_path / name, power=given)
    one, other = (next((tmp_path / name).iterdir()).read_bytes() for name in ("a", "b"))
    assert one == other
