"""Spill against a room simulated by image sources: another road to direct sound and diffuse field.

The image method (J. Acoust. Soc. Am. 65, 943, 1979, named by the simulator) places an image behind every wall for every
reflection up to the order given, with the pattern of the microphone at each arrival. It shares no formula with ours: no
critical distance, no diffuse field.
"""

from __future__ import annotations

import math

import numpy as np
import pyroomacoustics as room_sim
import pytest
from numpy.typing import NDArray
from pyroomacoustics.directivities import CardioidFamily, DirectionVector

from fieldfare.physics.acoustics import SABINE_S_M
from fieldfare.physics.microphones import OMNI_SHARE
from fieldfare.plan.spill import NULL_FLOOR_DB, Air, hear, off_axis_rad, pattern_db
from fieldfare.plan.wanted import Sounding
from fieldfare.show.kit import Pattern
from fieldfare.show.record import Place3

RATE_HZ = 8000
ORDER = 45  # reflections that each image has behind it: what comes later is 60 dB down in these rooms
TURNED_DEG = 200.0  # the axis of every microphone, from x towards y
LEVEL_DB = 100.0
ROOMS = (((10.0, 8.0, 3.2), 0.6), ((16.0, 11.0, 5.0), 0.9), ((22.0, 11.0, 6.0), 1.4))  # size in metres, T in seconds
PATTERNS: tuple[Pattern, ...] = ("omni", "cardioid", "hypercardioid", "figure of eight")


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize(("size_m", "reverberation_s"), ROOMS)
def test_direct_sound_and_room_are_those_of_a_simulated_room(
    size_m: tuple[float, float, float], reverberation_s: float, pattern: Pattern
) -> None:
    length, width, _ = size_m
    source = (0.55 * length, 0.6 * width, 1.2)
    mics = (
        (source[0] + 0.5, source[1] + 0.2, 1.3),
        (0.75 * length, 0.4 * width, 1.5),
        (0.3 * length, 0.3 * width, 1.1),
    )
    direct = _responses(size_m, reverberation_s, source, mics, pattern, order=0)
    whole = _responses(size_m, reverberation_s, source, mics, pattern, order=ORDER)
    turned = math.radians(TURNED_DEG)
    aim = (math.cos(turned), math.sin(turned), 0.0)
    air = Air(temperature_c=20.0, volume_m3=math.prod(size_m), reverberation_s=reverberation_s)
    for at, alone, all_of_it in zip(mics, direct, whole, strict=True):
        heard = hear(Sounding("one", "", source, LEVEL_DB, 2.0), at, aim, pattern, air, frozenset({"one"}))
        if pattern_db(pattern, off_axis_rad(at, aim, source)) > NULL_FLOOR_DB + 6:  # near a null ours is a real mic's
            assert heard.direct_db == pytest.approx(_level_db(alone), abs=0.5)
        reflected = all_of_it.copy()
        reflected[: len(alone)] -= alone
        assert heard.diffuse_db == pytest.approx(_level_db(reflected), abs=2.0)


def _responses(
    size_m: tuple[float, float, float],
    reverberation_s: float,
    source: Place3,
    mics: tuple[Place3, ...],
    pattern: Pattern,
    order: int,
) -> list[NDArray[np.float64]]:
    length, width, height = size_m
    surface_m2 = 2 * (length * width + length * height + width * height)
    absorbed = SABINE_S_M * math.prod(size_m) / reverberation_s / surface_m2
    room = room_sim.ShoeBox(size_m, fs=RATE_HZ, materials=room_sim.Material(absorbed), max_order=order)
    room.add_source(source)
    axis = DirectionVector(azimuth=TURNED_DEG, colatitude=90, degrees=True)
    heads = [CardioidFamily(orientation=axis, p=OMNI_SHARE[pattern]) for _ in mics]
    room.add_microphone_array(room_sim.MicrophoneArray(np.array(mics).T, fs=RATE_HZ, directivity=heads))
    room.compute_rir()
    return [np.asarray(response[0]) for response in room.rir]


def _level_db(response: NDArray[np.float64]) -> float:
    """Level that a source of LEVEL_DB at 1 m has at the end of a response, which is 1 at 1 m."""
    return LEVEL_DB + 10 * math.log10(float((response**2).sum()))
