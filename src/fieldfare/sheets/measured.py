"""What was measured of a track's time and polarity against its partner, in words for whoever mixes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldfare.show.alignment import OWN_SOURCE, Alignment, PairDelay, Shift, TakeAlignment
from fieldfare.units.text import figure

TOLD = 0.5  # sure of it: less is not told
TOGETHER = 0.25  # samples: less is heard as at one time


@dataclass(frozen=True, slots=True)
class MeasuredLine:
    """One delay, and whether a shift is marked for it; the take where there are several."""

    take: str
    says: str
    shift: str


def measured_lines(measured: Alignment, label: str) -> Iterator[MeasuredLine]:
    """Tell of a track when it hears what its partner hears, which way up, and what is offered.

    Parameters
    ----------
    measured
        What was measured of all takes.
    label
        Of the track.
    """
    for take in measured.take:
        name = take.take if len(measured.take) > 1 else ""
        offered = [one for one in take.shift if one.track == label]
        own = [pair for pair in take.pair if _is_own(pair, label)]
        for pair in own:
            partner = pair.b if pair.a == label else pair.a
            shift = next((one for one in offered if one.against == partner), None)
            yield MeasuredLine(name, _pair_words(pair, label, take.rate_hz), _shift_words(shift))
        told = {name for pair in own for name in (pair.a, pair.b)}
        for one in offered:
            if one.against not in told:
                yield MeasuredLine(name, _offer_words(one, take), _shift_words(one))


def _is_own(pair: PairDelay, label: str) -> bool:
    return pair.kind in OWN_SOURCE and label in (pair.a, pair.b) and pair.confidence >= TOLD


def _pair_words(pair: PairDelay, label: str, rate_hz: int) -> str:
    partner, later = (pair.a, pair.delay) if pair.b == label else (pair.b, -pair.delay)
    way = "the same way up" if pair.polarity > 0 else "upside down"
    return f"{_when(later, partner, rate_hz)}, {way}, {_sure(pair.confidence)}"


def _offer_words(shift: Shift, take: TakeAlignment) -> str:
    """Say what a shift rests on: it puts the track where its partner hears the same."""
    sure = _sure(shift.confidence)
    if not shift.against:
        return f"upside down against most that hear it, {sure}"
    way = ", upside down" if shift.flip else ""
    return f"{_when(-shift.samples, shift.against, take.rate_hz)}{way}, {sure}"


def _sure(confidence: float) -> str:
    return f"{min(99, round(100 * confidence))} % sure"


def _when(later: float, partner: str, rate_hz: int) -> str:
    if abs(later) < TOGETHER:
        return f"in time with {partner}"
    count = figure(abs(later), 0 if float(later).is_integer() else 2)
    return (
        f"{count} samples ({figure(abs(later) * 1000 / rate_hz, 2)} ms) {'after' if later > 0 else 'before'} {partner}"
    )


def _shift_words(shift: Shift | None) -> str:
    if shift is None:
        return ""
    return "shift marked, not applied" if shift.apply else "shift offered, not marked"
