"""Which container a recording is in, and its head, whatever that is.

Believes nothing that the bytes on the medium contradict. Names of files count for nothing here: the first bytes do.
"""

from __future__ import annotations

from pathlib import Path

from fieldfare.takes.wave.aiff import aiff_head
from fieldfare.takes.wave.flac import FLAC_LETTERS, flac_head
from fieldfare.takes.wave.head import Head, unreadable
from fieldfare.takes.wave.layouts import W64_RIFF
from fieldfare.takes.wave.source import View, open_readonly
from fieldfare.takes.wave.walk import riff_head, w64_head
from fieldfare.units.faults import Fault

RATES_HZ = (4_000, 800_000)  # from less than a telephone's to more than any converter's


def read_head(path: Path | str) -> Head:
    """Read the head of a WAV, RF64, BW64, W64, AIFF, AIFF-C or FLAC file.

    Returns
    -------
    The head. A file that cannot be understood has the state "unreadable" and says why.

    Raises
    ------
    Fault
        The file cannot be opened or read at all.
    """
    path = Path(path)
    with open_readonly(path) as file:
        try:
            return head_of(View(file), path)
        except OSError as error:
            raise Fault(f"cannot be read ({error.strerror})", str(path), "copy it from another reader") from error


def head_of(view: View, path: Path) -> Head:
    """Read the head from the bytes of an open file."""
    head = _as_it_says(view, path)
    low, high = RATES_HZ
    if head.state == "unreadable" or low <= head.rate_hz <= high:
        return head
    says = f"its header states {head.rate_hz} samples a second, at which no sound is recorded: the header is damaged"
    return unreadable(path, view, head.container, says, head.form)


def _as_it_says(view: View, path: Path) -> Head:
    start = view.at(0, 16)
    if start[:4] in (b"RIFF", b"RF64", b"BW64"):
        return riff_head(view, path)
    if start == W64_RIFF:
        return w64_head(view, path)
    if start[:4] == b"FORM" and start[8:12] in (b"AIFF", b"AIFC"):
        return aiff_head(view, path)
    if start[:4] == FLAC_LETTERS or start[:3] == b"ID3":
        return flac_head(view, path)
    return unreadable(path, view, "unknown", _why_none(start, view.size))


def starts_as_recording(start: bytes) -> bool:
    """Tell from its first 16 bytes whether a file is a recording, whatever its name is.

    >>> starts_as_recording(b"RIFF\\0\\0\\0\\0WAVEfmt "), starts_as_recording(b"RIFF\\0\\0\\0\\0AVI LIST")
    (True, False)
    """
    if start[:4] in (b"RIFF", b"RF64", b"BW64"):
        return start[8:12] == b"WAVE"
    aiff = start[:4] == b"FORM" and start[8:12] in (b"AIFF", b"AIFC")
    return aiff or start == W64_RIFF or start[:4] == FLAC_LETTERS


def _why_none(start: bytes, size: int) -> str:
    if not size:
        return "the file is empty"
    if not any(start[:12]):
        return "it starts with zeros: its header was never written"
    if start[:4] == b"RIFX":
        return "its numbers are written big end first (RIFX)"
    return "it is not a WAV, RF64, BW64, W64, AIFF or FLAC file"
