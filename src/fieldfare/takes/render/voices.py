"""Voices: a glottal wave through a vocal tract of five resonances, with consonants of noise and of the nose."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.render.score import Note
from fieldfare.takes.render.sound import (
    Bell,
    Sound,
    bandpass,
    bells,
    frequency,
    noise,
    place,
    resonators,
    swell,
    turn,
    wave_table,
)


class Tract(NamedTuple):
    """A speaker: how long the vocal tract is, against the table's, and how rough the voice."""

    shorter: float
    rough: float


# First three formants of spoken vowels. [Hz] From memory of the usual tables for a man's voice; rounded.
FORMANTS: dict[str, tuple[float, float, float]] = {
    "a": (730, 1090, 2440),
    "e": (530, 1840, 2480),
    "i": (280, 2250, 2890),
    "o": (570, 840, 2410),
    "u": (310, 870, 2250),
    "ae": (660, 1720, 2410),
}
_WIDTHS = (70.0, 90.0, 130.0, 180.0, 250.0)
# Noise of consonants: band [Hz], length [s], strength re the vowel.
_NOISES: dict[str, tuple[float, float, float, float]] = {
    "s": (4500, 11000, 0.09, 0.35),
    "t": (2500, 8000, 0.025, 0.6),
    "h": (500, 4000, 0.06, 0.15),
    "d": (1500, 5000, 0.018, 0.4),
}
LEAD, SECOND, TALKER = Tract(1.12, 0.3), Tract(1.04, 0.25), Tract(1.0, 0.5)


def voiced(notes: Sequence[Note], samples: int, rate_hz: int, tract: Tract, rng: np.random.Generator) -> Sound:
    """Render sung or spoken syllables.

    Parameters
    ----------
    notes
        `how` is "consonant-vowel", with " spoken" behind it for speech.
    samples
        Length of the result.
    rate_hz
        Sample rate. [Hz]
    tract
        Whose voice it is.
    rng
        Chance for roughness, vibrato and breath.
    """
    out = np.zeros(samples, dtype=np.float32)
    for note in notes:
        words, spoken = note.how.removesuffix(" spoken"), note.how.endswith(" spoken")
        onset, _, vowel = words.partition("-")
        sound = _vowel(note, vowel or "a", spoken, tract, rate_hz, rng)
        if onset in ("m", "n", "l", "w"):
            sound = _nasal(sound, rate_hz)
        at = round(note.at_s * rate_hz)
        place(out, sound, at, note.velocity)
        if onset in _NOISES:
            low, high, lasts, strength = _NOISES[onset]
            count = round(lasts * rate_hz)
            burst = bandpass(noise(rng, count), rate_hz, low, high) * swell(count, rate_hz, 0.004, 0.012)
            place(out, burst, max(0, at - count * 2 // 3), 1.2 * strength * note.velocity)
    return bells(out, rate_hz, (Bell(3200, 4, 1.2), Bell(180, -3, 1)))


def _glottis(n: NDArray[np.float64], hz: float) -> NDArray[np.float64]:
    """Twelve decibels an octave down from the vocal folds, six up again from the lips."""
    return n**-1.0 / np.sqrt(1.0 + (n * hz / 3800.0) ** 2)


def _vowel(note: Note, vowel: str, spoken: bool, tract: Tract, rate_hz: int, rng: np.random.Generator) -> Sound:
    count = max(256, round((note.length_s + 0.05) * rate_hz))
    time = np.arange(count, dtype=np.float32) / np.float32(rate_hz)
    if spoken:
        cents = -120.0 * time / max(0.1, note.length_s)
    else:
        depth = 28.0 * np.clip((time - 0.25) / 0.4, 0.0, 1.0)
        cents = depth * np.sin(np.float32(2 * np.pi * rng.uniform(5.1, 5.8)) * time) - 60.0 * np.exp(time / -0.04)
    drift = np.interp(time, np.linspace(0, time[-1], 12), rng.normal(0.0, 8.0 * tract.rough, 12))
    hz = frequency(note.pitch) * np.exp2((cents + drift) / 1200.0)
    pulse = turn(wave_table(_glottis, round(note.pitch), rate_hz), hz, rate_hz)
    rough = 1.0 + tract.rough * np.interp(
        time, np.linspace(0, time[-1], count // 400 + 2), rng.normal(0, 0.1, count // 400 + 2)
    )
    breath = np.float32(0.06 if spoken else 0.03) * noise(rng, count)
    sound = resonators((pulse * rough + breath).astype(np.float32), rate_hz, _poles(vowel, tract))
    shape = swell(count, rate_hz, 0.02 if spoken else 0.05, 0.05 if spoken else 0.09)
    rms = np.sqrt(np.mean(sound**2)) + 1e-9
    sung: Sound = (sound / rms * shape).astype(np.float32)
    return sung


def _poles(vowel: str, tract: Tract) -> list[tuple[float, float]]:
    hz = (*FORMANTS[vowel], 3400.0, 4300.0)
    return [(centre * tract.shorter, width) for centre, width in zip(hz, _WIDTHS, strict=True)]


def _nasal(sound: Sound, rate_hz: int) -> Sound:
    """Close the mouth for the first part of a syllable: less of everything above the first resonance."""
    count = min(len(sound), round(0.07 * rate_hz))
    closed = bandpass(sound[:count].copy(), rate_hz, 90.0, 450.0)
    mix = np.clip(np.linspace(-0.5, 1.0, count, dtype=np.float32), 0.0, 1.0)
    opened = sound.copy()
    opened[:count] = mix * sound[:count] + (1.0 - mix) * 0.6 * closed
    return opened
