"""Folders of recordings without a plan: with a list of inputs, and in containers other than WAV."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from takes.checks.material import drums, plucked
from takes.measure.signals import RATE_HZ, codes, noise

from fieldfare.cli.check import check
from fieldfare.show.inputs_csv import ListedInput
from fieldfare.takes.axis import find_axes
from fieldfare.takes.rough.reading import CourseReader
from fieldfare.takes.tracks import check_folder
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import BadDocuments

SHORT = 6 * RATE_HZ


def _inputs() -> tuple[ListedInput, ...]:
    return (
        ListedInput(channel=1, source="Kick", kind="large dynamic"),
        ListedInput(channel=2, source="Fiddle", title="Fiddle mic", kind="clip condenser"),
        ListedInput(channel=3, source="Room L", kind="small condenser", at=(-1.0, 0.0, 3.0)),
        ListedInput(channel=4, source="Room R", kind="small condenser", at=(1.0, 0.0, 3.0), flip=True),
        ListedInput(channel=5, source="Voice"),
    )


def test_a_list_of_inputs_names_tracks_and_tells_what_is_missing(tmp_path: Path) -> None:
    write_whole(tmp_path / "01.wav", RATE_HZ, 24, codes(drums()[:SHORT]))
    write_whole(tmp_path / "02.wav", RATE_HZ, 24, np.zeros(SHORT, np.int32))
    write_whole(tmp_path / "07.wav", RATE_HZ, 24, codes(plucked()[:SHORT]))
    (report,) = check_folder(tmp_path, inputs=_inputs()[:3])
    assert [(track.number, track.label, track.source) for track in report.track] == [
        (1, "Kick", "Kick"), (2, "Fiddle mic", "Fiddle"), (7, "track 7", "")
    ]  # fmt: skip
    found = {(one.kind, one.track): one for one in report.finding}
    assert "The list of inputs has Room L on track 3" in found["missing", "Room L"].says
    assert "It needs phantom power: look there first." in found["dead", "Fiddle mic"].remedy
    assert found["dead", "Fiddle mic"].severity == "stop"
    assert "that the list of inputs does not know" in found["unexpected", "track 7"].says
    assert any("whether levels are as expected" in text for text in report.not_known)
    assert not any("whether a track is missing" in text for text in report.not_known)


@pytest.mark.parametrize("flip", [False, True])
def test_polarity_of_a_pair_is_as_the_list_says(flip: bool, tmp_path: Path) -> None:
    sound = plucked()[:SHORT]
    write_whole(tmp_path / "03.wav", RATE_HZ, 24, codes(sound))
    write_whole(tmp_path / "04.wav", RATE_HZ, 24, codes(noise(-45, 6)[:SHORT] - 0.8 * sound))
    inputs = [one.model_copy(update={"flip": flip}) if one.channel == 4 else one for one in _inputs()[2:4]]
    (report,) = check_folder(tmp_path, inputs=inputs)
    assert any(one.kind == "polarity" for one in report.finding) != flip


def test_the_command_takes_a_spreadsheet_and_writes_the_page(tmp_path: Path) -> None:
    folder, listed = tmp_path / "card", tmp_path / "inputs.csv"
    folder.mkdir()
    write_whole(folder / "01.wav", RATE_HZ, 24, codes(drums()[:SHORT]))
    listed.write_text("Ch;Source\n1;Große Trommel\n", encoding="utf-8-sig")
    words: list[str | Path] = [
        sys.executable,
        "-m",
        "fieldfare",
        "check",
        folder,
        "--inputs",
        listed,
        "--html",
        tmp_path / "out",
    ]
    done = subprocess.run(words, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "Große Trommel" in (tmp_path / "out" / "track-check.html").read_text("utf-8")
    listed.write_text("Ch;Source\n1;a\n1;b\n", encoding="utf-8")
    with pytest.raises(BadDocuments, match="row 3, channel: channel 1 is there twice, row 2 has it too"):
        check(folder, inputs=listed)


def test_a_list_that_fits_nothing_says_so(tmp_path: Path) -> None:
    write_whole(tmp_path / "crowd.wav", RATE_HZ, 24, codes(plucked()[:SHORT]))
    (report,) = check_folder(tmp_path, inputs=_inputs()[4:])
    assert any("no track could be matched to the list of inputs" in text for text in report.not_known)


@pytest.mark.parametrize(("kind", "suffix"), [("W64", "w64"), ("AIFF", "aif"), ("FLAC", "flac")])
def test_other_containers_measure_to_the_sample_as_wav_does(kind: str, suffix: str, tmp_path: Path) -> None:
    """Two takes of the same samples, one of WAV: every figure and every finding is the same."""
    samples = np.stack([codes(plucked()[:SHORT]), codes(drums()[:SHORT])], axis=1)
    samples[100_000:100_400] = 0
    for folder, container, name in (("a", "WAV", "x.wav"), ("b", kind, f"x.{suffix}")):
        (tmp_path / folder).mkdir()
        soundfile.write(tmp_path / folder / name, samples << 8, RATE_HZ, "PCM_24", format=container)
    wav, other = check_folder(tmp_path)
    assert other.file[0].container == kind
    plain = [
        [track.model_dump(exclude={"file"}) for track in report.track]
        + [one.model_dump(exclude={"file"}) for one in report.finding]
        for report in (wav, other)
    ]
    assert plain[0] == plain[1]
    assert any(one.kind == "dropout" for one in other.finding)


@pytest.mark.parametrize(("kind", "suffix"), [("W64", "w64"), ("AIFF", "aif"), ("FLAC", "flac")])
def test_other_containers_lie_on_the_axis_to_the_sample(kind: str, suffix: str, tmp_path: Path) -> None:
    """What songs, alignment and the rough mix read, at places that are no block's."""
    samples = np.stack([codes(noise(-20, 1, n)) for n in range(3)], axis=1)
    soundfile.write(tmp_path / f"take.{suffix}", samples << 8, RATE_HZ, "PCM_24", format=kind)
    (axis,) = find_axes(tmp_path)
    for start, frames in ((0, 10), (4_090, 12), (12_345, 20_000), (47_990, 10)):
        expected = (samples[start : start + frames].T / 2**23).astype(np.float32)
        assert np.array_equal(axis.read(start, frames), expected)
    reader = CourseReader(axis.courses[0], 1000)
    assert np.array_equal(reader.read(4_000), samples[4_000:5_000])


