"""Things that are struck: the kit, the sticks and the hand percussion."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache, partial

import numpy as np

from fieldfare.takes.render.score import Note
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.sound import Sound, bandpass, decay, highpass, noise, place

VARIANTS = 3  # no two strokes that follow one another are the same
_METAL = (1.0, 1.342, 1.231, 1.653, 1.968, 2.152, 2.51, 2.93, 3.41, 4.07)  # inharmonic, as a plate's partials are


def struck(notes: Sequence[Note], samples: int, rate_hz: int) -> Sound:
    """Render strokes; `how` of a note names the stroke, `pitch` the number of a tom.

    Parameters
    ----------
    notes
        Strokes: kick, snare, tom, hat, ride, crash, stick or shake.
    samples
        Length of the result.
    rate_hz
        Sample rate. [Hz]
    """
    out = np.zeros(samples, dtype=np.float32)
    for count, note in enumerate(notes):
        how = f"tom {min(round(note.pitch), 2)}" if note.how == "tom" else note.how
        sound = _stroke(how, count % VARIANTS, rate_hz)
        place(out, sound, round(note.at_s * rate_hz), note.velocity**1.5)
    return out


@lru_cache(maxsize=128)
def _stroke(how: str, variant: int, rate_hz: int) -> Sound:
    sound = _STROKES[how](seeded(7, how, variant), rate_hz)
    return sound / np.float32(np.max(np.abs(sound)))


def _falling(rate_hz: int, seconds: float, from_hz: float, to_hz: float, fall_s: float) -> Sound:
    """A skin's tone: the pitch falls as the stretch of the stroke lets go."""
    count = round(seconds * rate_hz)
    time = np.arange(count) / rate_hz
    hz = to_hz + (from_hz - to_hz) * np.exp(-time / fall_s)
    tone: Sound = np.sin(2 * np.pi * np.cumsum(hz) / rate_hz).astype(np.float32)
    return tone


def _kick(rng: np.random.Generator, rate_hz: int) -> Sound:
    count = round(0.5 * rate_hz)
    low = _falling(rate_hz, 0.5, 135.0 * rng.uniform(0.96, 1.04), 54.0, 0.022) * decay(count, rate_hz, 0.42)
    beater = bandpass(noise(rng, count) * decay(count, rate_hz, 0.03), rate_hz, 1200.0, 5000.0)
    sound: Sound = low + 0.35 * beater / np.max(np.abs(beater))
    return sound


def _snare(rng: np.random.Generator, rate_hz: int) -> Sound:
    count = round(0.45 * rate_hz)
    head = _falling(rate_hz, 0.45, 235.0, 188.0 * rng.uniform(0.98, 1.02), 0.012) * decay(count, rate_hz, 0.16)
    rim = _falling(rate_hz, 0.45, 345.0, 331.0, 0.01) * decay(count, rate_hz, 0.09)
    wires = bandpass(noise(rng, count), rate_hz, 900.0, 9000.0) * decay(count, rate_hz, 0.26)
    snap = highpass(noise(rng, count), rate_hz, 2500.0) * decay(count, rate_hz, 0.02)
    sound: Sound = head + 0.5 * rim + 0.4 * wires + 0.5 * snap
    return sound


def _tom(low_hz: float, rng: np.random.Generator, rate_hz: int) -> Sound:
    hz = low_hz * rng.uniform(0.99, 1.01)
    count = round(0.9 * rate_hz)
    low = _falling(rate_hz, 0.9, 1.35 * hz, hz, 0.035) * decay(count, rate_hz, 0.7)
    second = _falling(rate_hz, 0.9, 1.9 * hz, 1.59 * hz, 0.03) * decay(count, rate_hz, 0.35)
    stick = bandpass(noise(rng, count) * decay(count, rate_hz, 0.025), rate_hz, 900.0, 5000.0)
    sound: Sound = low + 0.4 * second + 0.3 * stick
    return sound


def _metal(rng: np.random.Generator, rate_hz: int, base_hz: float, seconds: float, wash: float) -> Sound:
    count = round(1.2 * seconds * rate_hz)
    time = np.arange(count, dtype=np.float32) / np.float32(rate_hz)
    sound = np.zeros(count, dtype=np.float32)
    for number, ratio in enumerate(_METAL):
        hz = base_hz * ratio * rng.uniform(0.99, 1.01)
        if hz < 0.45 * rate_hz:
            level = np.float32(0.5 / (1 + 0.2 * number))
            sound += (
                level
                * np.sin(np.float32(2 * np.pi * hz) * time + np.float32(rng.uniform(0, 6.28)))
                * decay(count, rate_hz, seconds / (1 + 0.15 * number))
            )
    hiss = highpass(noise(rng, count), rate_hz, 5500.0)
    return 0.35 * sound * decay(count, rate_hz, seconds) + wash * hiss * decay(count, rate_hz, seconds)


def _hat(rng: np.random.Generator, rate_hz: int) -> Sound:
    return _metal(rng, rate_hz, 3300.0, 0.11, 0.6)


def _ride(rng: np.random.Generator, rate_hz: int) -> Sound:
    ping = _metal(rng, rate_hz, 2750.0, 1.3, 0.06)
    count = len(ping)
    ping += 0.9 * bandpass(noise(rng, count) * decay(count, rate_hz, 0.03), rate_hz, 2500.0, 12000.0)
    return ping


def _crash(rng: np.random.Generator, rate_hz: int) -> Sound:
    sound = _metal(rng, rate_hz, 1150.0, 1.9, 0.5)
    bloom = 1.0 - 0.6 * decay(len(sound), rate_hz, 0.05)
    return sound * bloom


def _stick(rng: np.random.Generator, rate_hz: int) -> Sound:
    count = round(0.12 * rate_hz)
    wood = _falling(rate_hz, 0.12, 1650.0, 1580.0 * rng.uniform(0.98, 1.02), 0.01) * decay(count, rate_hz, 0.06)
    return wood + 0.5 * bandpass(noise(rng, count) * decay(count, rate_hz, 0.02), rate_hz, 1500.0, 8000.0)


def _shake(rng: np.random.Generator, rate_hz: int) -> Sound:
    count = round(0.16 * rate_hz)
    grains = np.where(rng.random(count) < 0.03, noise(rng, count), np.float32(0.0)).astype(np.float32)
    rise = np.minimum(1.0, np.arange(count, dtype=np.float32) / (0.012 * rate_hz))
    jingles = _metal(rng, rate_hz, 4300.0, 0.15, 0.1)[:count]
    sound: Sound = (
        (6.0 * bandpass(grains, rate_hz, 3000.0, 13000.0) + 0.8 * jingles) * rise * decay(count, rate_hz, 0.15)
    )
    return sound


_STROKES: dict[str, Callable[[np.random.Generator, int], Sound]] = {
    "kick": _kick,
    "snare": _snare,
    "tom 0": partial(_tom, 165.0),
    "tom 1": partial(_tom, 98.0),
    "tom 2": partial(_tom, 78.0),
    "hat": _hat,
    "ride": _ride,
    "crash": _crash,
    "stick": _stick,
    "shake": _shake,
}
