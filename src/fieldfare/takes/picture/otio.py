"""The cameras of a take as an OpenTimelineIO timeline: plain data in the schema's own words, written as JSON.

A track of pictures for each camera, our mix below them, a marker for every song. Schema names as the library of version
0.18 writes them.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from fieldfare.show.picture import Device
from fieldfare.takes.picture.edit import Piece, hour_of, marks_of, source_start
from fieldfare.takes.rough.choose import Stretch

Data = dict[str, Any]


def timeline(
    name: str,
    cameras: Sequence[tuple[Device, Sequence[Piece]]],
    mixes: Sequence[tuple[str, int, int]],
    songs: Sequence[Stretch],
    rate_hz: int,
    names: dict[tuple[str, str], str],
) -> Data:
    """Return a timeline as data.

    Parameters
    ----------
    name
        What it is called.
    cameras
        Each with its pieces.
    mixes
        Files of our mix, each with its first sample and its length.
    songs
        Songs, in samples.
    rate_hz
        Sample rate of the take. [Hz]
    names
        Where an editor finds each camera's file, by its device and name.
    """
    rates = [piece.rate for _, pieces in cameras for piece in pieces]
    rate = rates[0] if rates else Fraction(25)
    tracks = [_pictures(device, pieces, names) for device, pieces in cameras if pieces]
    tracks += [_sounds(mixes, rate_hz)] if mixes else []
    marks = [_marker(title, first, frames, rate) for first, frames, title in marks_of(songs, rate, rate_hz)]
    return {
        "OTIO_SCHEMA": "Timeline.1",
        "metadata": {},
        "name": name,
        "global_start_time": _time(hour_of(rate), rate),
        "tracks": {**_item("Stack.1", "tracks"), "children": tracks, "markers": marks},
    }


def write_otio(path: Path, data: Data) -> None:
    """Write a timeline, whole or not at all."""
    from fieldfare.show.files import write_whole

    write_whole(path, (json.dumps(data, indent=2, ensure_ascii=False) + "\n").encode(), replace=True)


def _pictures(device: Device, pieces: Sequence[Piece], names: dict[tuple[str, str], str]) -> Data:
    children: list[Data] = []
    at = 0
    for piece in pieces:
        if piece.record > at:
            children.append(_gap(piece.record - at, piece.rate))
        clip, rate = piece.clip, piece.rate
        first = source_start(clip)
        reference = _reference(names[device.name, clip.file], first, clip.frames, rate, clip.file)
        told = {"offset_s": clip.offset_s, "ppm": clip.ppm, "off_ms": round(piece.off_ms, 3), "song": piece.song}
        children.append(_clip(Path(clip.file).stem, first + piece.source, piece.frames, rate, reference, told))
        at = piece.end
    return {**_item("Track.1", device.name), "children": children, "kind": "Video"}


def _sounds(mixes: Sequence[tuple[str, int, int]], rate_hz: int) -> Data:
    children: list[Data] = []
    at, rate = 0, Fraction(rate_hz)
    for file, start, frames in mixes:
        if start < at:
            continue  # songs that run into one another: the editor has the file all the same
        if start > at:
            children.append(_gap(start - at, rate))
        children.append(_clip(Path(file).stem, 0, frames, rate, _reference(file, 0, frames, rate, file), {}))
        at = start + frames
    return {**_item("Track.1", "mix"), "children": children, "kind": "Audio"}


def _item(schema: str, name: str) -> Data:
    return {
        "OTIO_SCHEMA": schema,
        "metadata": {},
        "name": name,
        "source_range": None,
        "effects": [],
        "markers": [],
        "enabled": True,
    }


def _gap(frames: int, rate: Fraction) -> Data:
    return {**_item("Gap.1", ""), "source_range": _range(0, frames, rate)}


def _clip(name: str, first: int, frames: int, rate: Fraction, reference: Data, told: Data) -> Data:
    return {
        **_item("Clip.2", name),
        "metadata": {"fieldfare": told} if told else {},
        "source_range": _range(first, frames, rate),
        "media_references": {"DEFAULT_MEDIA": reference},
        "active_media_reference_key": "DEFAULT_MEDIA",
    }


def _reference(url: str, first: int, frames: int, rate: Fraction, name: str) -> Data:
    return {
        "OTIO_SCHEMA": "ExternalReference.1",
        "metadata": {},
        "name": name,
        "available_range": _range(first, frames, rate),
        "available_image_bounds": None,
        "target_url": url,
    }


def _marker(name: str, first: int, frames: int, rate: Fraction) -> Data:
    return {
        "OTIO_SCHEMA": "Marker.2",
        "metadata": {},
        "name": name,
        "color": "GREEN",
        "marked_range": _range(first, frames, rate),
        "comment": "",
    }


def _range(first: int, frames: int, rate: Fraction) -> Data:
    return {"OTIO_SCHEMA": "TimeRange.1", "start_time": _time(first, rate), "duration": _time(frames, rate)}


def _time(value: int, rate: Fraction) -> Data:
    return {"OTIO_SCHEMA": "RationalTime.1", "rate": float(rate), "value": float(value)}
