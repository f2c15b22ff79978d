"""What is copied out of a recording is its samples, and silence exactly where it has none."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest

from fieldfare.takes.axis import AxisTrack
from fieldfare.takes.channels import ChannelFile, copy_stretch, one_channel
from fieldfare.takes.wave import Course, Strand, read_all, read_head, write, write_form

PARTS = ((0, 500), (700, 300))  # first sample and length of each file: 200 are missing between the two


@pytest.mark.parametrize("bits", [8, 16, 24, 32])
@pytest.mark.parametrize(("start", "end"), [(0, 1000), (450, 750), (520, 680), (-40, 1060), (999, 1000)])
def test_every_stretch_is_the_samples_and_silence_where_there_are_none(
    bits: int, start: int, end: int, tmp_path: Path
) -> None:
    dice, course = np.random.default_rng(bits), np.zeros((1100, 2), np.int32)
    for number, (at, frames) in enumerate(PARTS, 1):
        samples = dice.integers(-(1 << bits - 1), 1 << bits - 1, (frames, 2)).astype(np.int32)
        course[at : at + frames] = samples
        with write(tmp_path / f"take_{number:03d}.wav", 48_000, bits, 2) as part:
            part.write(samples)
    heads = tuple(read_head(path) for path in sorted(tmp_path.iterdir()))
    recording = Course(Strand(heads, (200,)), 0)
    tracks = [AxisTrack(f"track {n}", n + 1, recording, n, None) for n in range(2)]
    form, told = one_channel(heads[0].form), list[int]()
    with ExitStack() as stack:
        files = [
            ChannelFile(track, stack.enter_context(write_form(tmp_path / f"{track.channel}.out", form)))
            for track in tracks
        ]
        copy_stretch(recording, start, end, files, told.append)
    assert sum(told) == 2 * (end - start)
    held = [at for at in range(start, end) if 0 <= at < 500 or 700 <= at < 1000]
    for file in files:
        wanted = [course[at, file.track.channel] if at in held else 0 for at in range(start, end)]
        assert read_all(read_head(file.writer.path))[:, 0].tolist() == wanted
        assert file.silent == end - start - len(held)
