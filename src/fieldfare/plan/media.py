"""Bytes, files, cards and copies for the real channel count, rate and depth.

Space: the longest plausible show and an hour, and half as much again, on each of two media: common practice, no source.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import chain

from fieldfare.physics.media import (
    FAT32_LIMIT_BYTES,
    RIFF_LIMIT_BYTES,
    byte_rate,
    copy_minutes,
    minutes_to_limit,
)
from fieldfare.show.kit import Kit, Media, Recorder
from fieldfare.show.plan import MediaPlan
from fieldfare.show.show import Show
from fieldfare.units.text import figure, listed
from fieldfare.units.working import Given, Working

RESERVE_MINUTES = 60
RESERVE_FACTOR = 1.5
WRITE_SHARE = 0.5  # of a card's stated sustained writing that a plan relies on


def media_plan(show: Show, kit: Kit, recorder: Recorder | None, channels: int) -> MediaPlan:
    """Work out what a night needs: rate, bytes, file limits, hours on each card, minutes of copying.

    Parameters
    ----------
    show
        For its rate, depth, copies and times.
    kit
        For its cards and discs.
    recorder
        What records, and whether it writes a file a track or one interleaved file.
    channels
        How many channels are recorded. [1]
    """
    if not channels:
        return _nothing(show)
    rate = byte_rate(channels, show.recording.rate_hz, show.recording.bits)
    minutes = recording_minutes(show)
    whole = None if minutes is None else rate * 60 * minutes
    cards = [thing for thing in kit.media if thing.owner != "house"]
    needed = None if whole is None else _needed(rate, minutes or 0)
    return MediaPlan(
        rate=_working(rate / 1e6, "MB/s", "channels · rate · bytes", _shape(show, channels)),
        per_hour=_working(rate * 3600 / 1e9, "GB", "channels · rate · bytes · 3600 s", _shape(show, channels)),
        whole=_working(
            None if whole is None else whole / 1e9,
            "GB",
            "MB/s · minutes recorded · 60 s",
            (
                Given(name="MB/s", value=rate / 1e6),
                Given(name="minutes recorded", value="unknown" if minutes is None else minutes),
            ),
        ),
        file_limit=_file_limit(show, recorder, channels),
        card=tuple(_hours(card, rate) for card in cards),
        copying=tuple(chain.from_iterable(_copying(card, whole) for card in cards)) if whole else (),
        notes=tuple(_notes(show, recorder, cards, channels, rate, needed)),
    )


def _nothing(show: Show) -> MediaPlan:
    """While nothing is recorded nothing is written; how long that lasts on a card is no figure."""
    none = _shape(show, 0)
    return MediaPlan(
        rate=_working(0.0, "MB/s", "channels · rate · bytes", none),
        per_hour=_working(0.0, "GB", "channels · rate · bytes · 3600 s", none),
        whole=_working(0.0, "GB", "MB/s · minutes recorded · 60 s", none),
    )


def recording_minutes(show: Show) -> float | None:
    """From doors to curfew, or to an hour after the last set; none where the times are not known.

    The recorder rolls before the first note and stops for nothing. [min]
    """
    starts = [one.start for one in show.set]
    first = show.times.doors or (min(starts) if starts else None)
    if first is None:
        return None
    if show.times.curfew:
        return _minutes_between(first, show.times.curfew)
    if not show.set:
        return None
    last = show.set[-1]
    return _minutes_between(first, last.start) + last.minutes + 60


def _minutes_between(first: dt.time, last: dt.time) -> float:
    minutes = (last.hour - first.hour) * 60 + last.minute - first.minute
    return minutes if minutes >= 0 else minutes + 24 * 60  # past midnight


def _needed(rate: float, minutes: float) -> float:
    return rate * 60 * (minutes + RESERVE_MINUTES) * RESERVE_FACTOR


def _working(
    value: float | None, unit: str, formula: str, given: tuple[Given, ...], source: str = "definition"
) -> Working:
    return Working(
        value=None if value is None else round(value, 4), unit=unit, formula=formula, given=given, source=source
    )


def _shape(show: Show, channels: int) -> tuple[Given, ...]:
    return (
        Given(name="channels", value=channels),
        Given(name="rate", value=show.recording.rate_hz, unit="Hz"),
        Given(name="bytes", value=show.recording.bits // 8, unit="a sample"),
    )


def _file_limit(show: Show, recorder: Recorder | None, channels: int) -> Working | None:
    if recorder is None:
        return None
    inside = 1 if recorder.file_kind == "mono files" else channels
    minutes = minutes_to_limit(inside, show.recording.rate_hz, show.recording.bits, RIFF_LIMIT_BYTES)
    return _working(
        minutes, "min", "2³² bytes / (channels in one file · rate · bytes) / 60", _shape(show, inside), "EBU3306"
    )


def _hours(card: Media, rate: float) -> Working:
    return _working(
        card.capacity_gb * 1e9 / rate / 3600,
        "h",
        "capacity / MB/s / 3600",
        (
            Given(name="medium", value=_named(card)),
            Given(name="capacity", value=card.capacity_gb, unit="GB"),
            Given(name="MB/s", value=rate / 1e6),
        ),
    )


def _copying(card: Media, whole: float) -> Iterator[Working]:
    if card.kind == "card":
        return
    given = (
        Given(name="medium", value=_named(card)),
        Given(name="GB", value=round(whole / 1e9, 2)),
        Given(name="writing", value=card.write_mb_s, unit="MB/s"),
        Given(name="reading", value=card.read_mb_s, unit="MB/s"),
    )
    minutes = copy_minutes(whole, card.write_mb_s) + copy_minutes(whole, card.read_mb_s)
    yield _working(minutes, "min", "GB / writing + GB / reading, copy and read back", given)


def _notes(
    show: Show, recorder: Recorder | None, cards: list[Media], channels: int, rate: float, needed: float | None
) -> Iterator[str]:
    if recorder is None:
        yield "No recorder in the kit: rate and file size are told for the inputs alone."
    if not cards:
        yield "No card or disc in the kit: add what the recorder writes to and where the copies go."
    if needed is not None:
        big = [card for card in cards if card.capacity_gb * 1e9 >= needed]
        for card in cards:
            if card not in big:
                yield f"{_named(card)} is smaller than {figure(needed / 1e9, 1)} GB, the night and its reserve."
        units = sum(len(card.good_tags) for card in big)
        if cards and units < 1 + show.recording.copies:
            yield (
                f"The take and {show.recording.copies} copies need {1 + show.recording.copies} media of "
                f"{figure(needed / 1e9, 1)} GB; the kit has {units}."
            )
    else:
        yield "How long the recorder runs is not known, so neither is the space: give the doors and the curfew."
    for card in cards:
        if rate > card.write_mb_s * 1e6 * WRITE_SHARE and card.kind == "card":
            yield (
                f"{_named(card)} writes {figure(card.write_mb_s)} MB/s; half of that is less than the "
                f"{figure(rate / 1e6, 1)} MB/s of {channels} channels."
            )
        if (
            card.file_system == "FAT32"
            and needed is not None
            and _largest_file(recorder, needed, channels) > FAT32_LIMIT_BYTES
        ):
            yield f"{_named(card)} is FAT32, whose files end at 4 GiB: format it as exFAT before the show."


def _largest_file(recorder: Recorder | None, needed: float, channels: int) -> float:
    one_file = recorder is not None and recorder.file_kind == "one interleaved file"
    return needed / RESERVE_FACTOR if one_file else needed / RESERVE_FACTOR / max(channels, 1)


def _named(card: Media) -> str:
    return f"{card.item} {listed(card.tags)}"
