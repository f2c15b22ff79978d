"""The meter against other meters, in any number of channels, cut up in any way, with and without the compiler."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from printed_tables import printed
from takes.loudness.signals import RATE_HZ, programme, tones

from fieldfare.takes.loudness import Meter, TruePeak, layout_weights, loudness_range_lu, measure_loudness
from fieldfare.takes.loudness.kernels import kernels
from fieldfare.takes.loudness.meter import GrainPower
from fieldfare.takes.loudness.peaks import bend_of, interpolators
from fieldfare.takes.loudness.weighting import k_weighting
from fieldfare.takes.wave.samples import Samples
from fieldfare.units.faults import OutOfRange

FIR = printed("bs_1770_annex_2_filter")


@pytest.mark.parametrize("rate_hz", [22_050, 44_100, 48_000, 96_000])
@pytest.mark.parametrize("channels", [1, 2])
def test_it_reads_what_a_public_meter_reads(channels: int, rate_hz: int) -> None:
    """libebur128, to a hundred-thousandth of a LU; its range looks once a second, so every tenth window of ours."""
    pyebur128 = pytest.importorskip("pyebur128", reason="it has no wheel for this Python")

    sound = programme(60, channels, rate_hz)
    state = pyebur128.R128State(
        channels, rate_hz, pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_LRA
    )
    state.add_frames(np.ascontiguousarray(sound).ravel(), len(sound))
    read = measure_loudness([sound], channels, rate_hz)
    assert read.integrated_lufs == pytest.approx(pyebur128.get_loudness_global(state), abs=1e-5)
    once_a_second = loudness_range_lu(10 ** ((read.short_lufs[::10] + 0.691) / 10))
    assert once_a_second == pytest.approx(pyebur128.get_loudness_range(state), abs=1e-4)


def test_it_reads_what_a_second_library_reads() -> None:
    """pyloudnorm designs the filters in its own way and reads 0.04 LU low throughout; hence ±0.1."""
    import pyloudnorm

    sound = programme(60, 2, RATE_HZ)
    other = pyloudnorm.Meter(RATE_HZ).integrated_loudness(sound)
    assert measure_loudness([sound], 2, RATE_HZ).integrated_lufs == pytest.approx(other, abs=0.1)


def test_it_reads_what_a_filter_of_a_media_library_reads() -> None:
    """The ebur128 filter of FFmpeg, which says all to 0.001; its true peak is interpolated otherwise."""
    sound = programme(60, 2, RATE_HZ)
    said = _filtered(sound.astype(np.float32))
    read = measure_loudness([sound], 2, RATE_HZ)
    assert read.integrated_lufs == pytest.approx(said["I"], abs=0.02)
    assert read.range_lu == pytest.approx(said["LRA"], abs=0.2)
    assert read.true_peak_dbtp == pytest.approx(said["peak"], abs=0.3)


def _filtered(sound: NDArray[np.float32]) -> dict[str, float]:
    import av
    from av.filter import Graph

    graph = Graph()
    source = graph.add_abuffer(sample_rate=RATE_HZ, format="flt", layout="stereo")
    meter = graph.add("ebur128", "metadata=1:peak=true")
    sink = graph.add("abuffersink")
    source.link_to(meter)
    meter.link_to(sink)
    graph.configure()
    last: dict[str, str] = {}
    for start in range(0, len(sound), 4800):
        part = np.ascontiguousarray(sound[start : start + 4800])
        frame = av.AudioFrame.from_ndarray(part.reshape(1, -1), format="flt", layout="stereo")
        frame.sample_rate, frame.pts = RATE_HZ, start
        graph.push(frame)
        while True:
            try:
                last = dict(graph.pull().metadata) or last
            except (av.BlockingIOError, av.EOFError):
                break
    peaks = [float(last[f"lavfi.r128.true_peaks_ch{channel}"]) for channel in (0, 1)]
    return {
        "I": float(last["lavfi.r128.I"]),
        "LRA": float(last["lavfi.r128.LRA"]),
        "peak": float(20 * np.log10(max(peaks))),
    }


@pytest.mark.parametrize("rate_hz", [11_025, 44_100, 48_000])
@pytest.mark.parametrize("channels", [1, 3, 8, 18])
def test_compiled_loops_and_arrays_say_the_same(rate_hz: int, channels: int) -> None:
    sound = programme(8 if channels < 8 else 1.5, channels, rate_hz).astype(np.float32)
    compiled, arrays = Meter(channels, rate_hz, compiled=True), Meter(channels, rate_hz, compiled=False)
    for start in range(0, len(sound), 30_011):
        compiled.feed(sound[start : start + 30_011])
        arrays.feed(sound[start : start + 30_011])
    one, other = compiled.result(), arrays.result()
    assert one.integrated_lufs == pytest.approx(other.integrated_lufs, abs=1e-9)
    assert one.channel_peak_dbtp == pytest.approx(other.channel_peak_dbtp, abs=1e-5)
    assert one.peak_at == other.peak_at
    assert np.allclose(one.short_lufs, other.short_lufs, atol=1e-9)


@pytest.mark.parametrize("kind", [np.int32, np.float32, np.float64])
def test_many_channels_are_weighed_as_each_alone(kind: type) -> None:
    """However they lie in memory, and to the last bit: beside one another each is reckoned as it is alone."""
    sound: Samples = (programme(1.3, 16, RATE_HZ) * (1e6 if kind is np.int32 else 1)).astype(kind)
    alone = [GrainPower(1, RATE_HZ).feed(np.ascontiguousarray(sound[:, [place]]))[:, 0] for place in range(16)]
    rows = np.ascontiguousarray(sound.T).T
    for together in (GrainPower(16, RATE_HZ).feed(sound), GrainPower(16, RATE_HZ).feed(rows)):
        assert np.array_equal(together, np.array(alone).T)


@pytest.mark.parametrize("compiled", [True, False])
@pytest.mark.parametrize("hop", [1, 48, 96, 1000])
def test_the_highest_of_every_hop_is_that_of_the_filters(hop: int, compiled: bool) -> None:
    sound = np.random.default_rng(hop).uniform(-1, 1, 16 + 6 * hop).astype(np.float32)
    phases = interpolators(4, 16)
    found = np.full(6, 0.3, np.float32)
    kernels(compiled).hop_peaks(sound, phases.astype(np.float32), hop, found)
    values = [sound[8:-8], *(np.correlate(sound[1:], phase, "valid") for phase in phases)]
    assert found == pytest.approx(np.maximum(0.3, np.abs(values).max(axis=0).reshape(6, hop).max(axis=1)), rel=1e-5)


@given(st.integers(0, 2**32 - 1), st.sampled_from([2, 4, 8]), st.floats(0, 1))
def test_a_filter_never_rises_above_its_samples_by_more_than_they_bend(seed: int, factor: int, rough: float) -> None:
    """What lets the search for the true peak pass over quiet places; on noise, ramps, steps and what lies between."""
    phases = interpolators(factor)
    rng = np.random.default_rng(seed)
    sound = rough * rng.choice([-1.0, 1.0], 32) + (1 - rough) * np.cumsum(np.cumsum(rng.uniform(-1, 1, 32)))
    beside = np.abs(sound[15:17]).max()
    bound = beside + bend_of(phases) * np.abs(np.diff(sound, 2)).max()
    assert np.abs(phases @ sound).max() <= bound * (1 + 1e-9)


def test_how_much_a_filter_may_rise_is_no_more_than_it_does() -> None:
    """The second differences that are worst for the worst filter, summed up twice: there it rises by all of that."""
    phases = interpolators(8)
    offset = np.arange(32) - 15
    rest = phases - [(1 - q) * (offset == 0) + q * (offset == 1) for q in phases @ offset]
    weights = np.cumsum(np.cumsum(rest, axis=1), axis=1)[:, :30]
    worst = np.abs(weights).sum(axis=1).argmax()
    sound = np.concatenate([[0.0, 0.0], np.cumsum(np.cumsum(np.sign(weights[worst])))])
    sound -= np.interp(offset, [0, 1], sound[15:17]) + np.where(offset < 0, offset, np.maximum(0, offset - 1)) * (
        sound[16] - sound[15]
    )
    assert abs(phases[worst] @ sound) == pytest.approx(bend_of(phases), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, 5000), max_size=12), st.sampled_from([44_100, 48_000, 11_025]))
def test_how_it_is_cut_up_changes_nothing(cuts: list[int], rate_hz: int) -> None:
    sound = programme(1.2, 2, rate_hz)
    whole = measure_loudness([sound], 2, rate_hz)
    parted = measure_loudness(np.split(sound, np.minimum(np.cumsum(cuts), len(sound))), 2, rate_hz)
    assert parted.integrated_lufs == pytest.approx(whole.integrated_lufs, abs=1e-9)
    assert parted.true_peak_dbtp == pytest.approx(whole.true_peak_dbtp, abs=1e-6)
    assert (parted.peak_at, parted.frames) == (whole.peak_at, whole.frames)


@given(st.floats(-60, -3), st.integers(1, 9))
@settings(max_examples=20, deadline=None)
def test_louder_by_so_much_reads_louder_by_so_much(level: float, channels: int) -> None:
    sound = tones([(0.0, 1.0)], channels=channels)
    full = measure_loudness([sound], channels, RATE_HZ)
    less = measure_loudness([sound * 10 ** (level / 20)], channels, RATE_HZ)
    assert full.integrated_lufs - less.integrated_lufs == pytest.approx(-level, abs=1e-6)
    assert full.true_peak_dbtp - less.true_peak_dbtp == pytest.approx(-level, abs=1e-5)


def test_reading_in_the_middle_changes_nothing() -> None:
    sound = programme(4, 2, RATE_HZ)
    meter = Meter(2, RATE_HZ)
    meter.feed(sound[:100_000])
    half = meter.result()
    meter.feed(sound[100_000:])
    assert half.frames == 100_000
    whole = measure_loudness([sound], 2, RATE_HZ)
    assert meter.result().integrated_lufs == pytest.approx(whole.integrated_lufs, abs=1e-9)
    assert meter.result().true_peak_dbtp == pytest.approx(whole.true_peak_dbtp, abs=1e-6)


def test_the_place_of_the_highest_peak_is_told() -> None:
    sound = 0.01 * programme(3, 2, RATE_HZ)
    sound[77_000, 1] = 0.9
    read = measure_loudness([sound], 2, RATE_HZ)
    assert abs(read.peak_at - 77_000) <= 1
    assert read.channel_peak_dbtp[1] > read.channel_peak_dbtp[0]


def test_silence_and_what_is_too_short_read_as_nothing() -> None:
    for sound in (np.zeros((RATE_HZ, 2)), np.zeros((0, 2)), tones([(-6, 0.39)])):
        read = measure_loudness([sound], 2, RATE_HZ)
        assert read.integrated_lufs == -np.inf
        assert read.range_lu == 0.0
    assert measure_loudness([], 2, RATE_HZ).true_peak_dbtp == -np.inf


def test_a_long_silence_after_a_sound_stays_silent() -> None:
    meter = Meter(1, RATE_HZ, peaks=False)
    meter.feed(tones([(-10, 1)], channels=1))
    meter.feed(np.zeros((RATE_HZ * 30, 1), np.float32))
    assert meter.result().momentary_lufs[-1] == -np.inf


@pytest.mark.parametrize("f_over_rate", [0.02, 0.1, 0.25, 0.4])
def test_true_peaks_agree_with_the_filter_that_the_standard_prints(f_over_rate: float) -> None:
    """[BS1770] annex 2. Its own error is up to 0.3 dB either way, by what was worked out apart from this program."""
    first = np.array([float(row["phase_0"]) for row in FIR])
    second = np.array([float(row["phase_1"]) for row in FIR])
    rng = np.random.default_rng(5)
    count = 4000
    hz = f_over_rate * RATE_HZ
    wave = 0.5 * np.sin(2 * np.pi * hz / RATE_HZ * np.arange(count) + rng.uniform(0, 6.28))
    wave *= np.hanning(count)
    printed_peak = max(np.abs(np.convolve(wave, taps)).max() for taps in (first, second, second[::-1], first[::-1]))
    own = TruePeak(1, RATE_HZ)
    own.feed(wave[:, None])
    assert own.result()[0] == pytest.approx(20 * np.log10(printed_peak), abs=0.3)
    assert own.result()[0] == pytest.approx(20 * np.log10(0.5), abs=0.1)


@pytest.mark.parametrize("rate_hz", [22_050, 44_100, 88_200, 96_000, 192_000])
def test_true_peaks_are_looked_for_at_352_khz_or_more(rate_hz: int) -> None:
    meter = TruePeak(1, rate_hz)
    assert meter.factor * rate_hz >= 352_800
    turn = 2 * np.pi * 0.44 * np.arange(20_000) + 0.3
    meter.feed((0.5 * np.sin(turn) * np.hanning(20_000))[:, None])
    assert -0.4 <= meter.result()[0] + 6.02 <= 0.2


def test_five_channels_of_anything_else_can_be_weighted_by_hand() -> None:
    assert layout_weights(5)[3:] == (1.41, 1.41)
    assert layout_weights(18) == (1.0,) * 18
    sound = programme(2, 5, RATE_HZ)
    meter = Meter(5, RATE_HZ, (1.0,) * 5)
    meter.feed(sound)
    alone = [measure_loudness([sound[:, c : c + 1]], 1, RATE_HZ).momentary_lufs[0] + 0.691 for c in range(5)]
    together = 10 * np.log10(sum(10 ** (level / 10) for level in alone)) - 0.691
    assert meter.result().momentary_lufs[0] == pytest.approx(together, abs=1e-6)


@pytest.mark.parametrize("rate_hz", [4_000, 800_000])
def test_a_rate_that_cannot_be_measured_is_refused(rate_hz: int) -> None:
    with pytest.raises(OutOfRange, match="loudness is not measured at"):
        k_weighting(rate_hz)


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(OutOfRange, match="3 weights for 2 channels"):
        Meter(2, RATE_HZ, (1, 1, 1))
    with pytest.raises(OutOfRange, match="0 weights for 0 channels"):
        Meter(0, RATE_HZ)
    with pytest.raises(OutOfRange, match=r"shape \(10, 3\)"):
        Meter(2, RATE_HZ).feed(np.zeros((10, 3)))
