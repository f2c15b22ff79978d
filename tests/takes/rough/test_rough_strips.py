"""Tracks on their way to the bus: filter, gain, pan, shift and polarity do what the sheet says."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from takes.rough.band import RATE_HZ, Sound, dbfs, noise, take

from fieldfare.show.mix import IdleGate, MixSheet, MixSong, MixTrack, Ride
from fieldfare.takes.axis import Axis
from fieldfare.takes.rough import arrays, loops
from fieldfare.takes.rough.levels import power_of_tracks
from fieldfare.takes.rough.placing import pan_gains
from fieldfare.takes.rough.strips import desk_of, high_pass, summed

SONG = MixSong(title="A song", start=0, end=3 * RATE_HZ)


def _sheet(*tracks: MixTrack, songs: tuple[MixSong, ...] = (SONG,), rides: tuple[Ride, ...] = ()) -> MixSheet:
    return MixSheet(take="take", rate_hz=RATE_HZ, track=tracks, song=songs, ride=rides)


def _track(label: str = "one", **settings: object) -> MixTrack:
    plain = {"label": label, "role": "other", "gain_db": (0.0,)}
    return MixTrack.model_validate({**plain, **settings})


def _mix(axis: Axis, sheet: MixSheet, song: int | None = 0, workers: int = 2) -> NDArray[np.float32]:
    power = power_of_tracks(axis, axis.track) if any(one.gate for one in sheet.track) else None
    with ThreadPoolExecutor(workers) as pool:
        parts = [x.copy() for x in summed(desk_of(axis, sheet, power), 0, axis.frames, song, pool)]
    return np.concatenate(parts)


@pytest.fixture
def sound() -> Sound:
    return noise(3, -20, 1)


@pytest.fixture
def axis(tmp_path: Path, sound: Sound) -> Axis:
    return take(tmp_path / "take", {"one": sound, "two": noise(3, -20, 2)})


def test_a_track_in_the_middle_comes_out_as_it_is_at_minus_3_db(axis: Axis, sound: Sound) -> None:
    mixed = _mix(axis, _sheet(_track()))
    assert np.allclose(mixed[:, 0], sound * 0.5**0.5, atol=3e-7)
    assert np.array_equal(mixed[:, 0], mixed[:, 1])


def test_gain_trim_and_polarity(axis: Axis, sound: Sound) -> None:
    mixed = _mix(axis, _sheet(_track(gain_db=(-8.0,), trim_db=2.0, flip=True, pan=-1)))
    assert np.allclose(mixed[:, 0], -sound * 10 ** (-6 / 20), atol=3e-7)
    assert np.abs(mixed[:, 1]).max() < 1e-7


@pytest.mark.parametrize("shift", [-1001, 0, 7, 70_000])
def test_a_shift_is_to_the_sample(axis: Axis, sound: Sound, shift: int) -> None:
    mixed = _mix(axis, _sheet(_track(pan=-1, shift=shift)))[:, 0]
    later = np.concatenate([np.zeros(max(0, shift)), sound])[max(0, -shift) :][: len(sound)]
    assert np.allclose(mixed[: len(later)], later, atol=3e-7)


@given(st.floats(-1, 1))
def test_power_does_not_depend_on_the_pan(pan: float) -> None:
    left, right = pan_gains(pan)
    assert left**2 + right**2 == pytest.approx(1)
    assert (right > left) == (pan > 1e-12) or abs(pan) < 1e-12


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
@pytest.mark.parametrize("corner_hz", [30.0, 90.0, 200.0])
def test_a_high_pass_takes_3_db_at_its_corner_and_12_db_an_octave_below(corner_hz: float, rate_hz: int) -> None:
    from scipy.signal import freqz

    b0, b1, b2, a1, a2 = high_pass(corner_hz, rate_hz)
    at = [corner_hz, corner_hz / 8, corner_hz / 16, 50 * corner_hz]
    _, response = freqz([b0, b1, b2], [1, a1, a2], worN=at, fs=rate_hz)
    loss = -20 * np.log10(np.abs(response))
    assert loss[0] == pytest.approx(3.01, abs=0.01)
    assert loss[2] - loss[1] == pytest.approx(12.04, abs=0.1)
    assert loss[3] == pytest.approx(0, abs=0.01)


def test_direct_current_does_not_get_through_a_high_pass(tmp_path: Path) -> None:
    axis = take(tmp_path / "dc", {"one": np.full(3 * RATE_HZ, 0.25)})
    mixed = _mix(axis, _sheet(_track(high_pass_hz=80.0)))
    assert np.abs(mixed[RATE_HZ:]).max() < 1e-6


def test_muted_tracks_are_not_heard(axis: Axis, sound: Sound) -> None:
    both = _mix(axis, _sheet(_track(), _track("two", mute=True)))
    assert np.array_equal(both, _mix(axis, _sheet(_track())))


def test_the_take_goes_from_song_to_song_on_a_straight_line(tmp_path: Path) -> None:
    axis = take(tmp_path / "long", {"one": np.full(6 * RATE_HZ, 0.1)})
    songs = tuple(MixSong(title=str(n), start=n * 4 * RATE_HZ, end=(n * 4 + 2) * RATE_HZ) for n in range(2))
    mixed = _mix(axis, _sheet(_track(gain_db=(0.0, -12.0), pan=-1), songs=songs), song=None)[:, 0]
    level = 20 * np.log10(mixed / 0.1)
    for second, expected in ((1.0, 0), (3.0, -6), (5.0, -12)):
        assert level[round(second * RATE_HZ)] == pytest.approx(expected, abs=0.02)
    own = _mix(axis, _sheet(_track(gain_db=(0.0, -12.0), pan=-1), songs=songs), song=1)[:, 0]
    assert np.allclose(20 * np.log10(own / 0.1), -12, atol=0.01)


def test_songs_that_overlap_meet_in_the_middle(tmp_path: Path) -> None:
    axis = take(tmp_path / "long", {"one": np.full(6 * RATE_HZ, 0.1)})
    songs = (MixSong(title="a", start=0, end=4 * RATE_HZ), MixSong(title="b", start=2 * RATE_HZ, end=6 * RATE_HZ))
    mixed = _mix(axis, _sheet(_track(gain_db=(0.0, -6.0), pan=-1), songs=songs), song=None)[:, 0]
    assert 20 * np.log10(mixed[round(2.9 * RATE_HZ)] / 0.1) == pytest.approx(0, abs=0.05)
    assert 20 * np.log10(mixed[round(3.1 * RATE_HZ)] / 0.1) == pytest.approx(-6, abs=0.05)


def test_a_ride_turns_everything_down_inside_its_stretch_alone(tmp_path: Path) -> None:
    axis = take(tmp_path / "long", {"one": np.full(8 * RATE_HZ, 0.1)})
    ride = Ride(start=2 * RATE_HZ, end=6 * RATE_HZ, gain_db=-10)
    mixed = _mix(axis, _sheet(_track(pan=-1), rides=(ride,)), song=None)[:, 0]
    level = 20 * np.log10(mixed / 0.1)
    for second, expected in ((1.99, 0), (4.0, -10), (6.01, 0)):
        assert level[round(second * RATE_HZ)] == pytest.approx(expected, abs=0.05)


def test_how_many_share_the_work_changes_nothing(tmp_path: Path) -> None:
    tracks = {f"track {number}": noise(2, -30, number) for number in range(13)}
    axis = take(tmp_path / "many", tracks)
    sheet = _sheet(*(_track(one.label, high_pass_hz=40.0) for one in axis.track))
    assert np.array_equal(_mix(axis, sheet, workers=1), _mix(axis, sheet, workers=4))


@pytest.mark.parametrize("kind", [np.int32, np.float32])
def test_compiled_loops_and_arrays_say_the_same(kind: type) -> None:
    rng = np.random.default_rng(1)
    x: NDArray[Any] = (rng.standard_normal((2, 4800)) * (1000 if kind is np.int32 else 0.2)).astype(kind)
    courses = np.stack([np.linspace(0.1, 1.0, 11), np.linspace(0.5, 0.2, 11)])
    sections, sides = np.array([high_pass(90, RATE_HZ), high_pass(0, RATE_HZ)]), np.array([[0.6, 0.8], [1.0, 0.0]])
    outs = []
    for kernel in (loops, arrays):
        pair, alone, states, own = (
            np.zeros((2, 4800), np.float32),
            np.zeros((2, 4800), np.float32),
            np.zeros((2, 4)),
            np.zeros((2, 4)),
        )
        for _ in range(2):
            kernel.strip_pair(*x, sections, states, courses, 480, sides, pair)
            for n in range(2):
                kernel.strip(x[n], sections[n], own[n], courses[n], 480, sides[n], alone)
        assert np.array_equal(states, own)
        assert np.allclose(pair, alone, rtol=1e-6, atol=1e-6 * np.abs(pair).max())
        outs.append(pair)
    assert np.allclose(outs[0], outs[1], atol=1e-6 * np.abs(outs[0]).max())


@pytest.mark.parametrize("first", [0, 8, 47, 4_000_000_123])
def test_compiled_and_plain_limiters_say_the_same(first: int) -> None:
    rng = np.random.default_rng(2)
    x = rng.uniform(-1, 1, (1000, 2)).astype(np.float32)
    course = rng.uniform(0.3, 1, 15).astype(np.float32)
    out, other = np.empty_like(x), np.empty_like(x)
    loops.limit(x, first, course, 48, 1.7, out)
    arrays.limit(x, first, course, 48, 1.7, other)
    assert np.allclose(out, other, rtol=3e-7, atol=0)


def test_a_gate_turns_an_idle_track_down_and_nothing_else(tmp_path: Path) -> None:
    sung = np.concatenate([noise(4, -60, 1), noise(2, -20, 2), noise(6, -60, 3)])
    axis = take(tmp_path / "voice", {"one": sung})
    song = MixSong(title="A song", start=0, end=12 * RATE_HZ)
    sheet = _sheet(_track(pan=-1, gate=IdleGate(below_lufs=-45.0, down_db=9.0)), songs=(song,))
    mixed = _mix(axis, sheet)[:, 0]
    for second, gain_db in ((1.0, -9), (3.85, 0), (5.0, 0), (6.3, 0), (9.0, -9)):
        part = slice(round((second - 0.05) * RATE_HZ), round((second + 0.05) * RATE_HZ))
        assert dbfs(mixed[part]) - dbfs(sung[part]) == pytest.approx(gain_db, abs=0.01), second


@pytest.mark.parametrize("wrong", [np.nan, np.inf])
def test_what_is_no_number_in_a_float_file_is_silence(tmp_path: Path, wrong: float) -> None:
    from fieldfare.takes.axis import find_axes
    from fieldfare.takes.wave import write

    folder = tmp_path / "float"
    folder.mkdir()
    x = np.full(RATE_HZ, 0.1, np.float32)
    x[1000] = wrong
    with write(folder / "one.wav", RATE_HZ, 32, 1, is_float=True) as file:
        file.write(x)
    (axis,) = find_axes(folder)
    mixed = _mix(axis, _sheet(_track(axis.track[0].label, pan=-1)))
    assert np.isfinite(mixed).all()
    assert mixed[1000, 0] == 0
    assert mixed[1001, 0] == pytest.approx(0.1)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 130_000), st.integers(1, 20_000))
def test_a_piece_of_the_mix_is_that_piece_of_the_mix(
    tmp_path_factory: pytest.TempPathFactory, start: int, frames: int
) -> None:
    folder = tmp_path_factory.mktemp("piece") / "take"
    axis = take(folder, {"one": noise(3, -20, 1)})
    sheet = _sheet(_track(high_pass_hz=100.0))
    frames = min(frames, axis.frames - start)
    with ThreadPoolExecutor(2) as pool:
        part = np.concatenate([x.copy() for x in summed(desk_of(axis, sheet, None), start, frames, 0, pool)])
    assert part.shape == (frames, 2)
    whole = _mix(axis, sheet)
    assert np.allclose(part, whole[start : start + frames], atol=2e-5)
