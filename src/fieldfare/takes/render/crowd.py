"""The people in the room: clapping, calling out, feet on the floor, a murmur that never stops."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from fieldfare.takes.render.score import Note
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.sound import Bell, Sound, bandpass, bells, decay, lowpass, noise, place, swell, turn
from fieldfare.takes.render.voices import TALKER, voiced

HANDS = 24
PEOPLE = 14  # clapping in each part of the room


def applause(at_s: float, length_s: float, samples: int, rate_hz: int, rng: np.random.Generator) -> Sound:
    """Clapping of one part of the room: many pairs of hands that begin together and stop one after another.

    Parameters
    ----------
    at_s, length_s
        When it begins, and how long the last ones go on. [s]
    samples
        Length of the result.
    rate_hz
        Sample rate. [Hz]
    rng
        Chance: who claps when.
    """
    out = np.zeros(samples, dtype=np.float32)
    for person in range(PEOPLE):
        pace = float(rng.uniform(3.2, 4.8))
        now = at_s + float(rng.gamma(2.0, 0.15))
        stop = at_s + length_s * float(rng.uniform(0.45, 1.0))
        while now < stop:
            grown = min(1.0, 0.5 + (now - at_s)) * min(1.0, 0.3 + (stop - now))
            clap = _clap(int(rng.integers(HANDS)), rate_hz)
            place(
                out,
                clap,
                round(now * rate_hz),
                grown * float(rng.uniform(0.5, 1.0)) * (0.4 + 0.6 * ((person * 7) % 5) / 4),
            )
            now += float(rng.normal(1.0, 0.07)) / pace
    if rng.random() < 0.8:
        whoop = _whoop(rate_hz, rng)
        place(out, whoop, round((at_s + float(rng.uniform(0.4, 1.2))) * rate_hz), 0.5)
    return out


def murmur(samples: int, rate_hz: int, rng: np.random.Generator) -> Sound:
    """Talk of many people that cannot be made out: noise with the spectrum and the rhythm of speech."""
    out = np.zeros(samples, dtype=np.float32)
    for low, high in ((180.0, 900.0), (500.0, 2600.0)):
        points = max(4, samples * 5 // rate_hz)
        rhythm = np.interp(np.arange(samples), np.linspace(0, samples, points), rng.gamma(1.5, 0.6, points))
        out += bandpass(noise(rng, samples), rate_hz, low, high) * rhythm.astype(np.float32)
    return bells(out, rate_hz, (Bell(500, 4, 1),))


def feet(beats: list[float], samples: int, rate_hz: int, rng: np.random.Generator) -> Sound:
    """Dancers' feet on a wooden floor, near the beat."""
    out = np.zeros(samples, dtype=np.float32)
    for beat in beats:
        for _ in range(3):
            step = _step(int(rng.integers(8)), rate_hz)
            place(
                out, step, max(0, round((beat + float(rng.normal(0.0, 0.03))) * rate_hz)), float(rng.uniform(0.3, 1.0))
            )
    return out


@lru_cache(maxsize=64)
def _clap(number: int, rate_hz: int) -> Sound:
    rng = seeded(17, "clap", number)
    count = round(0.05 * rate_hz)
    centre = float(rng.uniform(900.0, 2200.0))
    burst = bandpass(noise(rng, count), rate_hz, 0.6 * centre, 2.5 * centre)
    flat = bells(burst, rate_hz, (Bell(centre, 9, 2.5),)) * decay(count, rate_hz, float(rng.uniform(0.02, 0.045)))
    return flat / np.float32(np.max(np.abs(flat)))


@lru_cache(maxsize=16)
def _step(number: int, rate_hz: int) -> Sound:
    rng = seeded(17, "step", number)
    count = round(0.2 * rate_hz)
    thud = lowpass(noise(rng, count), rate_hz, float(rng.uniform(120.0, 240.0))) * decay(count, rate_hz, 0.12)
    return thud / np.float32(np.max(np.abs(thud)))


def _whoop(rate_hz: int, rng: np.random.Generator) -> Sound:
    """A shout that goes up, or a whistle."""
    if rng.random() < 0.4:
        count = round(0.6 * rate_hz)
        hz = np.interp(np.linspace(0, 1, count), [0, 0.4, 1.0], [1700.0, 2600.0, 2100.0])
        sine = np.sin(np.linspace(0, 2 * np.pi, 8192, endpoint=False)).astype(np.float32)
        return turn(sine, hz, rate_hz) * swell(count, rate_hz, 0.05, 0.1) * np.float32(0.7)
    rise = [Note(0.09 * step, 0.12, 62.0 + 3.0 * step, 0.8, "-u" if step < 2 else "-o") for step in range(5)]
    sound = voiced(rise, round(0.8 * rate_hz), rate_hz, TALKER, rng)
    return sound / np.float32(np.max(np.abs(sound)))
