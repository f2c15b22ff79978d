"""The broadcast extension chunk, version 2 (EBU Tech 3285, May 2011)."""

from __future__ import annotations

import struct
import unicodedata
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

FIXED_BYTES = 602
NOT_USED = 0x7FFF
_LAYOUT = struct.Struct("<256s32s32s10s8sQH64s5h180x")
_MOST = 9999


@dataclass(frozen=True, slots=True)
class Bext:
    """Who made a recording, when, and where it stands on the clock."""

    description: str = ""
    originator: str = ""
    originator_reference: str = ""
    date: str = ""  # yyyy-mm-dd
    time: str = ""  # hh:mm:ss
    time_reference: int = 0  # samples since midnight, at the file's own rate
    version: int = 2
    umid: bytes = bytes(64)
    loudness_lufs: float | None = None
    loudness_range_lu: float | None = None
    true_peak_dbtp: float | None = None
    momentary_lufs: float | None = None
    short_term_lufs: float | None = None
    history: str = ""  # CodingHistory


def hundredths(value: float | None) -> int:
    """Return a loudness value in hundredths, rounded half away from zero; 0x7FFF where there is none (Tech 3285 §2.4).

    >>> hundredths(-22.645), hundredths(12.765), hundredths(None)
    (-2265, 1277, 32767)
    """
    if value is None:
        return NOT_USED
    scaled = int((Decimal(repr(value)) * 100).quantize(Decimal(1), ROUND_HALF_UP))  # half up is away from zero here
    return scaled if -_MOST <= scaled <= _MOST else NOT_USED


def _from_hundredths(field: int) -> float | None:
    return field / 100 if -_MOST <= field <= _MOST else None


def _text(field: bytes) -> str:
    return field.split(b"\0", 1)[0].decode("utf-8", "replace").rstrip()


def _field(text: str, size: int | None = None) -> bytes:
    """Encode text in ASCII, as the standard asks, cut to its field: accents fall off, other scripts become "?"."""
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return bare.encode("ascii", "replace")[:size]


def read_bext(payload: bytes) -> Bext | None:
    """Read the chunk; none where it is shorter than its fixed part. Loudness counts from version 2 only."""
    if len(payload) < FIXED_BYTES:
        return None
    *texts, time_reference, version, umid, i, lra, peak, momentary, short = _LAYOUT.unpack_from(payload)
    loud = [_from_hundredths(field) if version >= 2 else None for field in (i, lra, peak, momentary, short)]
    description, originator, reference, date, time = map(_text, texts)
    return Bext(
        description=description,
        originator=originator,
        originator_reference=reference,
        date=date,
        time=time,
        time_reference=time_reference,
        version=version,
        umid=umid if version >= 1 else bytes(64),
        loudness_lufs=loud[0],
        loudness_range_lu=loud[1],
        true_peak_dbtp=loud[2],
        momentary_lufs=loud[3],
        short_term_lufs=loud[4],
        history=_text(payload[FIXED_BYTES:]),
    )


def make_bext(bext: Bext) -> bytes:
    """Make the chunk's bytes. Text that does not fit its field is cut there."""
    levels = (
        bext.loudness_lufs,
        bext.loudness_range_lu,
        bext.true_peak_dbtp,
        bext.momentary_lufs,
        bext.short_term_lufs,
    )
    fixed = _LAYOUT.pack(
        _field(bext.description, 256),
        _field(bext.originator, 32),
        _field(bext.originator_reference, 32),
        _field(bext.date, 10),
        _field(bext.time, 8),
        bext.time_reference,
        bext.version,
        bext.umid,
        *map(hundredths, levels),
    )
    return fixed + _field(bext.history)
