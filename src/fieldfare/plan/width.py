"""How wide an ensemble is, as a stereo pair before it sees it, against the angle that the pair takes in.

A pair is before an ensemble if it hears the room, and all that sounds with it lies in front of it. Conventions: seen
from the pair, an angle is positive to its left; the pair moves along its axis.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import takewhile

import numpy as np

from fieldfare.physics.microphones import OMNI_SHARE
from fieldfare.physics.stereo import SIDE_DB, SIDE_MS, recording_angle_deg
from fieldfare.plan.acts import apart
from fieldfare.plan.spill import Air
from fieldfare.plan.wanted import Sounding, Wanted
from fieldfare.show.kit import Pattern
from fieldfare.show.plan import Aiming
from fieldfare.units.text import figure, listed, metres
from fieldfare.units.working import Given, Working

NARROW = 0.6  # of the angle: less leaves the sides of the picture empty; common practice, no source
FILLED = 0.8  # of the angle, where a pair that stands closer is to stand
LEAST = 2  # sources that make an ensemble
FRONT_DEG = 80.0  # to either side of its axis; what lies farther round is not before it
OFF_DEG = 8.0  # off the middle that is worth a turn; common practice, no source
NEAREST_M = 1.0  # no pair stands nearer to anybody
_STEPS = tuple(step / 10 for step in range(1, 41))  # metres that a pair may move: not far off the place it has


@dataclass(frozen=True, slots=True)
class _View:
    """A pair's middle and its axis on the floor, and what sounds before it."""

    x: float
    y: float
    along_rad: float
    sounds: tuple[Sounding, ...]

    def angles_deg(self, back_m: float = 0.0) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        """Angle of every sound from the axis, of the pair moved back by so much."""
        x, y = self.x - back_m * math.cos(self.along_rad), self.y - back_m * math.sin(self.along_rad)
        turns = [math.atan2(one.at[1] - y, one.at[0] - x) - self.along_rad for one in self.sounds]
        return np.degrees((np.array(turns) + math.pi) % (2 * math.pi) - math.pi)

    def wide_deg(self, back_m: float = 0.0) -> float:
        """Angle from the one end to the other."""
        return float(np.ptp(self.angles_deg(back_m)))

    def nearest_m(self, back_m: float) -> float:
        """Way to the nearest sound along the axis, of the pair moved back by so much."""
        across, up = math.cos(self.along_rad), math.sin(self.along_rad)
        return back_m + min((one.at[0] - self.x) * across + (one.at[1] - self.y) * up for one in self.sounds)


def widths(microphones: Iterable[tuple[Wanted, Pattern]], sounding: Iterable[Sounding], air: Air) -> dict[str, Aiming]:
    """Tell of every pair before an ensemble how wide that is, and how the pair would take it in, by id of its row.

    Parameters
    ----------
    microphones
        What each was wanted for, and its pattern.
    sounding, air
        Everything that sounds, and the air between.
    """
    known = {wanted.id: (wanted, pattern) for wanted, pattern in microphones if wanted.pair and wanted.room_spl}
    sounding = tuple(sounding)
    found: dict[str, Aiming] = {}
    for left, pattern in known.values():
        right, _ = known.get(left.pair, (None, pattern))
        if right is None or left.id in found or right.id in found:
            continue
        view = _view(left, right, sounding)
        covers = _covers(left, right, pattern, air)
        if view and covers and covers.value:
            advice = Aiming(covers=covers, says=tuple(_says(view, covers.value)))
            found |= {left.id: advice, right.id: advice}
    return found


def _view(left: Wanted, right: Wanted, sounding: tuple[Sounding, ...]) -> _View | None:
    """What a pair has before it; none where that is no ensemble, or part of it lies beside the pair or behind."""
    along_rad = math.atan2(left.aim[1] + right.aim[1], left.aim[0] + right.aim[0])
    x, y = (left.at[0] + right.at[0]) / 2, (left.at[1] + right.at[1]) / 2
    sounds = tuple(one for one in sounding if not one.alone and not apart(one.sets, left.sets))
    view = _View(x, y, along_rad, sounds)
    if len({one.source for one in sounds}) < LEAST or np.abs(view.angles_deg()).max() > FRONT_DEG:
        return None
    return view


def _covers(left: Wanted, right: Wanted, pattern: Pattern, air: Air) -> Working | None:
    """The angle that a pair takes in; none where it has no sides."""
    spacing_m = math.dist(left.at[:2], right.at[:2])
    turn = math.atan2(left.aim[1], left.aim[0]) - math.atan2(right.aim[1], right.aim[0])
    between_deg = abs(math.degrees((turn + math.pi) % (2 * math.pi) - math.pi))
    angle = recording_angle_deg(OMNI_SHARE[pattern], between_deg, spacing_m, air.temperature_c)
    if angle is None:
        return None
    return Working(
        value=round(angle),
        unit="°",
        formula="twice the angle at which level difference / 15 dB + time difference / 1.12 ms = 1",
        given=(
            Given(name="pattern", value=pattern),
            Given(name="between the axes", value=round(between_deg), unit="°"),
            Given(name="spacing", value=round(spacing_m, 2), unit="m"),
            Given(name="alone heard to one side", value=SIDE_DB, unit="dB"),
            Given(name="alone heard to one side", value=SIDE_MS, unit="ms"),
        ),
        source="StereoPreprint",
        sure="estimate",
        plus_minus=round(angle / 8),
    )


def _says(view: _View, covers_deg: float) -> Iterable[str]:
    """How wide the ensemble is from there, and how the pair would take it in better."""
    angles, wide_deg = view.angles_deg(), view.wide_deg()
    middle_deg = float(angles.max() + angles.min()) / 2
    if abs(middle_deg) > OFF_DEG:
        side = "left" if middle_deg > 0 else "right"
        yield f"Turn both {figure(abs(middle_deg))}° to the {side}, as they look: the middle of what sounds lies there."
    spans = f"What sounds spans {figure(wide_deg)}° from there; the pair takes in about {figure(covers_deg)}°"
    if wide_deg > covers_deg:
        ends = listed(sorted({view.sounds[int(end)].source for end in (angles.argmin(), angles.argmax())}))
        back_m = next((back_m for back_m in _STEPS if view.wide_deg(back_m) <= covers_deg), None)
        cure = f"{metres(back_m)} farther back takes all in, with more of the room" if back_m else "Spots would help"
        yield f"{spans}: {ends} would be heard from one loudspeaker alone. {cure}."
    elif wide_deg < NARROW * covers_deg and (closer := _closer(view, FILLED * covers_deg)):
        gained = f"{metres(closer)} closer it spans {figure(view.wide_deg(-closer))}°"
        yield f"{spans}: the sides stay empty. {gained}, with less of the room."
    else:
        yield f"{spans}."


def _closer(view: _View, most_deg: float) -> float:
    """How far a pair goes closer until an ensemble is as wide as that or somebody is too near; 0: not at all."""
    steps = takewhile(lambda m: view.nearest_m(-m) >= NEAREST_M and view.wide_deg(-m) <= most_deg, _STEPS)
    return max(steps, default=0.0)
