"""A place of a track, to hear and to see: sample for sample what lies in the file."""

from __future__ import annotations

import io
import wave
from pathlib import Path

import numpy as np
import pytest

from fieldfare.takes.excerpt import as_wav, excerpt, outline
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import Fault


@pytest.fixture
def ramp(tmp_path: Path) -> Path:
    """Ten seconds of two channels: a ramp, and its opposite."""
    frames = 10 * 8000
    rising = np.arange(frames, dtype=np.int32) * 256
    write_whole(tmp_path / "ramp.wav", 8000, 32, np.stack([rising, -rising], axis=1), 2)
    return tmp_path / "ramp.wav"


def test_it_is_what_lies_in_the_file_with_a_second_before_and_two_after(ramp: Path) -> None:
    heard = excerpt(ramp, 2, 32_000, 32_080)
    assert heard.first == 24_000
    assert len(heard.samples) == 32_080 + 16_000 - 24_000
    wanted = -(np.arange(24_000, 48_080) * 256) / 2**31
    np.testing.assert_allclose(heard.samples, wanted, atol=1e-7)


def test_a_place_at_the_edge_is_cut_there(ramp: Path) -> None:
    assert excerpt(ramp, 1, 0, 10).first == 0
    assert len(excerpt(ramp, 1, 79_990, 80_000).samples) == 8010


def test_another_reader_hears_the_same(ramp: Path) -> None:
    heard = excerpt(ramp, 1, 32_000, 32_080)
    with wave.open(io.BytesIO(as_wav(heard))) as file:
        assert (file.getnchannels(), file.getframerate(), file.getnframes()) == (1, 8000, len(heard.samples))
        read = np.frombuffer(file.readframes(file.getnframes()), "<i2") / 2**15
    np.testing.assert_allclose(read, heard.samples, atol=0.5 / 2**15 + 1e-7)


def test_the_outline_holds_every_sample(ramp: Path) -> None:
    heard = excerpt(ramp, 1, 32_000, 32_080)
    shape = outline(heard, 100)
    assert shape.shape == (100, 2)
    assert (shape[:, 0].min(), shape[:, 1].max()) == (heard.samples.min(), heard.samples.max())


@pytest.mark.parametrize(("channel", "start", "match"), [(3, 0, "no channel 3"), (1, 90_000, "ends before")])
def test_what_is_not_there_is_told(ramp: Path, channel: int, start: int, match: str) -> None:
    with pytest.raises(Fault, match=match):
        excerpt(ramp, channel, start, start + 1)


def test_what_cannot_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / "no.wav").write_bytes(b"nothing")
    with pytest.raises(Fault, match="mend it first"):
        excerpt(tmp_path / "no.wav", 1, 0, 1)
