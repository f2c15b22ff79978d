"""Levels against the readings that follow from definition, and against a media library's statistics filter."""

from __future__ import annotations

from math import asin, log10, pi, sqrt
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from av.filter import Graph
from takes.measure.signals import RATE_HZ, Codes, codes, measured, noise, seconds, tone

from fieldfare.takes.measure import measure, peak_dbfs, rms_dbfs
from fieldfare.takes.wave import read_head, write_whole

# Peak and rms re 1.0 as defined (a sine has 1/√2, a triangle 1/√3 of its peak); rms here is re a sine's: 3.0103 more.
# "Sine ×1.5 clipped" and "sine and offset" are readings of two open libraries, printed to two decimals.
READINGS = [
    ("full-scale sine", np.sin(2 * np.pi * 997 * seconds(1)), 0.00, -3.0103),
    ("square", np.where(np.arange(48_000) % 480 < 240, 1.0, -1.0), 0.00, 0.00),
    ("triangle", 2 * np.abs(2 * (np.arange(48_000) / 480 % 1) - 1) - 1, 0.00, -4.771),
    ("saw", 2 * ((np.arange(48_000) + 0.5) / 480 % 1) - 1, 0.00, -4.771),
    ("sine and offset", 0.1 * np.sin(2 * np.pi * 100 * seconds(1)) + 0.01, -19.17, -22.92),
    ("sine ×1.5 clipped", np.clip(1.5 * np.sin(2 * np.pi * 100 * seconds(1)), -1, 1), 0.00, -1.54),
]


@pytest.mark.parametrize(("sound", "peak", "rms"), [row[1:] for row in READINGS], ids=[row[0] for row in READINGS])
def test_peak_and_rms_read_as_defined(sound: np.ndarray, peak: float, rms: float) -> None:
    channel = measured(codes(sound)).channel[0]
    assert peak_dbfs(channel.peak, 1 << 23) == pytest.approx(peak, abs=0.02 if peak == 0.0 else 0.005)
    assert rms_dbfs(channel.energy, channel.frames, 1 << 23) == pytest.approx(rms + 10 * log10(2), abs=0.02)


def test_a_full_scale_sine_reads_0_and_a_square_3_01_by_the_audio_engineers_convention() -> None:
    """[AES17]: 0 dBFS rms is the rms of a full-scale 997 Hz sine; two common programs print 3.01 dB less."""
    sine, square = codes(tone(997, 0, 1)), codes(np.where(np.arange(48_000) % 480 < 240, 1.0, -1.0))
    readings = [rms_dbfs(c.energy, c.frames, 1 << 23) for c in measured(np.stack([sine, square], axis=1)).channel]
    assert readings == pytest.approx([0.00, 3.01], abs=0.005)


def test_the_highest_code_of_24_bits_is_a_millionth_of_a_decibel_under_full_scale() -> None:
    assert peak_dbfs(8_388_607, 8_388_608) == pytest.approx(-0.000001, abs=5e-7)
    assert measured(codes(np.array([0.0, 1.0]))).channel[0].peak == 8_388_607


def test_silence_has_no_level() -> None:
    channel = measured(np.zeros(1000, np.int32)).channel[0]
    assert (channel.peak, channel.energy, channel.used_bits) == (0, 0, 0)
    assert peak_dbfs(channel.peak, 1 << 23) is None
    assert rms_dbfs(channel.energy, channel.frames, 1 << 23) is None


@pytest.mark.parametrize("gain", [1.5, 3.0])
def test_time_and_run_length_at_the_rail_of_a_clipped_sine(gain: float) -> None:
    """A sine of gain g stays at the rail for 1 − 2/π·asin(1/g) of the time: at 1.5 0.5354, 128.5 samples a half cycle.

    Counted to the sample it is 0.5375 and 129, as whole samples fall in at both ends.
    """
    channel = measured(codes(gain * np.sin(2 * np.pi * 100 * seconds(1)))).channel[0]
    half_cycle = RATE_HZ / 100 * (0.5 - asin(1 / gain) / pi)
    (place,) = channel.rails
    assert place.longest == pytest.approx(half_cycle, abs=1)
    assert place.samples / RATE_HZ == pytest.approx(1 - 2 / pi * asin(1 / gain), abs=1 / 240)  # a sample a half cycle
    assert place.runs == 200
    if gain == 1.5:
        assert place.longest == 129
        assert place.samples / RATE_HZ == pytest.approx(0.5375, abs=0.00005)


def _statistics(path: Path) -> dict[str, float]:
    """What the media library's statistics filter says of the first channel."""
    with av.open(str(path)) as file:
        stream = file.streams.audio[0]
        graph = Graph()
        source = graph.add_abuffer(template=stream)
        statistics = graph.add("astats", "metadata=1:reset=0")
        sink = graph.add("abuffersink")
        source.link_to(statistics)
        statistics.link_to(sink)
        graph.configure()
        last: dict[str, str] = {}
        for frame in [*file.decode(stream), None]:
            graph.push(frame)
            while True:
                try:
                    last = dict(graph.pull().metadata)
                except (av.BlockingIOError, av.EOFError):
                    break
    ahead = "lavfi.astats.1."
    return {key.removeprefix(ahead): float(value) for key, value in last.items() if key.startswith(ahead)}


