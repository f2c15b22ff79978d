"""Sound of a camera's file, channel by channel into one: where it lies, and what two channels make."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from fieldfare.takes.picture.media import SoundReader, probe

RATE_HZ = 48_000
F32 = NDArray[np.float32]


def _written(path: Path, channels: F32, layout: str) -> Path:
    """Write a film's sound without pictures, losslessly, as 16 bits packed: shape (channels, samples)."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("pcm_s16le", rate=RATE_HZ, layout=layout)
        whole = np.rint(channels * 32_768).astype(np.int16)
        for at in range(0, whole.shape[1], 1000):
            part = np.ascontiguousarray(whole[:, at : at + 1000].T).reshape(1, -1)
            frame = av.AudioFrame.from_ndarray(part, format="s16", layout=layout)
            frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, at, Fraction(1, RATE_HZ)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


@pytest.mark.parametrize(
    ("layout", "gains", "whole"),
    [("mono", (1.0,), 1.0), ("stereo", (1.0, 0.5), 0.75), ("stereo", (1.0, -1.0), 1.0), ("stereo", (-0.2, 0.2), -0.2)],
)
def test_channels_are_mixed_and_of_those_that_cancel_one_is_taken(
    tmp_path: Path, layout: str, gains: tuple[float, ...], whole: float
) -> None:
    sound = np.random.default_rng(4).uniform(-0.9, 0.9, 3 * RATE_HZ).astype(np.float32)
    path = _written(tmp_path / "film.mov", np.array(gains, np.float32)[:, None] * sound, layout)
    with SoundReader(probe(path)) as reader:
        for start in (0, 70_001, RATE_HZ * 2):
            heard = reader.read(start / RATE_HZ, 0.5)
            np.testing.assert_allclose(heard, whole * sound[start : start + RATE_HZ // 2], atol=1e-4)
        over = reader.read(2.75, 0.5)
        np.testing.assert_allclose(over[: RATE_HZ // 4], whole * sound[-RATE_HZ // 4 :], atol=1e-4)
        assert not over[RATE_HZ // 4 :].any()
        before = reader.read(-0.25, 0.5)
        assert not before[: RATE_HZ // 4].any()
        np.testing.assert_allclose(before[RATE_HZ // 4 :], whole * sound[: RATE_HZ // 4], atol=1e-4)
