"""Drawing against delays: the temperature and the places that explain them best, moved as little as need be.

Least squares with what is usual taken as given: a mic stands within so many centimetres of where it was drawn, a source
too, and the room is about as warm as somebody said. Far misses count less than their square, so that one mic that was
moved does not drag all others along.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.show.record import Place3

MIC_M, SOURCE_M = 0.12, 0.12  # usual spread of a place along each axis; PRACTICE
READ_M = 0.03  # of a delay that is read well
USUAL_C, USUAL_SPREAD_C = 20.0, 6.0
SAID_SPREAD_C = 4.0
LEAST_PAIRS = 6
F64 = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Way:
    """One measured way: tracks and source by name, and what was measured."""

    source: str
    near: str  # the mic close to it; blank where that is a DI
    far: str
    late_s: float
    spread_s: float


@dataclass(frozen=True)
class Fit:
    """What explains the delays best."""

    temperature_c: float
    temperature_spread_c: float
    moved: dict[str, tuple[float, float, float]]  # [m]
    spread: dict[str, float]  # of each mic's place along the way it was moved [m]
    rest_m: float
    ways: int


def fit(
    ways: Sequence[Way], mics: Mapping[str, Place3], sources: Mapping[str, Place3], said_c: float | None
) -> Fit | None:
    """Fit temperature and places.

    Parameters
    ----------
    ways
        What was measured.
    mics, sources
        Where they were drawn. [m]
    said_c
        Temperature of the room, where somebody said. [°C]

    Returns
    -------
    The fit; none with too few ways.
    """
    from scipy.optimize import least_squares

    if len(ways) < LEAST_PAIRS:
        return None
    heard = [name for name in mics if any(name in (way.near, way.far) for way in ways)]
    sounding = [name for name in sources if any(name == way.source for way in ways)]
    drawn = np.array([*(mics[name] for name in heard), *(sources[name] for name in sounding)], np.float64)
    spread = np.array([MIC_M] * len(heard) + [SOURCE_M] * len(sounding))[:, np.newaxis]
    place = {name: number for number, name in enumerate(heard)}
    of_source = {name: len(heard) + number for number, name in enumerate(sounding)}
    rows = np.array([(of_source[way.source], place[way.far], place.get(way.near, -1)) for way in ways])
    late_s, wide_s = np.array([way.late_s for way in ways]), np.array([way.spread_s for way in ways])
    begin_c, about_c = (USUAL_C, USUAL_SPREAD_C) if said_c is None else (said_c, SAID_SPREAD_C)
    speed = float(speed_of_sound(begin_c))

    def misses(values: F64) -> F64:
        now = drawn + values[1:].reshape(drawn.shape) * spread
        far = np.linalg.norm(now[rows[:, 0]] - now[rows[:, 1]], axis=1)
        near = np.where(rows[:, 2] >= 0, np.linalg.norm(now[rows[:, 0]] - now[rows[:, 2]], axis=1), 0.0)
        warm = float(speed_of_sound(float(np.clip(begin_c + values[0] * about_c, -40, 55))))
        late = (far - near - late_s * warm) / np.hypot(READ_M, wide_s * speed)
        return np.concatenate([late, values])

    done = least_squares(misses, np.zeros(1 + drawn.size), loss="soft_l1")
    slopes: F64 = np.asarray(done.jac, np.float64)
    spreads = np.sqrt(np.maximum(np.diag(np.linalg.inv(slopes.T @ slopes)), 0.0))
    moved = done.x[1:].reshape(drawn.shape) * spread
    wide = spreads[1:].reshape(drawn.shape) * spread
    rest = misses(done.x)[: len(ways)] * np.hypot(READ_M, wide_s * speed)
    return Fit(
        temperature_c=begin_c + float(done.x[0]) * about_c,
        temperature_spread_c=float(spreads[0]) * about_c,
        moved={name: (float(x), float(y), float(z)) for name, (x, y, z) in zip(heard, moved, strict=False)},
        spread={name: float(np.linalg.norm(wide[place[name]] * _towards(moved[place[name]]))) for name in heard},
        rest_m=float(np.sqrt(np.mean(rest**2))),
        ways=len(ways),
    )


def _towards(by: F64) -> F64:
    length = float(np.linalg.norm(by))
    return by / length if length > 0 else np.full(3, 3**-0.5)
