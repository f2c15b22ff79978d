"""Wanted inputs, sounds and rooms for the tests, with what matters to a test said and the rest ordinary."""

from __future__ import annotations

from dataclasses import replace

from fieldfare.plan.spill import Air
from fieldfare.plan.wanted import Accept, Sounding, Wanted
from fieldfare.show.record import Place3
from fieldfare.show.show import Source

SHED = Air(temperature_c=20.0, volume_m3=22 * 11 * 6, reverberation_s=1.4)
OPEN_AIR = replace(SHED, reverberation_s=None)
FIDDLE = Wanted(
    id="fiddle",
    label="Fiddle",
    source=Source(name="Fiddle", recipe="fiddle", at=(0.0, 1.0)),
    part="fiddle",
    importance="must",
    order=1,
    at=(0.0, 1.0, 1.4),
    aim=(0.0, 1.0, 0.0),
    sound_at=(0.0, 1.3, 1.4),
    distance_m=0.3,
    spl_db=(96.0, 104.0),
    accept=(Accept(taking="mic", kinds=("small dynamic", "small condenser"), score=90, why="it suits"),),
    stands=("tall boom",),
    height_m=1.4,
)


def sounding(source: str, at: Place3, level_db: float = 100.0, part: str = "", never_with: str = "") -> Sounding:
    """Make something that sounds alike in all directions."""
    return Sounding(source, part, at, level_db, 3.0, never_with=never_with)
