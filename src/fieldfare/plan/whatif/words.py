"""What changes between two rows of one input, in words that a person can follow on a dark stage."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.show.plan import CableUse, PlannedInput, UnitUse
from fieldfare.show.whatif import Move
from fieldfare.units.text import figure, listed, metres

GAIN_DB = 3.0  # a smaller change of gain is not worth a word: what was set by ear stays


def move(before: PlannedInput | None, after: PlannedInput, recorder: str) -> Move | None:
    """Say what is done for one input; none where nothing is.

    Parameters
    ----------
    before
        The row as it stands; none for an input that had no row.
    after
        The row as it becomes.
    recorder
        Tag of the recorder.
    """
    if before is None:
        return Move(input=after.id, label=after.label, says=f"new: {_whole(after)}")
    said = [*_taken(before, after), *_held(before, after), *_plugged(before, after, recorder)]
    if not said:
        return None
    return Move(input=after.id, label=after.label, says="; ".join([*said, *_same(before, after)]))


def _whole(row: PlannedInput) -> str:
    stand = f" on {row.stand.tag}" if row.stand else ""
    line = f", line {row.trunk_line}" if row.trunk_line else ""
    cable = f", cable {_laid(row.cable)}" if row.cable else ""
    return f"{_source(row)}{stand}{cable}, {row.box} socket {row.socket}{line}, channel {row.channel}"


def _source(row: PlannedInput, than: UnitUse | None = None) -> str:
    """Name the mic, DI or split; its item only where that differs from what was there."""
    if row.unit:
        return row.unit.tag if than and than.item == row.unit.item else f"{row.unit.tag} ({row.unit.item})"
    if row.splitter:
        return f"a split through {row.splitter.tag}"
    return f"the split that {row.house_split} itself gives" if row.house_split else "its line output"


def _taken(before: PlannedInput, after: PlannedInput) -> Iterator[str]:
    now = (after.unit and after.unit.tag, after.splitter and after.splitter.tag, after.house_split, after.taking)
    was = (before.unit and before.unit.tag, before.splitter and before.splitter.tag, before.house_split, before.taking)
    if now != was:
        old = before.unit.tag if before.unit else before.splitter.tag if before.splitter else before.house_split
        yield f"take {_source(after, before.unit)}{f' instead of {old}' if old else ''}"
    if after.di_channel and before.di_channel and after.di_channel != before.di_channel:
        yield f"its channel {after.di_channel}"


def _held(before: PlannedInput, after: PlannedInput) -> Iterator[str]:
    if after.stand and after.stand != before.stand:
        kind = "" if before.stand and before.stand.item == after.stand.item else f" ({after.stand.item})"
        yield f"put it on {after.stand.tag}{kind}{f' instead of {before.stand.tag}' if before.stand else ''}"
    if _fresh(before.lead, after.lead):
        yield f"take lead {_laid(after.lead)}{_instead(before.lead, after.lead)}"
    if _fresh(before.cable, after.cable):
        yield f"lay {_laid(after.cable)}{_instead(before.cable, after.cable)}"
    elif len(after.cable) < len(before.cable):
        yield f"only {_laid(after.cable)} is left of its cables"


def _fresh(before: tuple[CableUse, ...], after: tuple[CableUse, ...]) -> bool:
    return bool({cable.tag for cable in after} - {cable.tag for cable in before})


def _laid(cables: tuple[CableUse, ...]) -> str:
    """Name cables with length and colour.

    >>> _laid((CableUse(tag="C-07", item="x", length_m=3, colour="white"), CableUse(tag="C-08", item="x", length_m=5)))
    'C-07 (3 m white) + C-08 (5 m)'
    """
    return " + ".join(f"{one.tag} ({' '.join(filter(None, (metres(one.length_m), one.colour)))})" for one in cables)


def _instead(before: tuple[CableUse, ...], after: tuple[CableUse, ...]) -> str:
    gone = [one.tag for one in before if one.tag not in {cable.tag for cable in after}]
    return f" instead of {listed(gone)}" if gone else " as well"


def _plugged(before: PlannedInput, after: PlannedInput, recorder: str) -> Iterator[str]:
    yield from _ended(before, after, recorder)
    if after.channel != before.channel and after.box == before.box:
        yield f"into channel {after.channel} instead of {before.channel}"
    elif after.channel != before.channel:
        yield f"channel {after.channel} instead of {before.channel}"
    if after.preamp != recorder and (after.preamp, after.preamp_channel) != (before.preamp, before.preamp_channel):
        yield f"through {after.preamp} channel {after.preamp_channel}"
    if after.phantom != before.phantom:
        yield f"phantom {'on' if after.phantom else 'off'}"
    was, now = before.gain.value, after.gain.value
    if was is not None and now is not None and abs(now - was) >= GAIN_DB:
        yield f"gain about {figure(now, sign=True)} dB"


def _ended(before: PlannedInput, after: PlannedInput, recorder: str) -> Iterator[str]:
    """Say where it is plugged in, and which line of the trunk that is."""
    into = (after.box, after.socket) != (before.box, before.socket)
    line = after.trunk_line != before.trunk_line
    still = f", still channel {after.channel}" if line and after.channel == before.channel else ""
    if after.box == recorder:
        if before.box != recorder:
            yield f"straight into {recorder}{still}"
        return
    if into:
        told = still if after.trunk_line == after.socket or not line else ""
        yield f"into {after.box} socket {after.socket} instead of {before.box} {before.socket}{told}"
    if line and after.trunk_line and not (into and after.trunk_line == after.socket):
        yield f"onto line {after.trunk_line} instead of {before.trunk_line or 'none'}{still}"


def _same(before: PlannedInput, after: PlannedInput) -> Iterator[str]:
    """What need not be touched, where the mic or DI is another."""
    if (after.unit, after.splitter, after.house_split) == (before.unit, before.splitter, before.house_split):
        return
    if after.stand and after.stand == before.stand:
        yield "same stand"
    if (after.box, after.socket, after.trunk_line, after.channel, after.preamp) == (
        before.box,
        before.socket,
        before.trunk_line,
        before.channel,
        before.preamp,
    ):
        yield "same line"
