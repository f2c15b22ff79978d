"""The iXML chunk: what the tracks are called, and which files belong together (the open iXML pages, object details).

Every element is optional, and what is not read here stays in the chunk's own bytes for a rewrite.
"""

from __future__ import annotations

import xml.etree.ElementTree as Tree
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class IxmlTrack:
    """One track: the input of the rig it came from, and its place in this file. Both count from 1."""

    channel: int
    interleave: int
    name: str
    function: str = ""


@dataclass(frozen=True, slots=True)
class Ixml:
    """The parts of an iXML chunk that tell tracks and file sets."""

    project: str = ""
    scene: str = ""
    tape: str = ""
    take: str = ""
    note: str = ""
    rate_hz: int | None = None
    bits: int | None = None
    time_reference: int | None = None  # samples since midnight
    family_uid: str = ""
    family_name: str = ""
    file_set_index: str = ""
    total_files: int | None = None
    track: tuple[IxmlTrack, ...] = ()


def _text(root: Tree.Element, path: str) -> str:
    return (root.findtext(path) or "").strip()


def _whole(root: Tree.Element, path: str) -> int | None:
    text = _text(root, path)
    return int(text) if text.isdecimal() else None


def read_ixml(payload: bytes) -> Ixml | None:
    """Read the chunk; none where it is not an iXML document."""
    try:
        root = Tree.fromstring(payload.strip(b"\0 \r\n\t"))
    except (Tree.ParseError, ValueError, LookupError):
        return None
    if root.tag != "BWFXML":
        return None
    high = _whole(root, "SPEED/TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI") or 0
    low = _whole(root, "SPEED/TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO")
    return Ixml(
        project=_text(root, "PROJECT"),
        scene=_text(root, "SCENE"),
        tape=_text(root, "TAPE"),
        take=_text(root, "TAKE"),
        note=_text(root, "NOTE"),
        rate_hz=_whole(root, "SPEED/FILE_SAMPLE_RATE"),
        bits=_whole(root, "SPEED/AUDIO_BIT_DEPTH"),
        time_reference=None if low is None else (high << 32) + low,
        family_uid=_text(root, "FILE_SET/FAMILY_UID"),
        family_name=_text(root, "FILE_SET/FAMILY_NAME"),
        file_set_index=_text(root, "FILE_SET/FILE_SET_INDEX"),
        total_files=_whole(root, "FILE_SET/TOTAL_FILES"),
        track=tuple(_track(one, place) for place, one in enumerate(root.iterfind("TRACK_LIST/TRACK"), 1)),
    )


def _track(one: Tree.Element, place: int) -> IxmlTrack:
    interleave = _whole(one, "INTERLEAVE_INDEX") or place
    return IxmlTrack(
        channel=_whole(one, "CHANNEL_INDEX") or interleave,
        interleave=interleave,
        name=_text(one, "NAME"),
        function=_text(one, "FUNCTION"),
    )


def make_ixml(ixml: Ixml) -> bytes:
    """Make the chunk's bytes, in UTF-8, with the elements that have something to say."""
    root = Tree.Element("BWFXML")
    _add(root, "IXML_VERSION", "2.10")
    for tag, said in (("PROJECT", ixml.project), ("SCENE", ixml.scene), ("TAPE", ixml.tape), ("TAKE", ixml.take)):
        _add(root, tag, said)
    _add(root, "NOTE", ixml.note)
    _add_speed(root, ixml)
    file_set = Tree.Element("FILE_SET")
    _add(file_set, "TOTAL_FILES", ixml.total_files)
    _add(file_set, "FAMILY_UID", ixml.family_uid)
    _add(file_set, "FAMILY_NAME", ixml.family_name)
    _add(file_set, "FILE_SET_INDEX", ixml.file_set_index)
    if len(file_set):
        root.append(file_set)
    if ixml.track:
        tracks = Tree.SubElement(root, "TRACK_LIST")
        _add(tracks, "TRACK_COUNT", len(ixml.track))
        for one in ixml.track:
            track = Tree.SubElement(tracks, "TRACK")
            _add(track, "CHANNEL_INDEX", one.channel)
            _add(track, "INTERLEAVE_INDEX", one.interleave)
            _add(track, "NAME", one.name)
            _add(track, "FUNCTION", one.function)
    Tree.indent(root)
    text: str = Tree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _add_speed(root: Tree.Element, ixml: Ixml) -> None:
    speed = Tree.Element("SPEED")
    _add(speed, "FILE_SAMPLE_RATE", ixml.rate_hz)
    _add(speed, "AUDIO_BIT_DEPTH", ixml.bits)
    if ixml.time_reference is not None:
        _add(speed, "TIMESTAMP_SAMPLE_RATE", ixml.rate_hz)
        _add(speed, "TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI", ixml.time_reference >> 32)
        _add(speed, "TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO", ixml.time_reference & 0xFFFFFFFF)
    if len(speed):
        root.append(speed)


def _add(parent: Tree.Element, tag: str, value: str | int | None) -> None:
    if value is not None and value != "":
        Tree.SubElement(parent, tag).text = str(value)
