"""Sounds that are held: bowed strings, free reeds, clarinet, saxophone, trumpet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.render.score import Note
from fieldfare.takes.render.sound import (
    Bell,
    Sound,
    bells,
    frequency,
    noise,
    place,
    swell,
    turn,
    wave_table,
)

Lines = NDArray[np.float64]


class Held(NamedTuple):
    """How a held sound begins, moves and ends, and which body it has."""

    dark: Callable[[Lines, float], Lines]  # harmonics when soft
    bright: Callable[[Lines, float], Lines]  # harmonics when loud
    attack_s: float
    release_s: float
    vibrato_hz: float
    vibrato_cents: float
    scoop_cents: float  # how far under its pitch a note begins
    air: float  # noise of bow or breath, re the tone
    ranks_cents: tuple[float, ...]  # one reed or string, or several beside each other
    body: tuple[Bell, ...]


def _bow(n: Lines, hz: float) -> Lines:
    del hz
    return n**-1.0


def _soft_bow(n: Lines, hz: float) -> Lines:
    del hz
    return n**-1.5


def _reed(n: Lines, hz: float) -> Lines:
    return n**-0.55 / (1.0 + (n * hz / 5200.0) ** 2)


def _soft_reed(n: Lines, hz: float) -> Lines:
    return n**-0.9 / (1.0 + (n * hz / 2600.0) ** 2)


def _cylinder(n: Lines, hz: float) -> Lines:
    """A closed cylinder: even harmonics are weak under its cut-off frequency and come up above it."""
    even = np.where(n % 2 == 0, np.clip((n * hz / 2400.0) ** 2, 0.03, 0.6), 1.0)
    return even * n**-0.9 / (1.0 + (n * hz / 3400.0) ** 4) ** 0.5


def _soft_cylinder(n: Lines, hz: float) -> Lines:
    return _cylinder(n, hz) * n**-0.7


def _cone(n: Lines, hz: float) -> Lines:
    hump = 1.0 + 1.6 * np.exp(-(((n * hz - 950.0) / 480.0) ** 2))
    return hump * n**-0.8 / (1.0 + (n * hz / 4200.0) ** 2)


def _soft_cone(n: Lines, hz: float) -> Lines:
    return _cone(n, hz) * n**-0.6


def _bell(n: Lines, hz: float) -> Lines:
    """Brass: the bell lets the middle and top out; what is loud is bright."""
    return (n * hz / 1300.0) / (1.0 + (n * hz / 1300.0) ** 2) * np.exp(-n * hz / 5200.0)


def _soft_bell(n: Lines, hz: float) -> Lines:
    return _bell(n, hz) * np.exp(-n / 3.0)


HELD: dict[str, Held] = {
    "fiddle": Held(
        _soft_bow, _bow, 0.045, 0.06, 5.6, 14.0, 20.0, 0.05, (0.0,),
        (Bell(275, 5, 5), Bell(460, 6, 6), Bell(700, -4, 2), Bell(1100, 3, 3), Bell(2500, 6, 1.5), Bell(7000, -6, 1)),
    ),
    "accordion, right": Held(
        _soft_reed, _reed, 0.022, 0.03, 0.0, 0.0, 0.0, 0.006, (0.0, 11.0), (Bell(900, 3, 1), Bell(2800, 4, 1.5)),
    ),
    "accordion, left": Held(
        _soft_reed, _reed, 0.02, 0.03, 0.0, 0.0, 0.0, 0.004, (0.0, 4.0), (Bell(220, 4, 2), Bell(1600, -3, 1)),
    ),
    "reeds": Held(
        _soft_reed, _reed, 0.12, 0.12, 0.0, 0.0, 0.0, 0.012, (0.0, 5.0), (Bell(350, 4, 1.5), Bell(3000, -4, 1)),
    ),
    "clarinet": Held(
        _soft_cylinder, _cylinder, 0.035, 0.05, 5.0, 4.0, 15.0, 0.012, (0.0,), (Bell(1500, 3, 1.5), Bell(3200, 2, 2)),
    ),
    "saxophone": Held(
        _soft_cone, _cone, 0.04, 0.06, 5.2, 18.0, 45.0, 0.03, (0.0,), (Bell(600, 3, 2), Bell(1400, 3, 2)),
    ),
    "trumpet": Held(
        _soft_bell, _bell, 0.028, 0.05, 5.4, 12.0, 30.0, 0.01, (0.0,), (Bell(1200, 3, 1), Bell(2300, 3, 2)),
    ),
}  # fmt: skip


def held(kind: str, notes: Sequence[Note], samples: int, rate_hz: int, rng: np.random.Generator) -> Sound:
    """Render held notes.

    Parameters
    ----------
    kind
        A key of `HELD`.
    notes
        The notes; several may sound at once.
    samples
        Length of the result.
    rate_hz
        Sample rate. [Hz]
    rng
        Chance for detuning, vibrato and air.
    """
    how, out = HELD[kind], np.zeros(samples, dtype=np.float32)
    for note in notes:
        place(out, _tone(how, note, rate_hz, rng), round(note.at_s * rate_hz), note.velocity)
    return bells(out, rate_hz, how.body)


def _tone(how: Held, note: Note, rate_hz: int, rng: np.random.Generator) -> Sound:
    count = max(64, round((note.length_s + how.release_s) * rate_hz))
    shape = swell(count, rate_hz, how.attack_s * float(rng.uniform(0.8, 1.3)), how.release_s)
    time = np.arange(count, dtype=np.float32) / np.float32(rate_hz)
    lean = 1.0 - 0.25 * np.minimum(time / max(0.2, note.length_s), 1.0)  # most notes are leant on, then eased
    cents = _pitch_curve(how, time, rng)
    sound = np.zeros(count, dtype=np.float32)
    dark = wave_table(how.dark, round(note.pitch), rate_hz)
    bright = wave_table(how.bright, round(note.pitch), rate_hz)
    blend = np.clip(shape * lean * np.float32(note.velocity), 0.0, 1.0)
    for rank in how.ranks_cents:
        base = frequency(note.pitch) * 2.0 ** ((rank + float(rng.normal(0.0, 1.5))) / 1200.0)
        hz = base * (1.0 + np.float32(np.log(2.0) / 1200.0) * cents)
        start = float(rng.random())
        soft, loud = turn(dark, hz, rate_hz, start), turn(bright, hz, rate_hz, start)
        sound += soft + blend * (loud - soft)
    hiss = np.float32(how.air) * noise(rng, count)
    tone: Sound = ((sound + hiss) * shape * lean).astype(np.float32)
    return tone


def _pitch_curve(how: Held, time: Sound, rng: np.random.Generator) -> Sound:
    """Scoop into the note, then vibrato that comes in late and is never quite even. [cents]"""
    curve: Sound = -np.float32(how.scoop_cents) * np.exp(time * np.float32(-1.0 / 0.03))
    if how.vibrato_cents:
        speed = how.vibrato_hz * float(rng.uniform(0.92, 1.08))
        depth = how.vibrato_cents * np.clip((time - 0.15) / 0.25, 0.0, 1.0)
        curve = curve + depth * np.sin(np.float32(2 * np.pi * speed) * time + np.float32(rng.uniform(0, 6.28)))
    return np.asarray(curve, np.float32)
