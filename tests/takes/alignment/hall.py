"""A stage made here: sources and mics at known places, every path a delay and a gain by the law of distance."""

from __future__ import annotations

from math import dist
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.show.drawn import DrawnInput, Role
from fieldfare.show.plan import Taking
from fieldfare.show.record import Place3
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.wave import write_whole

RATE_HZ = 48_000
SECONDS = 30
WARM_C = 20.0
SOURCES: dict[str, Place3] = {
    "Voice": (0.0, 0.5, 1.6),
    "Trumpet": (2.4, 1.2, 1.4),
    "Fiddle": (-2.2, 1.0, 1.3),
    "Drum": (0.3, 3.4, 0.8),
}
MICS: dict[str, tuple[str, Place3, Role, Taking]] = {  # by label: source, place, role, how
    "Voice": ("Voice", (0.0, 0.4, 1.6), "voice", "mic"),
    "Trumpet": ("Trumpet", (2.4, 0.9, 1.4), "close", "mic"),
    "Fiddle mic": ("Fiddle", (-2.2, 0.8, 1.5), "close", "mic"),
    "Fiddle DI": ("Fiddle", (-2.2, 1.0, 0.0), "close", "di"),
    "Drum": ("Drum", (0.3, 3.2, 0.9), "close", "mic"),
    "Overhead": ("Drum", (0.8, 3.4, 2.2), "overhead", "mic"),
    "Room": ("Room", (-1.5, -5.0, 2.5), "room", "mic"),
}
Sound = NDArray[np.float64]


def rows() -> tuple[DrawnInput, ...]:
    """What was drawn."""
    return tuple(
        DrawnInput(
            id=label.casefold().replace(" ", "-"), label=label, number=number, channel=number, source=source, role=role,
            taking=taking, at=at, sound_at=(SOURCES[source],) if source in SOURCES else (),
        )
        for number, (label, (source, at, role, taking)) in enumerate(MICS.items(), 1)
    )  # fmt: skip


def true_delay(a: str, b: str, moved: dict[str, Place3] | None = None) -> float:
    """By how many samples b hears the source of a later than a does."""
    source = SOURCES[MICS[a][0]]
    return _way(b, source, moved or {}) - _way(a, source, moved or {})


def _way(label: str, there: Place3, moved: dict[str, Place3]) -> float:
    if MICS[label][3] == "di":
        return 0.0
    return dist(there, moved.get(label, MICS[label][1])) / float(speed_of_sound(WARM_C)) * RATE_HZ


def dry(seed: int = 1) -> dict[str, Sound]:
    """Noise of another colour for each source, in turns of a second or two, with all silent in between at times."""
    rng = np.random.default_rng(seed)
    sounds = {}
    for number, name in enumerate(SOURCES):
        lines = np.fft.rfft(rng.standard_normal(SECONDS * RATE_HZ))
        hz = np.fft.rfftfreq(SECONDS * RATE_HZ, 1 / RATE_HZ)
        lines *= 1 / np.sqrt(1 + (hz / (700 * (number + 1))) ** 2)
        turns = np.repeat(rng.choice([1.0, 0.5, 0.0], SECONDS, p=[0.4, 0.2, 0.4]), RATE_HZ)
        sounds[name] = np.fft.irfft(lines) * turns
        sounds[name] *= 0.05 / np.sqrt(np.mean(sounds[name] ** 2))
    return sounds


def record(
    folder: Path,
    *,
    turned: tuple[str, ...] = (),
    moved: dict[str, Place3] | None = None,
    named: dict[str, str] | None = None,
) -> None:
    """Record the stage, a file a track; `turned` tracks upside down, `named` ones under another label."""
    rng = np.random.default_rng(9)
    spectra = {name: np.fft.rfft(sound) for name, sound in dry().items()}
    turn = 2j * np.pi * np.fft.rfftfreq(SECONDS * RATE_HZ)
    folder.mkdir(parents=True)
    numbers = {label: number for number, label in enumerate(MICS, 1)}
    for label, (own, at, _, taking) in MICS.items():
        heard = np.zeros(SECONDS * RATE_HZ // 2 + 1, np.complex128)
        for name, there in SOURCES.items():
            if taking == "di":
                gain = 0.5 * (name == own)
            else:
                metres = max(0.2, dist(there, (moved or {}).get(label, at)))
                gain = 0.2 / metres
            heard += gain * spectra[name] * np.exp(-turn * _way(label, there, moved or {}))
        sound = np.fft.irfft(heard) + rng.normal(0, 1e-4, SECONDS * RATE_HZ)
        sign = -1 if label in turned else 1
        called = (named or {}).get(label, label)
        whole = np.rint(np.clip(sign * sound, -1, 1) * ((1 << 23) - 1)).astype(np.int32)
        write_whole(folder / f"{numbers[called]:02d}_{called.replace(' ', '_')}.wav", RATE_HZ, 24, whole)


def axis_of_hall(folder: Path, *, drawn: bool = True) -> Axis:
    """Put what was recorded on its axis."""
    (axis,) = find_axes(folder, rows() if drawn else ())
    return axis
