"""Mending past 4 GiB, and joining parts that somebody names, as a user asks for it."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from takes.wave.handmade import noise, packed, wav

from fieldfare.cli.mend import mend as mend_command
from fieldfare.show.findings import Mended
from fieldfare.takes.mend import join, mend, mend_headless, offers, strand_of
from fieldfare.takes.wave import Bext, beside, make_bext, read_all, read_head, write
from fieldfare.units.faults import Fault, NotDone


def _run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "fieldfare", "mend", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)


def _part(path: Path, samples: np.ndarray[tuple[int, int], np.dtype[np.int32]], start: int | None = None) -> Path:
    before = [] if start is None else [(b"bext", make_bext(Bext(time_reference=start)))]
    with write(path, 48_000, 24, samples.shape[1], before=before) as file:
        file.write(samples)
    return path


def test_a_size_that_wrapped_is_mended_with_every_sample(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same rule with a wrap of 4 KiB instead of 4 GiB, so that the file is small enough for a test."""
    monkeypatch.setattr("fieldfare.takes.wave.extent.WRAP", 1 << 12)
    samples = noise(3_000, 2)
    audio = packed(samples)
    path, target = tmp_path / "long.wav", tmp_path / "mended.wav"
    path.write_bytes(wav(audio, (len(audio) + 36) % 4096, len(audio) % 4096))
    assert read_head(path).state == "wrapped"
    done = mend(path, target)
    assert (done.frames, done.sha256) == (3_000, hashlib.sha256(audio).hexdigest())
    assert np.array_equal(soundfile.read(target, dtype="int32")[0] >> 8, samples)


def test_parts_in_any_order_are_joined_by_their_clock(tmp_path: Path) -> None:
    samples = noise(3_000, 3)
    second = _part(tmp_path / "b.wav", samples[1_000:], 10_001_000)
    first = _part(tmp_path / "a.wav", samples[:1_000], 10_000_000)
    done = join(strand_of([second, first]), tmp_path / "whole.wav")
    assert done.frames == 3_000
    assert np.array_equal(read_all(read_head(tmp_path / "whole.wav")), samples)


def test_parts_in_other_containers_become_one_wav(tmp_path: Path) -> None:
    samples = noise(30_000, 2)
    for name, kind, begin, end in (
        ("1.flac", "FLAC", 0, 10_000),
        ("2.aif", "AIFF", 10_000, 20_000),
        ("3.w64", "W64", 20_000, 30_000),
    ):
        soundfile.write(tmp_path / name, samples[begin:end] << 8, 48_000, "PCM_24", format=kind)
    parts = [tmp_path / name for name in ("1.flac", "2.aif", "3.w64")]
    done = join(strand_of(parts, in_order=True), tmp_path / "whole.wav")
    assert done.sha256 == hashlib.sha256(packed(samples)).hexdigest()
    assert np.array_equal(soundfile.read(tmp_path / "whole.wav", dtype="int32")[0] >> 8, samples)


def test_parts_that_do_not_belong_together_are_refused(tmp_path: Path) -> None:
    first = _part(tmp_path / "song.wav", noise(1_000, 2))
    other = _part(tmp_path / "other.wav", noise(1_000, 2))
    mono = _part(tmp_path / "mono.wav", noise(1_000, 1))
    with pytest.raises(NotDone, match="neither clock nor name says"):
        strand_of([first, other])
    with pytest.raises(NotDone, match="it holds 1 channels of 24 bits at 48000 Hz"):
        strand_of([first, mono])
    (tmp_path / "none.wav").write_bytes(bytes(5_000))
    with pytest.raises(NotDone, match="its header was never written"):
        strand_of([first, tmp_path / "none.wav"], in_order=True)


def test_a_headless_aiff_is_offered_as_the_files_beside_it_are(tmp_path: Path) -> None:
    time = np.arange(40_000)[:, np.newaxis] / 48_000
    tones = np.sin(2 * np.pi * np.array([220.0, 331.0]) * time) * 2**21
    samples = np.round(tones + np.random.default_rng(4).normal(0, 2**9, tones.shape)).astype(np.int32)
    for name in ("01.aif", "02.aif", "03.aif"):
        soundfile.write(tmp_path / name, samples << 8, 48_000, "PCM_24", format="AIFF")
    head = read_head(tmp_path / "02.aif")
    content = (tmp_path / "02.aif").read_bytes()
    (tmp_path / "02.aif").write_bytes(bytes(head.data_start) + content[head.data_start :])
    best = offers(tmp_path / "02.aif", beside(tmp_path / "02.aif"))[0]
    assert (best.data_start, best.channels, best.bits, best.rate_hz, best.big_endian) == (
        head.data_start,
        2,
        24,
        48_000,
        True,
    )
    assert "2 of 2 files beside it are like that, big end first, and the bytes fit it" in best.why
    done = mend_headless(tmp_path / "02.aif", tmp_path / "new.wav", best.data_start, 2, 48_000, 24, big_endian=True)
    assert np.array_equal(soundfile.read(tmp_path / "new.wav", dtype="int32")[0] >> 8, samples)
    assert done.sha256 == hashlib.sha256(packed(samples)).hexdigest()


def test_the_command_joins_and_fills_only_when_asked(tmp_path: Path) -> None:
    samples = noise(3_000, 3)
    limit = "T-0001.wav", "T-0002.wav"
    ixml = b"<BWFXML><FILE_SET><FAMILY_UID>f1</FAMILY_UID></FILE_SET></BWFXML>"
    for name, begin, start in ((limit[0], 0, 0), (limit[1], 1_000, 700)):
        before = [(b"bext", make_bext(Bext(time_reference=50_000_000 + begin + start))), (b"iXML", ixml)]
        with write(tmp_path / name, 48_000, 24, 3, before=before) as file:
            file.write(samples[begin : begin + 1_000 if not begin else None])
    parts = [tmp_path / name for name in limit]
    refused = _run(*parts, "--to", tmp_path / "whole.wav")
    assert (refused.returncode, (tmp_path / "whole.wav").exists()) == (3, False)
    assert "700 samples between T-0001.wav and T-0002.wav are missing" in refused.stderr
    done = _run(*parts, "--to", tmp_path / "whole.wav", "--fill-gaps", "--json")
    assert done.returncode == 0, done.stderr
    assert Mended.model_validate_json(done.stdout).frames == 3_700
    whole = read_all(read_head(tmp_path / "whole.wav"))
    assert np.array_equal(whole[1_700:], samples[1_000:])
    assert not whole[1_000:1_700].any()


def test_parts_in_folders_of_their_own_are_told_not_to_go_on(tmp_path: Path) -> None:
    parts = []
    for place, folder in enumerate(("left", "right")):
        (tmp_path / folder).mkdir()
        parts.append(_part(tmp_path / folder / f"{folder}.wav", noise(100, 1, place)))
    with pytest.raises(NotDone, match="neither clock nor name says"):
        strand_of(parts)


def test_the_command_says_what_is_wrong_with_the_request(tmp_path: Path) -> None:
    part, new = _part(tmp_path / "a.wav", noise(100, 1)), tmp_path / "new.wav"
    with pytest.raises(Fault, match="there is no such file"):
        mend_command([tmp_path / "nowhere.wav"], new)
    with pytest.raises(Fault, match="one file at a time can be mended without its head"):
        mend_command([part, part], new, channels=2)
    with pytest.raises(Fault, match="a file without a head needs all three"):
        mend_command([part], new, channels=2)