def test_a_torn_flac_is_checked_as_far_as_it_can_be_decoded(tmp_path: Path) -> None:
    path = tmp_path / "01_kick.flac"
    soundfile.write(path, codes(noise(-20, 6)) << 8, RATE_HZ, "PCM_24", format="FLAC")
    content = bytearray(path.read_bytes())
    (report,) = check_folder(tmp_path)
    assert not any(one.kind == "damaged" for one in report.finding)
    content[len(content) // 2] ^= 0x08
    path.write_bytes(content)
    (report,) = check_folder(tmp_path)
    (torn,) = (one for one in report.finding if one.kind == "damaged")
    assert (torn.severity, torn.track, torn.end is not None and torn.start is not None) == ("stop", "kick", True)
    assert torn.figures["samples"] == (torn.end or 0) - (torn.start or 0) == 4096
    assert report.frames == SHORT


def test_the_level_over_time_is_kept_in_few_columns(tmp_path: Path) -> None:
    sound = np.zeros(SHORT, np.int32)
    sound[SHORT // 2 :] = np.round(np.sin(2 * np.pi * 997 * np.arange(SHORT // 2) / RATE_HZ) * (2**22)).astype(np.int32)
    write_whole(tmp_path / "tone.wav", RATE_HZ, 24, sound)
    (report,) = check_folder(tmp_path)
    course = report.track[0].course
    assert course is not None
    assert 150 < len(course.rms_dbfs) <= 300
    assert course.frames * (len(course.rms_dbfs) - 1) < SHORT <= course.frames * len(course.rms_dbfs)
    assert set(course.peak_dbfs[: len(course.peak_dbfs) // 2 - 1]) == {None}
    late = course.rms_dbfs[len(course.rms_dbfs) // 2 + 1 :]
    assert late == pytest.approx([-6.0] * len(late), abs=0.11)


def test_a_track_over_several_files_says_where_it_goes_on(tmp_path: Path) -> None:
    from fieldfare.takes.wave import Bext, make_bext, write

    sound, day = np.stack([codes(noise(-25, 2, n)) for n in range(3)], axis=1), 20 * 3600 * RATE_HZ
    for name, begin, end in (("show_001.wav", 0, 50_000), ("show_002.wav", 50_000, 96_000)):
        before = [(b"bext", make_bext(Bext(date="2026-12-04", time_reference=day + begin)))]
        with write(tmp_path / name, RATE_HZ, 24, 3, before=before) as file:
            file.write(sound[begin:end])
    (report,) = check_folder(tmp_path)
    assert [(one.file, one.first) for one in report.track[0].later] == [("show_002.wav", 50_000)]
