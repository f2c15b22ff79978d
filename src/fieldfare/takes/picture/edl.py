"""A camera as an edit decision list in the form of CMX 3600: one picture track, cuts alone, songs as locators.

The rate is not in the file; it is told in a remark of the first event. Outs are the frame after the last.
Locators stand at the time of the record.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

from fieldfare.takes.picture.edit import Piece, hour_of, marks_of, source_start
from fieldfare.takes.picture.timecode import drops, label_of
from fieldfare.takes.rough.choose import Stretch
from fieldfare.units.faults import OutOfRange

MOST_EVENTS = 999
REEL_SIGNS = 8


def edit_list(title: str, pieces: Sequence[Piece], songs: Sequence[Stretch], rate_hz: int) -> str:
    """Return an edit list.

    Parameters
    ----------
    title
        What it is called.
    pieces
        Of one camera; at least one, all of one rate.
    songs
        Songs, in samples.
    rate_hz
        Sample rate of the take. [Hz]

    Raises
    ------
    OutOfRange
        More events than the form can number.
    """
    if len(pieces) > MOST_EVENTS:
        raise OutOfRange(f"{len(pieces)} events", "edit list", f"the form numbers {MOST_EVENTS} at most")
    rate = pieces[0].rate
    hour, reels = hour_of(rate), reel_names([piece.clip.file for piece in pieces])
    marks = marks_of(songs, rate, rate_hz)
    lines = [f"TITLE: {_plain(title)}", f"FCM: {'DROP FRAME' if drops(rate) else 'NON-DROP FRAME'}"]
    for number, piece in enumerate(pieces, 1):
        first = source_start(piece.clip) + piece.source
        times = (first, first + piece.frames, hour + piece.record, hour + piece.end)
        labels = " ".join(label_of(frame, rate) for frame in times)
        lines.append("")
        lines.append(f"{number:03d}  {reels[piece.clip.file]:<8} V     C        {labels}")
        lines.append(f"* FROM CLIP NAME: {Path(piece.clip.file).name}")
        if number == 1:
            lines.append(f"* {_rate(rate)} PICTURES A SECOND; THE TAKE BEGINS AT {label_of(hour, rate)}")
        lines += [
            f"* LOC: {_colons(label_of(hour + mark, rate))} GREEN   {_plain(name)}"
            for mark, _, name in marks
            if piece.record <= mark < piece.end
        ]
    return "\n".join(lines) + "\n"


def reel_names(files: Sequence[str]) -> dict[str, str]:
    """Give every file a reel of at most eight letters and figures, no two alike."""
    reels: dict[str, str] = {}
    for file in dict.fromkeys(files):
        stem = re.sub(r"[^A-Z0-9]", "", Path(file).stem.upper()) or "REEL"
        reel, count = stem[:REEL_SIGNS], 1
        while reel in reels.values():
            count += 1
            reel = f"{stem[: REEL_SIGNS - len(str(count))]}{count}"
        reels[file] = reel
    return reels


def _colons(label: str) -> str:
    """A locator's label: the form has colons alone there, and FCM says how frames are counted."""
    return label.replace(";", ":")


def _plain(text: str) -> str:
    return " ".join(text.split())


def _rate(rate: Fraction) -> str:
    return f"{float(rate):.3f}".rstrip("0").rstrip(".")
