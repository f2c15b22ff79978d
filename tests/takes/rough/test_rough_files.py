"""Mixes as files: as loud as asked, never over the ceiling, the same every time, the recordings untouched."""

from __future__ import annotations

import sys
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest
from takes.rough.band import RATE_HZ, noise, steps, take

from fieldfare.show.mix import Format, MixSheet, MixTarget, read_mix
from fieldfare.show.write_toml import write_toml
from fieldfare.takes.axis import Axis
from fieldfare.takes.loudness import measure_loudness
from fieldfare.takes.rough.choose import Stretch, choose_mix
from fieldfare.takes.rough.encode import decoded, rate_for
from fieldfare.takes.rough.render import render_mix
from fieldfare.takes.wave import read_all, read_head
from fieldfare.units.faults import BadDocuments, Fault, NotDone

FORMATS: tuple[Format, ...] = ("wav", "flac", "m4a", "mp3")


def _take(folder: Path, rate_hz: int = RATE_HZ) -> Axis:
    sounds = {
        "lead vocal": steps([(6, -60), (6, -20), (6, -60), (6, -18)], 1, rate_hz),
        "kick": noise(24, -20, 5, rate_hz),
        "bass di": noise(24, -24, 6, rate_hz),
        "room left": noise(24, -30, 7, rate_hz),
    }
    return take(folder, sounds, rate_hz=rate_hz)


def _sheet(axis: Axis, **target: float) -> MixSheet:
    rate = axis.rate_hz
    songs = [Stretch("The first", rate, 11 * rate), Stretch("A second one", 12 * rate + 17, 23 * rate)]
    return choose_mix(axis, songs, MixTarget(**target))


