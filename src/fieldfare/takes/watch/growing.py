"""Which files grow, how fast, which stand still, and which go on from one another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import PurePosixPath

from fieldfare.takes.watch import thresholds as limit
from fieldfare.takes.watch.events import Event
from fieldfare.takes.watch.facts import Seen, SeenFile
from fieldfare.takes.watch.renaming import Stamp, renamed
from fieldfare.takes.watch.state import FileWatch, Moment, Phase, Watch
from fieldfare.takes.wave import counts_on, same_form
from fieldfare.units.text import figure, listed

_WINDOW_S = 120.0
_NAMED = 3


def follow(watch: Watch, seen: Seen, first: bool) -> tuple[Watch, list[Event]]:
    """Take the sizes of one look.

    Parameters
    ----------
    watch
        What is known, its time already that of the look.
    seen
        The look.
    first
        Whether nothing was seen before: files that are there then are not new.
    """
    watch, renames = _renamed(watch, seen)
    before = watch.file
    files = {one.name: _grown(before.get(one.name), one, seen.at_s, first) for one in seen.file}
    events = [
        watch.event("vanished", "stop", f"{name} is gone", "look at the card and at the recorder at once", file=name)
        for name, old in before.items()
        if name not in files and old.phase in ("rolling", "reserved", "stalled")
    ]
    watch = replace(watch, file=files)
    watch, told = _begun(watch, before)
    events += told
    watch, told = _at_rest(watch)
    return watch, renames + events + told


def _renamed(watch: Watch, seen: Seen) -> tuple[Watch, list[Event]]:
    """Go on with files that have another name now, and with their channels."""
    before = {name: Stamp(one.seen.bytes, one.seen.written_ns, one.seen.number) for name, one in watch.file.items()}
    now = {one.name: Stamp(one.bytes, one.written_ns, one.number) for one in seen.file}
    names = {old: name for name, old in renamed(before, now).items()}
    if not names:
        return watch, []
    files = {names.get(name, name): one for name, one in watch.file.items()}
    channels = {(names.get(name, name), channel): one for (name, channel), one in watch.channel.items()}
    watch = replace(watch, file=files, channel=channels)
    return watch, [
        watch.event("renamed", "note", f"{old} is called {name} now", file=name) for old, name in names.items()
    ]


def _grown(old: FileWatch | None, one: SeenFile, at_s: float, first: bool) -> FileWatch:
    if old is None:
        fresh = FileWatch(one, grew_s=at_s, growth=(Moment(at_s, one.bytes),))
        return fresh if first or not one.bytes else replace(fresh, phase="rolling")
    head = one.head or old.seen.head
    right = old.always_right
    if one.bytes > old.seen.bytes:
        rolling = old.phase == "rolling"
        right = right or (rolling and head is not None and head.state == "good" and head.frames > 0)
        # size before the first growth says nothing about when it was reached
        growth = (*old.growth, Moment(at_s, one.bytes)) if rolling else (Moment(at_s, one.bytes),)
        kept = tuple(moment for moment in growth if at_s - moment.at_s <= _WINDOW_S)
        pause = max(old.longest_pause_s, at_s - old.grew_s) if rolling else 0.0
        return replace(
            old, seen=one, phase="rolling", growth=kept, grew_s=at_s, longest_pause_s=pause, always_right=right
        )
    if one.bytes == old.seen.bytes and one.written_ns != old.seen.written_ns and old.phase in ("waiting", "reserved"):
        return replace(old, seen=one, phase="reserved", grew_s=at_s)
    return replace(old, seen=one)


def _begun(watch: Watch, old: Mapping[str, FileWatch]) -> tuple[Watch, list[Event]]:
    """Tell which files began, went on from another, or grow again."""
    events: list[Event] = []
    begun: list[str] = []
    for name, one in watch.file.items():
        was = old[name].phase if name in old else "waiting"
        if one.phase == "reserved" and was == "waiting":
            says = f"{name} is being written, and its size stands still: the recorder has reserved its space"
            events.append(watch.event("reserved", "note", says, "its growth cannot be told from outside", file=name))
        if one.phase != "rolling" or was == "rolling":
            continue
        if was in ("stalled", "closed"):
            pause = one.grew_s - old[name].grew_s
            says = f"{name} grows again after {figure(pause)} s"
            events.append(watch.event("goes-on", "warn", says, "note the time: samples may be missing", file=name))
        elif (source := _goes_on_from(watch, name, old)) is not None:
            events.append(watch.event("continues", "note", f"{name} goes on from {source}", file=name))
            watch = _handed_over(watch, source, name)
        else:
            begun.append(name)
    if begun:
        files = "files grow" if len(begun) > 1 else "file grows"
        events.append(watch.event("rolling", "note", f"{len(begun)} {files}: {_some(begun)}"))
    return watch, events


def _some(names: list[str]) -> str:
    more = len(names) - _NAMED
    return listed(names if more <= 0 else [*names[:_NAMED], f"{more} more"])


def _goes_on_from(watch: Watch, name: str, before: Mapping[str, FileWatch]) -> str | None:
    """Find the file that grew until now and that a new file counts on from."""
    if name in before:
        return None
    new = watch.file[name].seen
    path = PurePosixPath(name)
    for other, one in watch.file.items():
        place = PurePosixPath(other)
        alike = new.head is None or one.seen.head is None or same_form(one.seen.head, new.head)
        was_rolling = other in before and before[other].phase in ("rolling", "stalled", "closed")
        if was_rolling and alike and place.parent == path.parent and counts_on(place.stem, path.stem):
            return other
    return None


def _handed_over(watch: Watch, source: str, name: str) -> Watch:
    """End a file that another goes on from, and let its channels go on there."""
    files = dict(watch.file)
    files[source] = replace(files[source], phase="closed", goes_on_in=name)
    channels = {(name if file == source else file, channel): one for (file, channel), one in watch.channel.items()}
    return replace(watch, file=files, channel=channels, splits=True)


def rest_limit_s(one: FileWatch) -> float:
    """How long a file may stand still before that means something. [s]"""
    return max(limit.STALL_S.value, limit.STALL_TIMES.value * one.longest_pause_s)


def _at_rest(watch: Watch) -> tuple[Watch, list[Event]]:
    """Tell which files stand still though others grow, or that all do."""
    ages = {one.seen.name: watch.at_s - one.grew_s for one in watch.growing}
    resting = [one for one in watch.growing if ages[one.seen.name] > rest_limit_s(one)]
    if not resting:
        return watch, []
    if any(ages[one.seen.name] <= rest_limit_s(one) / 2 for one in watch.growing):
        return _with_phase(watch, resting, "stalled"), [_stalled(watch, one) for one in resting]
    stopped = list(watch.growing)
    unfinished = [one.seen.name for one in stopped if not _finished(one)]
    unsure = [one.seen.name for one in stopped if one.always_right]
    after = _with_phase(watch, stopped, "stalled" if unfinished else "closed")
    says = f"nothing grows any more: {_some([one.seen.name for one in stopped])} stood still"
    if unfinished:
        remedy = "look at the recorder: it stopped without finishing its files. Leave the card as it is, then mend"
        return after, [watch.event("stopped", "stop", f"{says} unfinished", remedy)]
    if unsure:
        remedy = "if nobody pressed stop, look at the recorder"
        return after, [watch.event("stopped", "warn", says, remedy)]
    return after, [watch.event("stopped", "note", f"{says}, every header finished: the recording was closed")]


def _finished(one: FileWatch) -> bool:
    return one.seen.head is not None and one.seen.head.state == "good"


def _with_phase(watch: Watch, some: Sequence[FileWatch], phase: Phase) -> Watch:
    files = dict(watch.file)
    for one in some:
        files[one.seen.name] = replace(one, phase=phase)
    return replace(watch, file=files)


def _stalled(watch: Watch, one: FileWatch) -> Event:
    name, age = one.seen.name, watch.at_s - one.grew_s
    tracks = listed(one.seen.label[:_NAMED]) or name
    if _finished(one) and not one.always_right:
        says = f"{name} ({tracks}) was closed, and the others go on"
        return watch.event("closed", "stop", says, "was the track disarmed? look at the recorder", file=name)
    says = f"{name} ({tracks}) has not grown for {figure(age)} s, and the others go on"
    return watch.event(
        "stalled", "stop", says, "look at the recorder: this track is being lost", file=name, figures={"still_s": age}
    )
