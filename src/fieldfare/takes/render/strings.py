"""Plucked strings: a travelling wave on a string that loses its top first, plucked at a point, on a body that rings."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple, cast

import numpy as np

from fieldfare.takes.render.score import Note
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.sound import Bell, Sound, bandpass, bells, decay, frequency, noise, place

VARIANTS = 3
SLIP_S = 0.0005  # a string leaves the finger or plectrum in this time, never from one sample to the next


class Plucked(NamedTuple):
    """How an instrument's strings and body behave."""

    sixty_db_s: float  # decay of a middle string's fundamental
    dull_hz: float  # where the decay has become twice as fast
    finger_hz: float  # the pluck is no sharper than this
    pluck_at: float  # share of the string
    stiffness: float  # inharmonicity
    course_cents: float  # 0 for single strings; how far apart the two strings of a course are
    body: tuple[Bell, ...]


PLUCKED: dict[str, Plucked] = {
    "bass": Plucked(
        2.6, 700.0, 900.0, 0.22, 1e-4, 0.0, (Bell(62, 4, 2), Bell(105, 5, 4), Bell(210, 4, 3), Bell(650, 3, 1.5))
    ),
    "guitar": Plucked(
        2.2, 2200.0, 4500.0, 0.17, 4e-5, 0.0, (Bell(103, 6, 6), Bell(205, 6, 6), Bell(390, 3, 4), Bell(2600, 3, 1))
    ),
    "bouzouki": Plucked(
        1.7, 3200.0, 7000.0, 0.12, 6e-5, 5.0, (Bell(160, 4, 5), Bell(320, 5, 5), Bell(900, 3, 2), Bell(3500, 5, 1))
    ),
}
# A pickup under the bridge hears the string and little of the body; an amplifier has its own voice.
PICKUP = (Bell(350, -5, 0.6), Bell(3800, 4, 0.7))
AMPLIFIER = (Bell(500, -3, 1), Bell(1700, 3, 1.5), Bell(6000, -15, 0.7))


def plucked(kind: str, notes: Sequence[Note], samples: int, rate_hz: int) -> Sound:
    """Render plucked notes.

    Parameters
    ----------
    kind
        A key of `PLUCKED`.
    notes
        The notes; a string is damped when its note ends.
    samples
        Length of the result.
    rate_hz
        Sample rate. [Hz]
    """
    out = np.zeros(samples, dtype=np.float32)
    for count, note in enumerate(notes):
        string = _string(kind, round(note.pitch), count % VARIANTS, rate_hz)
        held = min(len(string), round((note.length_s + 0.12) * rate_hz))
        damped = string[:held].copy()
        tail = min(held, round(0.12 * rate_hz))
        damped[-tail:] *= np.linspace(1.0, 0.0, tail, dtype=np.float32) ** 2
        place(out, damped, round(note.at_s * rate_hz), note.velocity)
    return bells(out, rate_hz, PLUCKED[kind].body)


@lru_cache(maxsize=512)
def _string(kind: str, pitch: int, variant: int, rate_hz: int) -> Sound:
    how, rng = PLUCKED[kind], seeded(11, kind, pitch, variant)
    hz = frequency(pitch) * 2.0 ** (float(rng.normal(0.0, 2.0)) / 1200.0)
    sound = _wave(how, hz, rate_hz, rng)
    if how.course_cents:
        second = _wave(how, hz * 2.0 ** (how.course_cents / 1200.0), rate_hz, rng)
        late = round(0.0015 * rate_hz)
        sound[late:] += 0.8 * second[:-late]
    count = round(0.05 * rate_hz)
    nail = bandpass(noise(rng, count) * decay(count, rate_hz, 0.02), rate_hz, 300.0, how.finger_hz)
    sound[:count] += 0.04 * nail * np.max(np.abs(sound))
    slip = round(SLIP_S * rate_hz)
    sound[:slip] *= np.sin(0.5 * np.pi * np.arange(slip, dtype=np.float32) / slip) ** 2
    return cast(Sound, sound / np.max(np.abs(sound)))


def _wave(how: Plucked, hz: float, rate_hz: int, rng: np.random.Generator) -> Sound:
    """The string as a closed loop, summed over all its round trips in one go on the frequency axis."""
    from scipy.fft import irfft, next_fast_len

    count = next_fast_len(round(1.25 * how.sixty_db_s * rate_hz), real=True)
    f = np.arange(count // 2 + 1, dtype=np.float32) * np.float32(rate_hz / count)
    trips = f / np.float32(hz) / np.sqrt(1.0 + how.stiffness * (f / np.float32(hz)) ** 2)
    loss = np.exp(-6.9078 / (how.sixty_db_s * hz) * (1.0 + (f / how.dull_hz) ** 2)).astype(np.float32)
    loop = 1.0 - loss * np.exp(np.complex64(-2j * np.pi) * trips)
    at = how.pluck_at * float(rng.uniform(0.9, 1.1))
    comb = 1.0 - np.exp(np.complex64(-2j * np.pi * at) * trips)
    finger = 1.0 / (1.0 + (f / how.finger_hz) ** 2)
    low_cut = (f / hz) ** 2 / (0.2 + (f / hz) ** 2)
    return cast(
        Sound, irfft((comb * finger * low_cut / loop).astype(np.complex64), count)[: round(how.sixty_db_s * rate_hz)]
    )