def _hashes(folder: Path) -> dict[str, tuple[str, int]]:
    return {
        path.name: (sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.mark.parametrize(("target", "formats"), [(-14.0, ("wav", "m4a")), (-16.0, FORMATS), (-23.0, ("wav",))])
def test_every_file_is_as_loud_as_asked_and_under_the_ceiling(
    tmp_path: Path, target: float, formats: tuple[Format, ...]
) -> None:
    axis = _take(tmp_path / "take")
    before = _hashes(tmp_path / "take")
    sheet = _sheet(axis, loudness_lufs=target)
    report = render_mix(axis, sheet, tmp_path / "mix", formats, whole=True)
    assert _hashes(tmp_path / "take") == before, "originals are never touched"
    assert len(report.file) == 3 * len(formats)
    for one in report.file:
        sounds = list(decoded(tmp_path / "mix" / one.file))
        read = measure_loudness(sounds, 2, one.rate_hz)
        assert read.integrated_lufs == pytest.approx(target, abs=0.1), one.file
        assert read.integrated_lufs == pytest.approx(one.loudness_lufs, abs=0.01)
        if one.format in ("wav", "flac"):
            assert read.true_peak_dbtp <= -1.0
            assert sum(len(sound) for sound in sounds) == one.frames
    names = {path.name for path in (tmp_path / "mix").iterdir()}
    assert names == {one.file for one in report.file}, "nothing half-made is left"
    assert {"01-the-first.wav", "02-a-second-one.wav", "whole.wav"} <= names


@pytest.mark.parametrize("target", [-16.0, -10.0])
def test_another_library_reads_the_same_of_every_file(tmp_path: Path, target: float) -> None:
    """FFmpeg decodes, libebur128 measures (its true peak by a filter of its own: 49 taps, four times the rate).

    Loudness within 0.1 LU of the target in every format; the peak within EBU Tech 3341's +0.2 and -0.4 dB of the
    ceiling where the limiter works, as at -10 LUFS. An encoder that throws away what is not heard moves the peaks:
    by less than 1.5 dB here.
    """
    pyebur128 = pytest.importorskip("pyebur128", reason="it has no wheel for this Python")

    axis = _take(tmp_path / "take")
    songs = [Stretch("The first", RATE_HZ, 11 * RATE_HZ)]
    report = render_mix(axis, choose_mix(axis, songs, MixTarget(loudness_lufs=target)), tmp_path / "mix", FORMATS)
    for one in report.file:
        sound = np.concatenate(list(decoded(tmp_path / "mix" / one.file)))
        state = pyebur128.R128State(
            2, one.rate_hz, pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
        )
        state.add_frames(np.ascontiguousarray(sound, np.float64).ravel(), len(sound))
        peak = 20 * np.log10(max(pyebur128.get_true_peak(state, channel) for channel in (0, 1)))
        assert pyebur128.get_loudness_global(state) == pytest.approx(target, abs=0.1), one.file
        assert one.true_peak_dbtp is not None
        assert -0.4 <= one.true_peak_dbtp - peak <= 0.4, "two filters between the samples"
        over = peak - (-1.0)
        assert over <= (0.2 if one.format in ("wav", "flac") else 1.5), one.file
        if target == -10.0:
            assert one.limited_db > 1
            assert over >= -0.4, one.file


def test_flac_and_wav_hold_the_same_samples(tmp_path: Path) -> None:
    axis = _take(tmp_path / "take")
    render_mix(axis, _sheet(axis), tmp_path / "mix", ("wav", "flac"))
    wav = read_all(read_head(tmp_path / "mix" / "01-the-first.wav"))
    flac = np.concatenate(list(decoded(tmp_path / "mix" / "01-the-first.flac")))
    assert np.array_equal(wav, np.rint(flac * (1 << 23)).astype(np.int32))
    assert len(wav) == 10 * RATE_HZ


@pytest.mark.parametrize("form", ["m4a", "mp3"])
def test_lossy_files_begin_where_the_song_does(tmp_path: Path, form: Format) -> None:
    """Encoders put a lead of their own in front; players and this reader take it off again."""
    axis = _take(tmp_path / "take")
    report = render_mix(axis, _sheet(axis), tmp_path / "mix", ("wav", form))
    name = report.file[0].file.removesuffix(".wav")
    wav = read_all(read_head(tmp_path / "mix" / f"{name}.wav"))[:, 0] / (1 << 23)
    lossy = np.concatenate(list(decoded(tmp_path / "mix" / f"{name}.{form}")))[:, 0]
    size = 1 << 17
    cross = np.fft.irfft(np.fft.rfft(lossy[:size], 2 * size) * np.conj(np.fft.rfft(wav[:size], 2 * size)))
    assert int(np.argmax(cross)) == 0


def test_the_same_sheet_gives_the_same_bytes(tmp_path: Path) -> None:
    axis = _take(tmp_path / "take")
    sheet = _sheet(axis)
    for name, workers in (("one", 1), ("two", 3)):
        render_mix(axis, sheet, tmp_path / name, FORMATS, workers=workers)
    one, two = _hashes(tmp_path / "one"), _hashes(tmp_path / "two")
    assert {name: digest for name, (digest, _) in one.items()} == {name: digest for name, (digest, _) in two.items()}


def test_without_the_compiler_library_the_same_is_heard(tmp_path: Path) -> None:
    """Every sample of the WAV to within -120 dBFS, with gates, filters and the limiter at work."""
    axis = _take(tmp_path / "take")
    sheet = _sheet(axis, loudness_lufs=-9.0)
    assert any(track.gate for track in sheet.track)
    reports = [render_mix(axis, sheet, tmp_path / str(compiled), compiled=compiled) for compiled in (True, False)]
    for one, other in zip(reports[0].file, reports[1].file, strict=True):
        assert one.limited_db > 1
        plain, without = (report.model_dump(exclude={"course"}) for report in (one, other))
        assert plain == pytest.approx(without, abs=0.002)
        parts = [read_all(read_head(tmp_path / str(compiled) / one.file)) for compiled in (True, False)]
        assert np.abs(parts[0] - parts[1]).max() <= 1e-6 * (1 << 23)


def test_a_sheet_is_read_as_it_was_written_and_altered_by_hand(tmp_path: Path) -> None:
    axis = _take(tmp_path / "take")
    sheet = _sheet(axis)
    path = tmp_path / "mix.toml"
    write_toml(sheet, path, "A rough mix.")
    assert read_mix(path) == sheet
    text = path.read_text("utf-8")
    path.write_text(text.replace('label = "kick"\n', 'label = "kick"\nmute = true\n'), "utf-8")
    altered = read_mix(path)
    assert [track.label for track in altered.track if track.mute] == ["kick"]
    first = render_mix(axis, sheet, tmp_path / "a").file[0]
    second = render_mix(axis, altered, tmp_path / "b").file[0]
    assert first.loudness_lufs == pytest.approx(second.loudness_lufs, abs=0.1)
    assert _hashes(tmp_path / "a")["01-the-first.wav"] != _hashes(tmp_path / "b")["01-the-first.wav"]


def test_faults_of_a_sheet_are_told_all_at_once(tmp_path: Path) -> None:
    axis = _take(tmp_path / "take")
    path = tmp_path / "mix.toml"
    write_toml(_sheet(axis), path)
    text = path.read_text("utf-8").replace("start = 48_000", "start = 999_000_000", 1)
    text = text.replace('role = "kick"', 'role = "kick"\npan = 3.0')
    path.write_text(text, "utf-8")
    with pytest.raises(BadDocuments, match="pan"):
        read_mix(path)
    short = path.read_text("utf-8").replace("pan = 3.0\n", "")
    lines = [line.split(",")[0] + "]" if line.startswith("gain_db") else line for line in short.splitlines()]
    path.write_text("\n".join(lines), "utf-8")
    with pytest.raises(BadDocuments, match="has 1 values for 2 songs") as caught:
        read_mix(path)
    assert any("not after its start" in one.read for one in caught.value.blemishes)


def test_a_sheet_of_another_take_is_refused(tmp_path: Path) -> None:
    axis = _take(tmp_path / "take")
    sheet = _sheet(axis)
    track = sheet.track[0].model_copy(update={"label": "tuba"})
    with pytest.raises(Fault, match="the take has no track tuba"):
        render_mix(axis, sheet.model_copy(update={"track": (track,)}), tmp_path / "mix")
    with pytest.raises(Fault, match="the sheet is for 44100 Hz"):
        render_mix(axis, sheet.model_copy(update={"rate_hz": 44_100}), tmp_path / "mix")
    late = sheet.song[0].model_copy(update={"start": 10**9, "end": 2 * 10**9})
    with pytest.raises(Fault, match="begins after the take's end"):
        render_mix(axis, sheet.model_copy(update={"song": (late, *sheet.song[1:])}), tmp_path / "mix")
    assert not (tmp_path / "mix").exists()


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    axis = _take(tmp_path / "take")
    (tmp_path / "file").write_text("in the way", "utf-8")
    with pytest.raises(NotDone, match="cannot be made"):
        render_mix(axis, _sheet(axis), tmp_path / "file" / "mix")


@pytest.mark.skipif(sys.platform == "win32", reason="a process there has no limit for its files")
@pytest.mark.parametrize("formats", [("wav",), ("flac",)])
def test_a_disc_that_takes_no_more_is_told_and_nothing_half_written_stays(
    tmp_path: Path, formats: tuple[Format, ...]
) -> None:
    import resource

    axis = _take(tmp_path / "take")
    sheet = _sheet(axis)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, before[1]))
    try:
        with pytest.raises(NotDone, match=r"mix: file too large; check the folder and the room on its disc"):
            render_mix(axis, sheet, tmp_path / "mix", formats)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert not (tmp_path / "mix").exists()


