"""A clip's place is found by notes as well as by strokes; where a tune comes round again, both places are kept."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import fftconvolve

from fieldfare.takes.picture.coarse import Chunk, find_places
from fieldfare.takes.picture.novelty import BANDS, EDGES_HZ, PER_S, band_powers, novelty

RATE_HZ = 48_000


def _changes(rng: np.random.Generator, stretches: int) -> np.ndarray:
    return rng.normal(0, 1, (BANDS, stretches)).astype(np.float32)


def _held_notes(rng: np.random.Generator, seconds: int) -> np.ndarray:
    """An organ: notes that follow one another at one loudness, without a stroke."""
    hz = 440 * 2 ** (rng.integers(0, 25, 2 * seconds) / 12)
    phase = np.cumsum(np.repeat(hz, RATE_HZ // 2)) * 2 * np.pi / RATE_HZ
    sound: np.ndarray = np.sin(phase).astype(np.float32)
    return sound


def test_a_semitone_has_its_own_band() -> None:
    for step in (0, 7, 35):
        hz = np.sqrt(EDGES_HZ[step] * EDGES_HZ[step + 1])
        tone = np.sin(2 * np.pi * hz * np.arange(RATE_HZ) / RATE_HZ).astype(np.float32)
        power = band_powers(tone, RATE_HZ)
        assert power.shape == (BANDS, PER_S)
        assert abs(int(power.mean(axis=1).argmax()) - step) <= 1  # at the bottom a line is as wide as a semitone


def test_held_notes_are_found_in_another_room() -> None:
    rng = np.random.default_rng(4)
    sound = _held_notes(rng, 60)
    room = np.exp(-np.arange(RATE_HZ) / RATE_HZ * 7) * rng.normal(0, 1, RATE_HZ)
    heard = fftconvolve(sound[20 * RATE_HZ : 36 * RATE_HZ], room)[: 16 * RATE_HZ].astype(np.float32)
    heard += 0.3 * float(heard.std()) * rng.normal(0, 1, len(heard)).astype(np.float32)
    places = find_places(novelty(band_powers(sound, RATE_HZ)), [Chunk(0.0, novelty(band_powers(heard, RATE_HZ)))])
    assert places[0].offset_s == pytest.approx(20.0, abs=0.1)


def test_a_tune_that_comes_round_again_leaves_both_places_open() -> None:
    rng = np.random.default_rng(1)
    take = _changes(rng, 3000)
    take[:, 2000:2500] = take[:, 800:1300] + 0.5 * _changes(rng, 500)
    clip = (take[:, 900:1200] + 0.5 * _changes(rng, 300)).astype(np.float32)
    found = [place.offset_s for place in find_places(take, [Chunk(0.0, clip)])]
    assert found == pytest.approx([900 / PER_S, 2100 / PER_S])


def test_where_nothing_changes_there_is_no_place() -> None:
    assert find_places(_changes(np.random.default_rng(2), 500), [Chunk(0.0, np.zeros((BANDS, 90), np.float32))]) == ()
    assert find_places(_changes(np.random.default_rng(2), 500), []) == ()
    assert find_places(np.zeros((BANDS, 0), np.float32), [Chunk(0.0, _changes(np.random.default_rng(3), 90))]) == ()


@settings(max_examples=20, deadline=None)
@given(st.integers(-200, 9000), st.integers(300, 900), st.integers(0, 2**32 - 1))
def test_a_clip_is_found_wherever_it_lies(first: int, length: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    around = _changes(rng, 11_000)
    take = around[:, 500:10_000]  # longer than one block; the clip may begin before it and end after it
    clip = around[:, 500 + first : 500 + first + length]
    assert find_places(take, [Chunk(3.0, clip)])[0].offset_s == pytest.approx(first / PER_S - 3.0)
