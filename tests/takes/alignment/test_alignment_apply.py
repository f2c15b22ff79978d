"""Shifts into new files: whole ones bit for bit, fractions by the sampling theorem, refusals that leave nothing."""

from __future__ import annotations

import hashlib
import pickle
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.show.alignment import Shift, ShiftList, read_shifts
from fieldfare.show.write_toml import write_toml
from fieldfare.takes.alignment.apply import HALF, apply_shifts, sinc_taps
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.wave import Bext, make_bext, read_all, read_bext, read_head, write
from fieldfare.units.faults import Fault, NotDone

FRAMES, RATE_HZ = 30_000, 48_000


@pytest.fixture
def axis(tmp_path: Path) -> Axis:
    """Two tracks of noise with a clock."""
    rng = np.random.default_rng(3)
    (tmp_path / "take").mkdir()
    for number, name in enumerate(("kick", "snare"), 1):
        lines = np.fft.rfft(rng.standard_normal(FRAMES))
        lines[FRAMES // 4 :] = 0  # a quarter of the rate: far from where the filter falls off
        sound = np.fft.irfft(lines, FRAMES)
        whole = np.rint(sound / np.abs(sound).max() * 4e6).astype(np.int32)
        bext = make_bext(Bext(description=name, time_reference=3_600 * RATE_HZ))
        with write(tmp_path / "take" / f"{number:02d}_{name}.wav", RATE_HZ, 24, 1, before=((b"bext", bext),)) as file:
            file.write(whole)
    (found,) = find_axes(tmp_path / "take")
    return found


def _list(axis: Axis, *shifts: Shift) -> ShiftList:
    return ShiftList(take=axis.name, rate_hz=axis.rate_hz, shift=shifts)


def _samples(path: Path) -> np.ndarray:
    return np.asarray(read_all(read_head(path)))[:, 0]


@pytest.mark.parametrize("later", [0, 17, -240])
def test_a_whole_shift_moves_every_sample_as_it_is(axis: Axis, tmp_path: Path, later: int) -> None:
    before = {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in (tmp_path / "take").iterdir()}
    kick = axis.track[0]
    report = apply_shifts(axis, _list(axis, Shift(track=kick.label, apply=True, samples=later)), tmp_path / "new")
    (made,) = report.file
    old, new = _samples(kick.file), _samples(tmp_path / "new" / made.file)
    assert made.exact
    assert len(new) == len(old)
    assert np.array_equal(new[max(0, later) :][: FRAMES - abs(later)], old[max(0, -later) :][: FRAMES - abs(later)])
    assert not new[: max(0, later)].any()
    assert made.sha256 == hashlib.sha256(new.astype("<i4").view(np.uint8).reshape(-1, 4)[:, :3].tobytes()).hexdigest()
    chunk = read_head(tmp_path / "new" / made.file).chunk(b"bext")
    assert chunk is not None
    kept = read_bext(chunk)
    assert kept is not None
    assert (kept.description, kept.time_reference) == ("kick", 3_600 * RATE_HZ)
    assert before == {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in (tmp_path / "take").iterdir()}


def test_a_fraction_is_what_the_sampling_theorem_asks(axis: Axis, tmp_path: Path) -> None:
    """Held to a turn of phase in the frequency domain, which shares no line with the filter."""
    shift = Shift(track=axis.track[1].label, apply=True, samples=12.37, flip=True)
    (made,) = apply_shifts(axis, _list(axis, shift), tmp_path / "new").file
    old, new = _samples(axis.track[1].file).astype(float), _samples(tmp_path / "new" / made.file).astype(float)
    turn = np.exp(-2j * np.pi * np.fft.rfftfreq(FRAMES) * 12.37)
    wanted = -np.fft.irfft(np.fft.rfft(old) * turn, FRAMES)
    inside = slice(2 * HALF, -2 * HALF)
    assert not made.exact
    assert np.abs(new[inside] - wanted[inside]).max() <= 40  # of 4 million: −100 dB


@given(st.floats(0, 0.999))
def test_the_taps_of_a_fraction_pass_a_constant_as_it_is(part: float) -> None:
    assert sinc_taps(part).sum() == pytest.approx(1.0, abs=1e-12)


def test_a_list_is_read_again_as_it_was_written(axis: Axis, tmp_path: Path) -> None:
    shifts = _list(axis, Shift(track="kick", apply=False, samples=-3.5, why="taste"), Shift(track="snare", apply=True))
    write_toml(shifts, tmp_path / "shifts.toml", "by hand")
    assert read_shifts(tmp_path / "shifts.toml") == shifts


@pytest.mark.parametrize(
    ("shifts", "says"),
    [
        ((), "marks nothing to be applied"),
        ((Shift(track="tuba", apply=True),), "there is no track tuba"),
        ((Shift(track="kick", apply=True), Shift(track="kick", apply=True)), "shifted twice"),
        ((Shift(track="kick", apply=True, samples=1e9),), "put out of the take"),
    ],
)
def test_a_list_that_does_not_fit_is_refused_in_a_sentence(
    axis: Axis, tmp_path: Path, shifts: tuple[Shift, ...], says: str
) -> None:
    with pytest.raises(Fault, match=says) as caught:
        apply_shifts(axis, _list(axis, *shifts), tmp_path / "new")
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)
    assert not (tmp_path / "new").exists()


def test_what_is_there_already_is_left_alone(axis: Axis, tmp_path: Path) -> None:
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "mine.txt").write_text("mine", "utf-8")
    with pytest.raises(NotDone, match="something is there already"):
        apply_shifts(axis, _list(axis, Shift(track="kick", apply=True)), tmp_path / "new")
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["mine.txt"]