def test_a_silent_take_gives_silent_files(tmp_path: Path) -> None:
    axis = take(tmp_path / "take", {"kick": np.zeros(5 * RATE_HZ), "bass": np.zeros(5 * RATE_HZ)})
    report = render_mix(axis, choose_mix(axis), tmp_path / "mix")
    assert report.file[0].loudness_lufs is None
    assert any("silent" in note for note in report.note)


@pytest.mark.parametrize(
    ("rate_hz", "form", "expected"),
    [
        (96_000, "mp3", 48_000),
        (88_200, "mp3", 44_100),
        (96_000, "m4a", 48_000),
        (192_000, "m4a", 48_000),
        (192_000, "flac", 192_000),
    ],
)
def test_formats_that_know_no_high_rates_get_a_lower_one(rate_hz: int, form: Format, expected: int) -> None:
    assert rate_for(form, rate_hz) == expected


def test_a_take_at_96_khz(tmp_path: Path) -> None:
    axis = _take(tmp_path / "take", 96_000)
    report = render_mix(axis, _sheet(axis), tmp_path / "mix", FORMATS)
    for one in report.file:
        assert one.loudness_lufs == pytest.approx(-16, abs=0.1), one.file
        assert one.frames / one.rate_hz == pytest.approx(10 if "01" in one.file else 11, abs=0.05)


def test_it_is_said_where_the_limiter_works_hard(tmp_path: Path) -> None:
    blows = noise(20, -40, 1)
    blows[:: RATE_HZ // 3] = 0.9
    axis = take(tmp_path / "take", {"kick": blows, "bass di": noise(20, -40, 2), "guitar": noise(20, -40, 3)})
    report = render_mix(axis, choose_mix(axis, target=MixTarget(loudness_lufs=-9)), tmp_path / "mix")
    assert any("limiter takes off" in note or "cannot be made as loud" in note for note in report.note)
