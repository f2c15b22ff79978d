"""The tape strip: one input as number, label and a mark for its cable's length."""

from __future__ import annotations

from dataclasses import dataclass

from fieldfare.sheets.colours import bands
from fieldfare.sheets.wording import Units, length, run_words
from fieldfare.show.plan import CableUse, LeftOut, PlannedInput


@dataclass(frozen=True, slots=True)
class Strip:
    """What stands on one piece of tape."""

    number: str
    label: str
    bands: tuple[str, ...] = ()
    length: str = ""  # of all its leads together, for the small mark
    run: str = ""  # colour and length in words
    left_out: bool = False


def strip_of(row: PlannedInput, units: Units = "m") -> Strip:
    """Return the strip of a planned input."""
    return Strip(
        number=str(row.number),
        label=row.label,
        bands=run_bands(row.cable),
        length=length(sum(cable.length_m for cable in row.cable), units) if row.cable else "",
        run=run_words(row.cable, units),
    )


def left_out_strip(row: LeftOut) -> Strip:
    """Return the dashed strip of an input that is not recorded."""
    return Strip(number="–", label=row.label, left_out=True)


def run_bands(cables: tuple[CableUse, ...]) -> tuple[str, ...]:
    """Return the shades of all leads of a run, in the order the signal passes."""
    return tuple(shade for cable in cables for shade in bands(cable.colour))
