"""How long the disc, and the largest file there can be, still last."""

from __future__ import annotations

from dataclasses import replace

from fieldfare.physics.media import RIFF_LIMIT_BYTES
from fieldfare.show.record import Severity
from fieldfare.takes.watch import thresholds as limit
from fieldfare.takes.watch.events import Event
from fieldfare.takes.watch.facts import Seen
from fieldfare.takes.watch.rates import measured_rate, stated_rate
from fieldfare.takes.watch.state import FileWatch, Watch
from fieldfare.units.text import figure

_SEVERITY: dict[float, Severity] = {60.0: "note", 30.0: "warn", 10.0: "stop", 20.0: "warn", 5.0: "stop"}


def rate_of(one: FileWatch, longest_look_s: float) -> float:
    """Bytes a second that a file takes: as measured where that is surely more than its format asks, else as asked."""
    stated, measured = stated_rate(one), measured_rate(one, longest_look_s)
    if measured is None:
        return stated or 0.0
    least, most = measured
    return max(least, min(most, stated)) if stated is not None else (least + most) / 2


def total_rate(watch: Watch) -> float:
    """Bytes a second of all files that grow."""
    return sum(rate_of(one, watch.longest_look_s) for one in watch.growing)


_SMALL = {"WAV": "a plain WAV", "AIFF": "an AIFF", "AIFF-C": "an AIFF"}  # containers whose sizes have 32 bits


def minutes_left(watch: Watch) -> float | None:
    """Minutes until the disc is full at the present rate; none where nothing grows."""
    rate = total_rate(watch)
    return watch.free_bytes / rate / 60 if rate else None


def disc(watch: Watch) -> tuple[Watch, list[Event]]:
    """Tell when the disc runs short, once for each of the steps; the last one crossed counts."""
    left = minutes_left(watch)
    if left is None:
        return watch, []
    crossed = [one.value for one in limit.DISC_MINUTES if left <= one.value]
    fresh = [value for value in crossed if f"disc {value}" not in watch.told]
    if not fresh:
        return watch, []
    says = f"{figure(left)} minutes are left on this disc"
    remedy = "have the next disc ready; delete nothing that is not copied twice"
    event = watch.event("disc", _SEVERITY[min(fresh)], says, remedy, figures={"left_min": left})
    return replace(watch, told=watch.told | {f"disc {value}" for value in crossed}), [event]


def limits(watch: Watch, seen: Seen) -> tuple[Watch, list[Event]]:
    """Tell which files come near the largest size that there can be."""
    files, events = dict(watch.file), []
    for name, one in watch.file.items():
        if one.phase != "rolling":
            continue
        largest, why = _largest(one, seen.largest_file)
        rate = rate_of(one, watch.longest_look_s)
        if largest is None or not rate:
            continue
        left = (largest - one.seen.bytes) / rate / 60
        steps = [0.0, *(step.value for step in limit.LIMIT_MINUTES)]
        crossed = [step for step in steps if left <= step]
        if crossed and f"limit {min(crossed)}" not in one.told:
            files[name] = replace(one, told=one.told | {f"limit {step}" for step in crossed})
            events.append(_limit_event(watch, name, left, min(crossed), why))
    return replace(watch, file=files), events


def _largest(one: FileWatch, file_system: int | None) -> tuple[int | None, str]:
    if file_system is not None:
        return file_system, "the card's file system holds no larger file than 4 GiB"
    head = one.seen.head
    if head is None or head.container not in _SMALL:
        return None, ""
    return RIFF_LIMIT_BYTES, f"{_SMALL[head.container]} header can say no more than 4 GiB"


def _limit_event(watch: Watch, name: str, left_min: float, step: float, why: str) -> Event:
    figures = {"left_min": left_min}
    if step == 0:
        says = f"{name} has passed what its header can say: {why}"
        remedy = "the audio goes on as long as the file grows; mend it afterwards, and stop and start at the next break"
        return watch.event("limit", "warn", says, remedy, file=name, figures=figures)
    says = f"{name} reaches the largest file there can be in {figure(left_min)} minutes: {why}"
    if watch.splits:
        return watch.event("limit", "note", says, "the recorder begins new files by itself", file=name, figures=figures)
    remedy = "stop and start between two songs, unless the recorder is known to begin a new file or to change to RF64"
    return watch.event("limit", _SEVERITY[step], says, remedy, file=name, figures=figures)
