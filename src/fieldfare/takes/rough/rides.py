"""What is heard between the songs: talk and applause, turned down where they would be louder than is wanted."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.mix import Ride
from fieldfare.takes.loudness.gates import integrated_lufs, lufs, windows
from fieldfare.takes.rough.levels import BLOCK, GRAINS, HOP, TrackPower

UNDER_LU = 6.0  # the loudest talk between songs lies this far under the songs; PRACTICE, as all below
MOST_DB = 15.0
LEAST_DB = 1.0
LEFT_ALONE_S = 1.5  # after a song, its last sound and the first clap; before one, its count-in
SHORTEST_S = 4.0
SLOPE_S = 1.0
F64 = NDArray[np.float64]


def rides_of(
    power: TrackPower, gains_db: NDArray[np.float64], songs: Sequence[tuple[int, int]], frames: int
) -> tuple[Ride, ...]:
    """Turn down what lies between songs where its loudest three seconds would come near to the songs.

    Parameters
    ----------
    power
        Loudness of all tracks from moment to moment.
    gains_db
        Gain of every track in every song; -inf where it is left out. Shape (tracks, songs). [dB]
    songs
        First sample and sample after the last of every song.
    frames
        Length of the take.
    """
    rate = power.rate_hz
    aside = round(LEFT_ALONE_S * rate)
    ends, begins = [0, *(end for _, end in songs)], [*(start for start, _ in songs), frames]
    found = []
    for number, (after, before) in enumerate(zip(ends, begins, strict=True)):
        start = after + aside if number else 0
        end = before - aside if number < len(songs) else frames
        if end - start < SHORTEST_S * rate:
            continue
        beside = [place for place in (number - 1, number) if 0 <= place < len(songs)]
        loud = max(_loudness(power, gains_db[:, place], songs[place]) for place in beside)
        gap = max(_loudest(power, gains_db[:, place], (start, end)) for place in beside)
        down = min(MOST_DB, gap - (loud - UNDER_LU))
        if down >= LEAST_DB:
            found.append(Ride(start=start, end=end, gain_db=round(-down, 1), what="between songs"))
    return tuple(found)


def _mixed(power: TrackPower, gains_db: F64, span: tuple[int, int]) -> F64:
    """Power of the mix to expect from the tracks' own: sounds that are not alike add as powers."""
    gains = 10 ** (gains_db / 10)
    mixed: F64 = gains @ power.power[:, power.grains(*span)].astype(np.float64)
    return mixed


def _loudness(power: TrackPower, gains_db: F64, span: tuple[int, int]) -> float:
    return integrated_lufs(windows(_mixed(power, gains_db, span), BLOCK, HOP))


def _loudest(power: TrackPower, gains_db: F64, span: tuple[int, int]) -> float:
    return float(lufs(windows(_mixed(power, gains_db, span), 3 * GRAINS, HOP)).max(initial=-np.inf))


def ride_course(rides: Sequence[Ride], at: NDArray[np.float64], rate_hz: int) -> F64:
    """Gain of the rides at samples of the take, with slopes inside each stretch.

    Parameters
    ----------
    rides
        The stretches.
    at
        Samples on the take's axis.
    rate_hz
        Sample rate. [Hz]
    """
    course: F64 = np.zeros(len(at))
    for ride in rides:
        slope = max(1.0, min(SLOPE_S * rate_hz, (ride.end - ride.start) / 2))
        inside = np.clip(np.minimum(at - ride.start, ride.end - at) / slope, 0.0, 1.0)
        course += ride.gain_db * (0.5 - 0.5 * np.cos(np.pi * inside))
    return np.asarray(10 ** (course / 20))
