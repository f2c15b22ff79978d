"""What people type in one line: clock times and sets."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable

from fieldfare.show.show import Set
from fieldfare.units.faults import Fault

SET_LINE = re.compile(
    r"(?P<start>\d{1,2}:\d\d)\s+(?P<minutes>\d{1,3})(?:\s*min)?(?:\s+\[(?P<acts>[^\]]*)\])?(?:\s+(?P<songs>.*))?"
)


def read_sets(text: str) -> tuple[Set, ...]:
    """Read sets as they are typed: a line each, with start, minutes, acts in brackets where not all play, and songs.

    >>> read_sets("19:45 50 Nine Oars; The Long Ebb")[0].songs
    ('Nine Oars', 'The Long Ebb')
    >>> read_sets("19:45 50 [The rock band] Nine Oars")[0].act
    ('The rock band',)

    Raises
    ------
    Fault
        A line has no start or no minutes.
    """
    sets = []
    for number, line in enumerate((one for one in text.splitlines() if one.strip()), start=1):
        found = SET_LINE.fullmatch(line.strip())
        if found is None:
            right = "write start, minutes and songs, such as 19:45 50 Nine Oars; The Long Ebb"
            raise Fault(f"{line.strip()[:60]!r} does not begin with a start and minutes", f"sets, line {number}", right)
        start = read_time(found["start"], f"set {number}")
        acts, songs = (
            tuple(one.strip()[:200] for one in (found[name] or "").split(";") if one.strip())
            for name in ("acts", "songs")
        )
        sets.append(Set(start=start, minutes=float(found["minutes"]), act=acts, songs=songs))
    return tuple(sets)


def read_time(text: str, where: str) -> dt.time:
    """Read a clock time.

    Raises
    ------
    Fault
        It is none.
    """
    try:
        return dt.time.fromisoformat(text.strip())
    except ValueError:
        raise Fault(f"{text.strip()[:20]!r} is not a clock time", where, "write it as 19:45") from None


def write_sets(sets: Iterable[Set]) -> str:
    """Write sets as they are typed."""
    return "\n".join(
        " ".join(filter(None, (f"{one.start:%H:%M} {one.minutes:g}", _bracketed(one.act), "; ".join(one.songs))))
        for one in sets
    )


def _bracketed(acts: tuple[str, ...]) -> str:
    return f"[{'; '.join(acts)}]" if acts else ""