def _music_like() -> Codes:
    rng = np.random.default_rng(4)
    envelope = np.repeat(rng.uniform(0, 0.6, 40), 3000)
    return codes(envelope * np.sin(2 * np.pi * 220 * np.arange(120_000) / RATE_HZ) + rng.normal(0.003, 0.02, 120_000))


@pytest.mark.parametrize("bits", [16, 24])
def test_figures_agree_with_the_media_library(tmp_path: Path, bits: int) -> None:
    samples = _music_like() >> (24 - bits)
    write_whole(tmp_path / "a.wav", RATE_HZ, bits, samples)
    says, channel = _statistics(tmp_path / "a.wav"), measure(read_head(tmp_path / "a.wav")).channel[0]
    full_scale = float(1 << (bits - 1))
    unit = 256 if bits == 24 else 1  # it unpacks 24 bits into 32, and tells codes of those
    assert channel.low * unit == says["Min_level"]
    assert channel.high * unit == says["Max_level"]
    highest = full_scale - 1 / unit  # it takes the highest code for 1
    assert channel.total / channel.frames / highest == pytest.approx(says["DC_offset"], abs=5e-7)
    assert peak_dbfs(channel.peak, highest) == pytest.approx(says["Peak_level"], abs=5e-6)
    rms = rms_dbfs(channel.energy, channel.frames, highest)
    assert rms == pytest.approx(says["RMS_level"] + 10 * log10(2), abs=5e-6)


@pytest.mark.parametrize(
    ("kind", "bits", "is_float"), [("PCM_16", 16, False), ("PCM_24", 24, False), ("PCM_32", 32, False),
                                   ("PCM_U8", 8, False), ("FLOAT", 32, True), ("DOUBLE", 64, True)]
)  # fmt: skip
def test_every_form_of_sample_is_read_as_another_library_reads_it(
    tmp_path: Path, kind: str, bits: int, is_float: bool
) -> None:
    sound = np.stack([0.5 * noise(0, 0.3, seed) / 4 for seed in (1, 2, 3)], axis=1)
    soundfile.write(tmp_path / "a.wav", sound, RATE_HZ, subtype=kind)
    read, _ = soundfile.read(tmp_path / "a.wav", always_2d=True)
    found = measure(read_head(tmp_path / "a.wav"))
    assert (found.form.bits, found.form.is_float, found.frames) == (bits, is_float, len(read))
    step = max(1 / found.full_scale, 2.0 ** (1 - min(bits, 27)))
    for column, channel in zip(read.T, found.channel, strict=True):
        assert channel.peak / found.full_scale == pytest.approx(np.abs(column).max(), abs=step)
        assert channel.peak_at == np.abs(column).argmax()
        assert channel.total / channel.frames / found.full_scale == pytest.approx(column.mean(), abs=step)
        rms = sqrt(channel.energy / channel.frames) / found.full_scale
        assert rms == pytest.approx(np.sqrt((column**2).mean()), abs=step)


def test_float_above_full_scale_is_read_and_what_is_no_number_is_counted(tmp_path: Path) -> None:
    sound = np.zeros((5000, 1), np.float32)
    sound[100:104, 0] = (1.5, -2.0, np.nan, np.inf)
    soundfile.write(tmp_path / "a.wav", sound, RATE_HZ, subtype="FLOAT")
    for compiled in (True, False):
        found = measure(read_head(tmp_path / "a.wav"), compiled=compiled)
        assert peak_dbfs(found.channel[0].peak, found.full_scale) == pytest.approx(6.02, abs=0.005)
        assert (found.channel[0].peak_at, found.not_numbers, found.channel[0].rails) == (101, 2, ())


@pytest.mark.parametrize(("shift", "used"), [(0, 24), (4, 20), (8, 16)])
def test_bits_that_are_ever_used(shift: int, used: int) -> None:
    """A 16-bit signal in a 24-bit file leaves the low 8 bits zero."""
    found = measured(codes(noise(-20, 0.5)) >> shift << shift)
    bits = found.channel[0].used_bits
    assert found.code_bits - ((bits & -bits).bit_length() - 1) == used


def test_levels_of_short_stretches_follow_the_signal() -> None:
    loud, quiet = tone(1000, -20, 4), tone(1000, -60, 4)
    found = measured(codes(np.concatenate([loud, quiet])))
    levels = 10 * np.log10(2 * found.channel[0].levels)
    assert found.level_frames == pytest.approx(0.4 * RATE_HZ, rel=0.02)
    assert levels[:9] == pytest.approx(-20, abs=0.01)
    assert levels[-9:] == pytest.approx(-60, abs=0.01)
