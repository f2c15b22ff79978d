"""One step of the watch: what was known and what is seen now give what is known next, and what is to be said."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from fieldfare.show.record import Severity
from fieldfare.takes.watch import thresholds as limit
from fieldfare.takes.watch.events import Event
from fieldfare.takes.watch.facts import Seen
from fieldfare.takes.watch.filling import disc, limits, minutes_left, total_rate
from fieldfare.takes.watch.growing import follow
from fieldfare.takes.watch.rates import as_planned, rates
from fieldfare.takes.watch.sounding import listen
from fieldfare.takes.watch.state import Watch
from fieldfare.units.clock import clock
from fieldfare.units.text import figure, listed


def look(watch: Watch, seen: Seen) -> tuple[Watch, tuple[Event, ...]]:
    """Take one look at the folder.

    Parameters
    ----------
    watch
        What is known; `begin` gives the first.
    seen
        What the folder held at this look; looks come in the order of time.

    Returns
    -------
    What is known after it, and what is to be told. Same input, same output; nothing is read or written.
    """
    first = watch.began_s is None
    since = 0.0 if first else seen.at_s - watch.at_s
    watch = replace(
        watch,
        began_s=seen.at_s if watch.began_s is None else watch.began_s,
        at_s=seen.at_s,
        longest_look_s=max(watch.longest_look_s, since),
        free_bytes=seen.free_bytes,
    )
    watch, events = follow(watch, seen, first)
    watch, told = _rolling(watch)
    events += told
    for step in (rates, as_planned, disc):
        watch, told = step(watch)
        events += told
    watch, told = limits(watch, seen)
    events += told
    watch, told = listen(watch, seen)
    events += told
    count = Counter(watch.count)
    count.update(event.severity for event in events)
    return replace(watch, count=dict(count)), tuple(events)


def _rolling(watch: Watch) -> tuple[Watch, list[Event]]:
    """Keep when recording began, and tell if it does not."""
    if watch.growing:
        since = watch.at_s if watch.rolling_since_s is None else watch.rolling_since_s
        return replace(watch, rolling_since_s=since), []
    if watch.rolling_since_s is not None:
        return replace(watch, rolling_since_s=None, told=watch.told | {"not-rolling"}), []  # that it stopped was told
    waited = watch.at_s - (watch.began_s or 0.0)
    if waited < limit.NOT_ROLLING_S.value or "not-rolling" in watch.told:
        return watch, []
    says = f"nothing has grown for {figure(waited)} s: nothing is being recorded here"
    remedy = "press record, or name the folder that the recorder writes into"
    return replace(watch, told=watch.told | {"not-rolling"}), [watch.event("not-rolling", "stop", says, remedy)]


def status(watch: Watch) -> Event:
    """Say how things stand."""
    rate, left = total_rate(watch), minutes_left(watch)
    files = len(watch.growing)
    if watch.at_s == watch.began_s:  # one look tells no growth
        there = len(watch.file)
        parts = [f"{there} {'recording lies' if there == 1 else 'recordings lie'} here"]
        parts.append(f"{figure(watch.free_bytes / 1e9, 1)} GB are free")
    else:
        parts = [f"{files} {'file grows' if files == 1 else 'files grow'}"]
    if rate:
        parts.append(f"{figure(rate / 1e6, 2)} MB/s")
    if left is not None:
        parts.append(f"{figure(left)} minutes left on this disc")
    figures = {"files": float(files), "rate_b_s": rate, "free_bytes": float(watch.free_bytes)}
    if left is not None:
        figures["left_min"] = left
    return watch.event("status", "note", ", ".join(parts), figures=figures)


def summary(watch: Watch) -> Event:
    """Say, at the end, what the watch saw."""
    lasted = watch.at_s - (watch.began_s or watch.at_s)
    stops, warns = watch.count.get("stop", 0), watch.count.get("warn", 0)
    heard = [one for one in watch.channel.values() if one.heard_s]
    clipped = sorted({one.track for one in heard if one.clips})
    parts = [f"watched for {clock(lasted)}", f"{len(heard)} {'track' if len(heard) == 1 else 'tracks'} heard"]
    parts.append(f"{stops + warns} {'thing needs' if stops + warns == 1 else 'things need'} a look")
    if clipped:
        parts.append(f"clipped: {listed(clipped)}")
    if watch.growing:
        parts.append(f"{len(watch.growing)} still growing")
    severity: Severity = "stop" if stops else "warn" if warns else "note"
    figures = {"stop": float(stops), "warn": float(warns), "tracks": float(len(heard))}
    return watch.event("summary", severity, "; ".join(parts), figures=figures)
