"""How much later one sound is than another: [GCC1976], with the traps of short blocks and low sources."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from fieldfare.takes.lag import Correlation, correlate, correlate_drifting, pieces_of
from fieldfare.units.faults import OutOfRange

RATE_HZ = 48_000
SIZE = 1 << 14
F32 = NDArray[np.float32]


def _noise(seed: int, seconds: float = 3.0) -> F32:
    return np.random.default_rng(seed).standard_normal(round(seconds * RATE_HZ)).astype(np.float32)


def _later(sound: F32, samples: float) -> F32:
    lines = np.fft.rfft(sound, 2 * len(sound))
    turn = np.exp(-2j * np.pi * np.arange(len(lines)) * samples / (2 * len(sound)))
    return np.asarray(np.fft.irfft(lines * turn)[: len(sound)], np.float32)


def _correlated(first: F32, second: F32) -> Correlation:
    return correlate(*(pieces_of(sound, SIZE, SIZE // 2, RATE_HZ) for sound in (first, second)))


def _lag(first: F32, second: F32, *, either_sign: bool = False) -> tuple[float, int]:
    found = _correlated(first, second)
    peak = found.peak(-0.08, 0.08, either_sign=either_sign)
    return peak.lag_s * RATE_HZ, peak.sign


@settings(max_examples=30, deadline=None)
@given(st.floats(-2000, 2000), st.sampled_from([1.0, -1.0]), st.integers(0, 5))
def test_lag_and_sign_are_found_to_a_small_part_of_a_sample(samples: float, sign: float, seed: int) -> None:
    sound = _noise(seed)
    found, turned = _lag(sound, np.float32(0.3 * sign) * _later(sound, samples), either_sign=True)
    assert found == pytest.approx(samples, abs=0.06)
    assert turned == sign


def test_the_second_sound_being_later_is_positive() -> None:
    sound = _noise(1)
    later = np.concatenate([np.zeros(7, np.float32), sound[:-7]])
    assert _lag(sound, later)[0] == pytest.approx(7, abs=0.05)
    assert _lag(later, sound)[0] == pytest.approx(-7, abs=0.05)


@pytest.mark.parametrize("seed", range(8))
def test_a_low_source_does_not_lock_it_to_nothing(seed: int) -> None:
    """A source below 400 Hz, cut without a window, whitened: lag 0 in 30 of 30, by an independent trial."""
    from scipy.signal import butter, sosfilt

    low = sosfilt(butter(4, 400, fs=RATE_HZ, output="sos"), _noise(seed)).astype(np.float32)
    hiss = 1e-4 * _noise(seed + 100)
    assert _lag(low + hiss, _later(low, 83) + 1e-4 * _noise(seed + 200))[0] == pytest.approx(83, abs=0.5)


def test_it_finds_its_way_through_noise_as_strong_as_the_sound() -> None:
    sound = _noise(1)
    assert _lag(sound + _noise(2), _later(sound, -312.5) + _noise(3))[0] == pytest.approx(-312.5, abs=0.2)


def test_a_copy_is_all_alike_and_strangers_are_not() -> None:
    sound = _noise(1)
    same = _correlated(sound, sound).peak(-0.01, 0.01)
    assert same.height == pytest.approx(1, abs=0.01)
    strange = _correlated(sound, _noise(2)).peak(-0.08, 0.08)
    assert abs(strange.height) < 0.1
    assert same.clear > 40 > 7 > strange.clear


def test_a_drift_is_taken_off_alike_before_and_after_whitening() -> None:
    """Against pieces put back one by one; and a clock 100 ppm fast, made by resampling, is clearest at its drift."""
    import soxr

    sound, drifts = _noise(1, 8.0), (-1e-4, 0.0, 1e-4)
    fast = np.asarray(soxr.resample(sound, RATE_HZ, RATE_HZ * (1 + 1e-4), quality="HQ"), np.float32)
    first, second = (pieces_of(one, SIZE, SIZE // 2, RATE_HZ) for one in (sound, fast))
    found = list(correlate_drifting(first, second, drifts))
    for drift, one in zip(drifts, found, strict=True):
        put_back = pieces_of(fast, SIZE, SIZE // 2, RATE_HZ, drift=drift)
        np.testing.assert_allclose(one.values, correlate(first, put_back).values, atol=1e-5)
    clear = [one.peak(-0.01, 0.01).clear for one in found]
    assert clear[2] > 2 * clear[1] > 2 * clear[0]


def test_pieces_are_those_of_a_plain_transform() -> None:
    """Against numpy's own transform, piece by piece; a sound shorter than one has none."""
    sound, hop = _noise(3, 2.0), SIZE // 4
    found = pieces_of(sound, SIZE, hop, RATE_HZ)
    assert len(found.lines) == (len(sound) - SIZE) // hop + 1
    window = np.hanning(SIZE + 1)[:-1]
    for place in (0, 7, 8, len(found.lines) - 1):
        whole = np.fft.rfft(sound[place * hop : place * hop + SIZE] * window)
        np.testing.assert_allclose(found.lines[place], whole[found.first :][: found.lines.shape[1]], atol=1e-2)
    assert len(pieces_of(sound[: SIZE - 1], SIZE, hop, RATE_HZ).lines) == 0


def test_the_first_of_two_arrivals_is_taken_where_it_is_nearly_as_strong() -> None:
    sound = _noise(1)
    both = 0.95 * _later(sound, 200) + _later(sound, 500)
    found = _correlated(sound, both)
    assert found.peak(0, 0.02).lag_s * RATE_HZ == pytest.approx(500, abs=0.2)
    assert found.peak(0, 0.02, first_share=0.6).lag_s * RATE_HZ == pytest.approx(200, abs=0.2)


def test_silence_tells_nothing() -> None:
    none = np.zeros(RATE_HZ, np.float32)
    peak = _correlated(none, none).peak(-0.01, 0.01)
    assert (peak.height, peak.clear) == (0, 0)
    with pytest.raises(OutOfRange, match="no lag lies between"):
        _correlated(none, none).peak(0.01, 0.0)
