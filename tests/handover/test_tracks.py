"""Tracks come through to the bit, whatever their rate, depth, form and parts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from handover.demo import demo
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import ArrayLike

from fieldfare.handover.tracks import Handed, Stretch, hand_tracks
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.proven import Proven
from fieldfare.takes.stamps import stamp_of_take
from fieldfare.takes.wave import Bext, make_bext, read_all, read_head, write

BEGIN = 1_000_000


def _axis(card: Path, bits: int, rate_hz: int, parts: list[tuple[int, ArrayLike]], *, is_float: bool = False) -> Axis:
    """A take of one recording that goes on over several files, each begun at a sample."""
    card.mkdir()
    for number, (at, samples) in enumerate(parts, 1):
        data = np.asarray(samples)
        before = ((b"bext", make_bext(Bext(time_reference=BEGIN + at))),)
        path = card / f"take_{number:03d}.wav"
        with write(path, rate_hz, bits, data.shape[1], is_float=is_float, before=before) as file:
            file.write(data)
    (axis,) = find_axes(card)
    return axis


def _handed(axis: Axis, folder: Path, start: int, end: int) -> tuple[Handed, ...]:
    folder.mkdir()
    plan, _, _, _ = demo()
    proven = Proven(folder, folder.with_name("journal"), stamp_of_take(axis))
    return hand_tracks(axis, Stretch("x", folder, start, end), plan, proven, lambda samples: None)


@pytest.mark.parametrize(
    ("bits", "is_float"), [(8, False), (16, False), (24, False), (32, False), (32, True), (64, True)]
)
@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_each_channel_is_its_own_file_of_the_same_form(bits: int, is_float: bool, rate_hz: int, tmp_path: Path) -> None:
    dice = np.random.default_rng(bits)
    samples = (
        dice.uniform(-1, 1, (3000, 3)).astype(np.float64 if bits == 64 else np.float32)
        if is_float
        else dice.integers(-(1 << bits - 1), 1 << bits - 1, (3000, 3)).astype(np.int32)
    )
    axis = _axis(tmp_path / "card", bits, rate_hz, [(0, samples)], is_float=is_float)
    files = _handed(axis, tmp_path / "out", 100, 2900)
    assert [(one.rate_hz, one.bits, one.frames, one.silent) for one in files] == [(rate_hz, bits, 2800, 0)] * 3
    for channel, one in enumerate(files):
        head = read_head(one.path)
        assert (head.channels, head.is_float, head.state) == (1, is_float, "good")
        assert np.array_equal(read_all(head)[:, 0], samples[100:2900, channel])
        info = soundfile.info(one.path)
        assert (info.samplerate, info.frames, info.channels) == (rate_hz, 2800, 1)
        if not is_float or bits == 64:  # the other reader's whole numbers stand at the top of 32 bits
            read = soundfile.read(one.path, dtype="float64" if is_float else "int32")[0]
            assert np.array_equal(read if is_float else read >> (32 - bits), samples[100:2900, channel])


@pytest.mark.parametrize("bits", [8, 24])
def test_parts_run_into_one_another_and_what_is_missing_at_the_end_is_counted_silence(
    bits: int, tmp_path: Path
) -> None:
    dice = np.random.default_rng(1)
    first, second = (dice.integers(-100, 100, (n, 1), dtype=np.int32) for n in (5000, 4000))
    card = tmp_path / "card"
    axis = _axis(card, bits, 48_000, [(0, first), (5000, second)])
    (one,) = _handed(axis, tmp_path / "out", 0, 10_000)
    whole = np.concatenate([first, second, np.zeros((1000, 1), np.int32)])
    assert np.array_equal(read_all(read_head(one.path)), whole)
    assert one.silent == 1000


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 700), st.integers(1, 700))
def test_any_stretch_is_that_stretch(tmp_path_factory: pytest.TempPathFactory, start: int, long: int) -> None:
    root = tmp_path_factory.mktemp("stretch")
    samples = np.arange(1400, dtype=np.int32)[:, None] * 4001
    axis = _axis(root / "card", 24, 48_000, [(0, samples[:900]), (900, samples[900:])])
    (one,) = _handed(axis, root / "out", start, start + long)
    assert np.array_equal(read_all(read_head(one.path)), samples[start : start + long])
    bext = read_head(one.path).bext
    assert bext is not None
    assert bext.time_reference == BEGIN + start


def test_a_song_after_midnight_bears_the_next_day_and_each_process_stands_on_its_own_line(tmp_path: Path) -> None:
    """EBU Tech 3285 §2.3: date and time of the origination, samples since midnight, strings each ended by CR/LF."""
    day = 86_400 * 48_000
    (tmp_path / "card").mkdir()
    for name, late in (("01_kick", 0), ("02_late", 30_000)):
        written = Bext(
            date="2026-12-04", time_reference=(day - 48_000 + late) % day, history="A=PCM,F=48000,W=24,M=mono\r\n"
        )
        with write(tmp_path / "card" / f"{name}.wav", 48_000, 24, 1, before=((b"bext", make_bext(written)),)) as file:
            file.write(np.ones((100_000 - late, 1), np.int32))
    (axis,) = find_axes(tmp_path / "card")
    for folder, start, date, time, at in (
        ("before", 0, "2026-12-04", "23:59:59", day - 48_000),
        ("behind", 96_000, "2026-12-05", "00:00:01", 48_000),
    ):
        for one in _handed(axis, tmp_path / folder, start, start + 1000):
            bext = read_head(one.path).bext
            assert bext is not None
            assert (bext.date, bext.time, bext.time_reference) == (date, time, at)
            lines = bext.history.splitlines()
            assert lines[0] == "A=PCM,F=48000,W=24,M=mono"
            assert lines[1].startswith("A=PCM,F=48000,W=24,M=mono,T=fieldfare")
            raw = read_head(one.path).chunk(b"bext")
            assert raw is not None
            assert raw[602:].endswith(b"\r\n")
