"""How fast files grow, against their own format and against the plan."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from fieldfare.takes.watch import thresholds as limit
from fieldfare.takes.watch.events import Event
from fieldfare.takes.watch.state import FileWatch, Watch
from fieldfare.units.text import figure, listed

_LEAST_SPAN_S = 8.0


def stated_rate(one: FileWatch) -> float | None:
    """Bytes a second by the header's format, which is written first of all; none where it is compressed. [B/s]"""
    head = one.seen.head
    known = head is not None and head.frame_bytes and head.in_place  # how well FLAC packs is not known
    return float(head.frame_bytes * head.rate_hz) if head is not None and known else None


def measured_rate(one: FileWatch, longest_look_s: float) -> tuple[float, float] | None:
    """The least and the most that a file grows by. [B/s]

    A file was seen grown at looks; when within the time since the look before it grew, or since the writer's last
    burst, nobody knows. So the span between first and last growth is unsure by the longer of both.
    """
    if len(one.growth) < 2:
        return None
    first, last = one.growth[0], one.growth[-1]
    span = last.at_s - first.at_s
    unsure = max(longest_look_s, one.longest_pause_s)
    if span < _LEAST_SPAN_S or span <= 2 * unsure:
        return None
    grown = last.bytes - first.bytes
    return grown / (span + unsure), grown / (span - unsure)


def rates(watch: Watch) -> tuple[Watch, list[Event]]:
    """Tell which files grow faster or slower than their own format asks."""
    files, events = dict(watch.file), []
    for name, one in watch.file.items():
        stated, measured = stated_rate(one), measured_rate(one, watch.longest_look_s)
        if one.phase != "rolling" or stated is None or measured is None:
            continue
        wrong = _wrong_by(stated, measured)
        if wrong is None and "rate" in one.told:
            files[name] = replace(one, told=one.told - {"rate"})
        elif wrong is not None and "rate" not in one.told:
            files[name] = replace(one, told=one.told | {"rate"})
            events.append(_rate_event(watch, name, stated, measured, wrong))
    return replace(watch, file=files), events


def _wrong_by(stated: float, measured: tuple[float, float]) -> float | None:
    """How many times as fast a file grows as it should, where that is sure."""
    least, most = measured
    off = limit.RATE_OFF.value
    if most < stated * (1 - off) or least > stated * (1 + off):
        return math.sqrt(least * most) / stated
    return None


def _rate_event(watch: Watch, name: str, stated: float, measured: tuple[float, float], wrong: float) -> Event:
    slow = wrong < 1
    least, most = (figure(100 * one / stated) for one in measured)
    says = f"{name} grows {'slower' if slow else 'faster'} than its channels and rate ask: at {least} to {most} %"
    remedy = (
        "the disc cannot keep up and samples are lost, or the converter runs at another rate than the header says"
        if slow
        else "the converter runs at another rate than the header says, or more is written than the header says"
    )
    figures = {"stated_b_s": stated, "least_b_s": measured[0], "most_b_s": measured[1]}
    return watch.event("rate", "stop", says, remedy, file=name, figures=figures)


def as_planned(watch: Watch) -> tuple[Watch, list[Event]]:
    """Compare what is being recorded with the plan: rate, depth, and which tracks are there."""
    if watch.wanted is None or not watch.growing:
        return watch, []
    forms = dict(_forms(watch))
    events = [event for key, event in forms.items() if key not in watch.told]
    told = watch.told | forms.keys()
    since = watch.rolling_since_s
    if since is not None and watch.at_s - since >= limit.NOT_ROLLING_S.value:
        labels = {label for one in watch.growing for label in one.seen.label}
        missing = [track for track in watch.wanted.track if track not in labels]
        key = f"missing {missing}"
        if missing and key not in told:
            count = f"{len(missing)} of {len(watch.wanted.track)} tracks of {watch.wanted.by}"
            says = f"{count} are not recorded: {listed(missing)}"
            remedy = "arm them, or name the files so that they can be told"
            events.append(watch.event("missing", "stop", says, remedy, figures={"missing": len(missing)}))
        told |= {key}
    return replace(watch, told=told), events


def _forms(watch: Watch) -> Iterator[tuple[str, Event]]:
    """Tell each rate and each depth that is not the plan's, once."""
    wanted = watch.wanted
    for one in watch.growing:
        head = one.seen.head
        if head is None or wanted is None or not head.channels:
            continue
        if wanted.rate_hz is not None and head.rate_hz != wanted.rate_hz:
            says = f"{one.seen.name} is recorded at {head.rate_hz} Hz, the plan says {wanted.rate_hz} Hz"
            yield f"rate {head.rate_hz}", watch.event("form", "stop", says, "set the recorder", file=one.seen.name)
        if wanted.bits is not None and head.bits < wanted.bits:
            says = f"{one.seen.name} is recorded with {head.bits} bits, the plan says {wanted.bits}"
            yield f"bits {head.bits}", watch.event("form", "warn", says, "set the recorder", file=one.seen.name)
