"""What is wrong with the sound of a channel: silent, stuck, clipping, or much lower than at line check."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from fieldfare.show.record import Severity
from fieldfare.takes.watch import thresholds as limit
from fieldfare.takes.watch.events import Event, Kind
from fieldfare.takes.watch.facts import Heard, Seen, SeenFile
from fieldfare.takes.watch.state import ChannelKey, ChannelWatch, Loud, Watch
from fieldfare.units.text import figure

_PLAYS_DB = 10.0  # a track this close to its line check is being played
_WHOLE = 0.9  # of the time that has to be heard before a low level counts


@dataclass(frozen=True, slots=True)
class _Said:
    """An event of a channel, and what it ends."""

    event: Event
    ends: Kind | None = None


def listen(watch: Watch, seen: Seen) -> tuple[Watch, list[Event]]:
    """Take what was heard of every channel."""
    fresh: dict[ChannelKey, tuple[ChannelWatch, Heard]] = {}
    for file in seen.file:
        for key, heard in _heard(watch, file):
            old = fresh[key][0] if key in fresh else watch.channel.get(key, ChannelWatch(""))
            fresh[key] = (_taken(old, file, key[1], heard, seen.at_s), heard)
    channels = dict(watch.channel) | {key: one for key, (one, _) in fresh.items()}
    plays = any(_plays(one, watch) for one in channels.values())
    sounds = any(one.heard_s and one.silent_s < limit.SILENT_S.value for one in channels.values())
    events: list[Event] = []
    for key, (one, heard) in fresh.items():
        told = one
        for said in _judged(watch, key, one, heard, sounds, plays):
            told = _remembered(told, said, seen.at_s)
            events.append(said.event)
        channels[key] = told
    return replace(watch, channel=channels), events


def _heard(watch: Watch, file: SeenFile) -> Iterator[tuple[ChannelKey, Heard]]:
    """Go through what was heard; the end of a file that another goes on from belongs to that one's tracks."""
    one = watch.file[file.name]
    while one.goes_on_in in watch.file:
        one = watch.file[one.goes_on_in]
    for place, heard in enumerate(file.heard, 1):
        yield (one.seen.name, place), heard


def _taken(old: ChannelWatch, file: SeenFile, channel: int, heard: Heard, at_s: float) -> ChannelWatch:
    silent = heard.loud_dbfs < limit.SILENT_DBFS.value
    recent = (*old.recent, Loud(at_s, file.heard_s, heard.loud_dbfs))
    return replace(
        old,
        track=file.label[channel - 1] if file.label else f"{file.name}, channel {channel}",
        heard_s=old.heard_s + file.heard_s,
        peak_dbfs=max(old.peak_dbfs, heard.peak_dbfs),
        loudest_dbfs=max(old.loudest_dbfs, heard.loud_dbfs),
        recent=tuple(one for one in recent if at_s - one.at_s <= limit.LOWER_S.value),
        silent_s=old.silent_s + file.heard_s if silent else 0.0,
        held_s=old.held_s + file.heard_s if heard.held_all and not heard.zero else heard.held_s,
        clips=old.clips + heard.clips,
    )


def _plays(one: ChannelWatch, watch: Watch) -> bool:
    level = watch.line_check.get(one.track)
    return level is not None and bool(one.recent) and max(loud.dbfs for loud in one.recent) > level - _PLAYS_DB


def _judged(
    watch: Watch, key: ChannelKey, one: ChannelWatch, heard: Heard, sounds: bool, plays: bool
) -> Iterator[_Said]:
    yield from _silence(watch, key, one, heard, sounds)
    yield from _stuck(watch, key, one)
    yield from _clipping(watch, key, one, heard)
    yield from _lower(watch, key, one, plays)


def _silence(watch: Watch, key: ChannelKey, one: ChannelWatch, heard: Heard, sounds: bool) -> Iterator[_Said]:
    if "silent" in one.told:
        if not one.silent_s:
            yield _said(watch, key, one, "back", "note", f"{one.track} is heard again", ends="silent")
        return
    if one.silent_s < limit.SILENT_S.value or not (heard.zero or sounds):
        return  # noise alone on every track: nobody plays
    if not heard.zero:
        says = f"{one.track} has been noise alone for {figure(one.silent_s)} s, at {figure(heard.loud_dbfs)} dBFS"
        remedy = "nobody plays it, or the line is dead: microphone, phantom, lead, patch"
        yield _said(watch, key, one, "silent", "warn", says, remedy)
        return
    planned = watch.wanted is not None and one.track in watch.wanted.track
    says = f"{one.track} has been digital silence for {figure(one.silent_s)} s"
    remedy = "the channel is off, muted or not routed"
    yield _said(watch, key, one, "silent", "stop" if planned else "warn", says, remedy)


def _stuck(watch: Watch, key: ChannelKey, one: ChannelWatch) -> Iterator[_Said]:
    if one.held_s >= limit.HELD_S.value:
        if "stuck" not in one.told:
            says = f"{one.track} stands still at one value: the converter or its driver hangs"
            remedy = "look at the recorder; start a new take if it does not come back"
            yield _said(watch, key, one, "stuck", "stop", says, remedy)
    elif "stuck" in one.told:
        yield _said(watch, key, one, "back", "note", f"{one.track} moves again", ends="stuck")


def _clipping(watch: Watch, key: ChannelKey, one: ChannelWatch, heard: Heard) -> Iterator[_Said]:
    again = one.clip_told_s is None or watch.at_s - one.clip_told_s >= limit.CLIP_AGAIN_S.value
    if heard.clips and again:
        says = f"{one.track} has clipped {'once' if one.clips == 1 else f'{one.clips} times'} so far"
        yield _said(watch, key, one, "clipping", "warn", says, "gain down between two songs, if the preamp is ours")


def _lower(watch: Watch, key: ChannelKey, one: ChannelWatch, plays: bool) -> Iterator[_Said]:
    level = watch.line_check.get(one.track)
    if level is None or not one.recent:
        return
    under = level - max(loud.dbfs for loud in one.recent)
    if "lower" in one.told:
        if under < limit.LOWER_DB.value:
            says = f"{one.track} is as loud as at line check again"
            yield _said(watch, key, one, "back", "note", says, ends="lower")
        return
    whole = sum(loud.heard_s for loud in one.recent) >= _WHOLE * limit.LOWER_S.value
    if whole and plays and under >= limit.LOWER_DB.value and "silent" not in one.told:
        says = f"{one.track} has been {figure(under)} dB under line check for a minute"
        remedy = "is it being played? look for a pad, gain turned down, a microphone turned or fallen"
        yield _said(watch, key, one, "lower", "warn", says, remedy)


def _said(
    watch: Watch,
    key: ChannelKey,
    one: ChannelWatch,
    kind: Kind,
    severity: Severity,
    says: str,
    remedy: str = "",
    ends: Kind | None = None,
) -> _Said:
    figures = {"peak_dbfs": one.peak_dbfs, "loudest_dbfs": one.loudest_dbfs, "clips": float(one.clips)}
    event = watch.event(kind, severity, says, remedy, file=key[0], channel=key[1], track=one.track, figures=figures)
    return _Said(event, ends)


def _remembered(one: ChannelWatch, said: _Said, at_s: float) -> ChannelWatch:
    if said.event.kind == "clipping":
        return replace(one, clip_told_s=at_s)
    if said.ends is not None:
        return replace(one, told=one.told - {said.ends})
    return replace(one, told=one.told | {said.event.kind})
