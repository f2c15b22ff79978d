"""Cautions: sentences that the sheets print as they stand. Facts and advice, never permission.

The first of each subject defers to the rules of the country and to licensed people: a sheet that prints any of a
subject prints that one too. That mains cables and audio lines should cross at right angles is not
here: it is advice that good engineers dispute for balanced lines.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from fieldfare.units.sources import PRACTICE

Subject = Literal["mains", "lifting", "hearing"]


@dataclass(frozen=True, slots=True)
class Caution:
    """One sentence to print, with its source: a key of the bibliography, or common practice."""

    id: str
    subject: Subject
    text: str
    source: str


_ALL = (
    Caution(
        "MS0",
        "mains",
        "Local electrical rules come first; fixed wiring, tests and repairs are for a licensed electrician.",
        PRACTICE,
    ),
    Caution(
        "MS1",
        "mains",
        "A residual current device that protects people trips at 30 mA or less: press its test button before use. "
        "If it trips, there is a fault: find it, do not get round the device.",
        "HSERCD",
    ),
    Caution(
        "MS4",
        "mains",
        "Do not take other people's equipment or the venue's sockets to be safe; holding a microphone or an instrument "
        "makes a shock worse.",
        "HSEElectrical",
    ),
    Caution(
        "MS5",
        "mains",
        "Unwind a reel fully before loading it: wound up, it carries a fraction of its rating and can catch fire. "
        "Both ratings stand on it.",
        "ReelAdvice",
    ),
    Caution(
        "MS6",
        "mains",
        "Never remove or lift a protective earth to cure hum: part the audio instead, with an isolated split or DI.",
        PRACTICE,
    ),
    Caution(
        "MS7",
        "mains",
        "Never run a combustion generator indoors, in a vehicle or near an opening: its fumes kill unnoticed.",
        PRACTICE,
    ),
    Caution(
        "MH0",
        "lifting",
        "Local rules on manual handling come first; the weights here are guides, not limits.",
        "HSEFilters",
    ),
    Caution(
        "MH2",
        "lifting",
        "The weights hold for an occasional lift with a good grip on a firm floor, without twisting: "
        "often, twisted, low or at arm's length they are less.",
        "HSEHandling",
    ),
    Caution("MH3", "lifting", "Carry no farther than about 10 m without a rest; use a trolley.", "HSEHandling"),
    Caution(
        "MH4",
        "lifting",
        "Weigh a bin once it is packed and write it on the bin; when in doubt, two people or two bins.",
        PRACTICE,
    ),
    Caution(
        "NH0",
        "hearing",
        "Local rules on noise at work come first; a figure below a limit does not make a level safe.",
        PRACTICE,
    ),
    Caution(
        "NH1",
        "hearing",
        "At 100 dB(A) a quarter of an hour makes a full day's dose by NIOSH: wear ear plugs near the stage and the PA.",
        "NIOSH98-126",
    ),
    Caution(
        "NH2",
        "hearing",
        "Headphones that must be louder than the stage do harm: check what you record away from it, or by its meters.",
        PRACTICE,
    ),
)

CAUTIONS: Mapping[str, Caution] = MappingProxyType({caution.id: caution for caution in _ALL})
