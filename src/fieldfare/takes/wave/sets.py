"""Which files of a folder belong together: the parts of a long recording, and the tracks of one take.

Parts are believed to continue one another where a clock says so (the time reference of `bext` or iXML, to the sample),
or, without one, where names count on and the earlier file stops at a size that recorders split at. Tracks belong to one
take where they share a start on the clock, an iXML family, or failing those a folder and a name.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise, takewhile
from pathlib import Path

from fieldfare.takes.wave.containers import read_head
from fieldfare.takes.wave.head import Head
from fieldfare.units.text import printable

SUFFIXES = frozenset((".wav", ".wave", ".bwf", ".rf64", ".bw64", ".w64", ".aif", ".aiff", ".aifc", ".flac"))
_SPLIT_BYTES = (1 << 31, 1 << 32, 2_000_000_000, 4_000_000_000)  # where recorders start the next file
_SPLIT_SHARE = 0.03
DAY_S = 86_400
_GAP_S = 60  # more missing than this between two files is two recordings
_NUMBER = re.compile(r"\d+")


@dataclass(frozen=True, slots=True)
class Strand:
    """A recording that may go on over several files: its parts in order, and the samples missing between them."""

    part: tuple[Head, ...]
    gap: tuple[int, ...] = ()  # samples missing after each part but the last; 0 where one runs into the next
    why: str = ""  # why the parts are believed to belong together

    @property
    def channels(self) -> int:
        """Channels side by side."""
        return self.part[0].channels

    @property
    def rate_hz(self) -> int:
        """Sample rate by the header. [Hz]"""
        return self.part[0].rate_hz

    @property
    def frames(self) -> int:
        """Frames that are there, over all parts."""
        return sum(head.frames for head in self.part)

    @property
    def start(self) -> int | None:
        """Samples since midnight at the first frame, where a clock was kept."""
        return start_of(self.part[0])


@dataclass(frozen=True, slots=True)
class Lane:
    """One channel of a strand: a track of the take."""

    label: str
    number: int | None  # by iXML or by the file's name
    strand: Strand
    channel: int  # from 1


@dataclass(frozen=True, slots=True)
class Take:
    """All tracks of one continuous pass."""

    name: str
    strand: tuple[Strand, ...]

    @property
    def frames(self) -> int:
        """Frames of the longest track."""
        return max(strand.frames for strand in self.strand)

    @property
    def begin(self) -> int | None:
        """Samples since midnight where most of its tracks begin, the first of as many; none where no clock was kept."""
        counts = Counter(strand.start for strand in self.strand if strand.start is not None)
        most = [start for start, count in counts.items() if count == max(counts.values())]
        return first_of(most, self.strand[0].rate_hz) if most else None

    @property
    def lane(self) -> tuple[Lane, ...]:
        """Every track, in the order of the files and of the channels in them."""
        shared = _shared_start([strand.part[0].path.stem for strand in self.strand])
        return tuple(lane for strand in self.strand for lane in _lanes(strand, shared))


@dataclass(frozen=True, slots=True)
class Found:
    """What a folder holds: takes, and recordings that cannot be read."""

    take: tuple[Take, ...]
    unreadable: tuple[Head, ...]


def find_takes(folder: Path) -> Found:
    """Look through a folder and all below it.

    Raises
    ------
    Fault
        A file cannot be opened or read at all.
    """
    paths = (path for path in folder.rglob("*") if path.suffix.casefold() in SUFFIXES)
    heads = [read_head(path) for path in sorted(paths) if path.is_file() and not path.name.startswith(".")]
    return group(heads, folder)


def beside(path: Path) -> list[Head]:
    """Return the heads of the other recordings in a file's folder that hold audio."""
    others = (one for one in sorted(path.parent.iterdir()) if one.suffix.casefold() in SUFFIXES and one != path)
    heads = (read_head(one) for one in others if one.is_file() and not one.name.startswith("."))
    return [head for head in heads if head.frames]


def group(heads: Iterable[Head], root: Path) -> Found:
    """Group recordings whose heads were read.

    Parameters
    ----------
    heads
        Of all files; those in different folders never belong together.
    root
        The folder that names of takes are told from.
    """
    by_folder: dict[Path, list[Head]] = defaultdict(list)
    unreadable: list[Head] = []
    for head in heads:
        (unreadable if head.state == "unreadable" else by_folder[head.path.parent]).append(head)
    takes: list[Take] = []
    for folder in sorted(by_folder):
        strands = _strands(by_folder[folder])
        takes += [Take(_name(one, folder, root), tuple(one)) for one in _by_take(strands)]
    return Found(tuple(_told_apart(takes)), tuple(unreadable))


def _told_apart(takes: Sequence[Take]) -> list[Take]:
    """Number takes that came out with the same name."""
    count: Counter[str] = Counter()
    apart = []
    for take in takes:
        count[take.name] += 1
        apart.append(replace(take, name=f"{take.name} ({count[take.name]})") if count[take.name] > 1 else take)
    return apart


def start_of(head: Head) -> int | None:
    """Samples since midnight at the first frame: iXML before `bext`, as iXML asks; none where neither says."""
    ixml = head.ixml
    if ixml is not None and ixml.time_reference is not None:
        return ixml.time_reference
    bext = head.bext
    return bext.time_reference if bext is not None else None


def since(start: int, earlier: int, rate_hz: int) -> int:
    """Samples from one time of day to another, at most half a day either way: a night goes on past midnight.

    >>> since(10, 86_390, 1), since(86_390, 10, 1), since(100, 40, 1)
    (20, -20, 60)
    """
    day = DAY_S * rate_hz
    return (start - earlier + day // 2) % day - day // 2


def first_of(starts: Sequence[int], rate_hz: int) -> int:
    """The first of some times of day in one night.

    >>> first_of([86_390, 10], 1), first_of([500, 10], 1)
    (86390, 10)
    """
    latest = max(starts)
    return min(starts, key=lambda start: start + (DAY_S * rate_hz if latest - start > DAY_S * rate_hz // 2 else 0))


def _family(head: Head) -> str:
    ixml = head.ixml
    return ixml.family_uid if ixml is not None else ""


def _strands(heads: Sequence[Head]) -> list[Strand]:
    """Join the files of a folder that continue one another."""
    waiting = sorted(heads, key=lambda head: _natural(head.path.name))
    if starts := [start for head in heads if (start := start_of(head))]:
        first = first_of(starts, heads[0].rate_hz)
        waiting.sort(key=lambda head: since(start_of(head) or 0, first, head.rate_hz))
    strands: list[Strand] = []
    while waiting:
        parts, gaps, why = [waiting.pop(0)], list[int](), ""
        while (found := _next_part(parts[-1], waiting, heads)) is not None:
            head, gap, why = found
            waiting.remove(head)
            parts.append(head)
            gaps.append(gap)
        strands.append(Strand(tuple(parts), tuple(gaps), why))
    return sorted(strands, key=lambda strand: _natural(strand.part[0].path.name))


def _next_part(head: Head, waiting: Sequence[Head], heads: Sequence[Head]) -> tuple[Head, int, str] | None:
    """Find the file that goes on where another ends, the samples missing between them, and why it is believed."""
    alike = [one for one in waiting if same_form(head, one)]
    named = [one for one in alike if counts_on(head.path.stem, one.path.stem)]
    start = start_of(head)
    if start is not None:
        clocked = [
            (one, since(begin, start + head.frames, head.rate_hz))
            for one in alike
            if (begin := start_of(one)) is not None
        ]
        seamless = [one for one, gap in clocked if gap == 0]
        chosen = [one for one in seamless if one in named] or (seamless if len(seamless) == 1 else [])
        if chosen:
            return chosen[0], 0, "each starts on the sample after the last of the one before"
        late = [(one, gap) for one, gap in clocked if 0 < gap <= _GAP_S * head.rate_hz and one in named]
        late = [(one, gap) for one, gap in late if _at_limit(head) or _one_family(head, one)]
        if late:
            return *min(late, key=lambda one: one[1]), "names and clock go on, with samples missing between"
    if named and not start and not start_of(named[0]) and (_at_limit(head) or _as_long_as_another(head, heads)):
        return named[0], 0, "names count on, and the earlier file stops at a size that recorders split at"
    return None


def _one_family(one: Head, other: Head) -> bool:
    return bool(_family(one)) and _family(one) == _family(other)


def _at_limit(head: Head) -> bool:
    return any(limit * (1 - _SPLIT_SHARE) <= head.file_bytes <= limit for limit in _SPLIT_BYTES)


def _as_long_as_another(head: Head, heads: Sequence[Head]) -> bool:
    """Whether an interleaved file has the very size of another, as parts of one recording have."""
    fellows = [one for one in heads if one is not head and same_form(head, one)]
    return head.channels > 2 and any(one.data_bytes == head.data_bytes for one in fellows)


def same_form(one: Head, other: Head) -> bool:
    """Whether two recordings have the same channels, rate and samples."""
    return (one.channels, one.rate_hz, one.bits, one.is_float) == (
        other.channels,
        other.rate_hz,
        other.bits,
        other.is_float,
    )


def counts_on(one: str, other: str) -> bool:
    """Whether a name is the one that counts on from another.

    >>> counts_on("T01-0001", "T01-0002"), counts_on("take", "take_2"), counts_on("01 kick", "02 snare")
    (True, True, False)
    """
    if other.startswith(one) and re.fullmatch(r"[ _.(-]*0*[12]\)?", other[len(one) :]):
        return True
    first, second = _NUMBER.findall(one), _NUMBER.findall(other)
    if _NUMBER.split(one) != _NUMBER.split(other):
        return False
    changed = [(int(a), int(b)) for a, b in zip(first, second, strict=True) if a != b]
    return len(changed) == 1 and changed[0][1] == changed[0][0] + 1


def _by_take(strands: Sequence[Strand]) -> list[list[Strand]]:
    """Share strands of one folder out to takes."""
    takes: dict[tuple[str, object], list[Strand]] = defaultdict(list)
    unclocked: list[Strand] = []
    for strand in strands:
        family, start = _family(strand.part[0]), strand.start
        if start:  # 0 is what a recorder without a clock writes
            takes["clock", Fraction(start, strand.rate_hz)].append(strand)
        elif family:
            takes["family", family].append(strand)
        elif strand.channels > 2:
            takes["file", strand.part[0].path.name].append(strand)
        else:
            unclocked.append(strand)
    by_name = _by_name(unclocked)
    return sorted([*takes.values(), *by_name], key=lambda one: _natural(one[0].part[0].path.name))


def _by_name(strands: Sequence[Strand]) -> list[list[Strand]]:
    """Part tracks by the numbered take that names start with; if that does not come out even they are one take."""
    if not strands:
        return []
    parts: dict[str, list[Strand]] = defaultdict(list)
    numbers: dict[str, set[str]] = defaultdict(set)
    for strand in strands:
        match = re.fullmatch(r"(.*?)(\d+\D*)", strand.part[0].path.stem)
        if match is None:
            return [list(strands)]
        parts[match[1]].append(strand)
        numbers[match[1]].add(match[2])
    tracks = list(numbers.values())
    even = all(one == tracks[0] for one in tracks) and all(_NUMBER.search(take) for take in parts)
    return list(parts.values()) if even else [list(strands)]


def _natural(name: str) -> list[tuple[int, str]]:
    """Sort numbers in names as numbers."""
    return [(int(part), "") if part.isdecimal() else (-1, part.casefold()) for part in re.split(r"(\d+)", name)]


def _name(strands: Sequence[Strand], folder: Path, root: Path) -> str:
    """Name a take after its folder and what the names of its files share."""
    shared = _shared_start([strand.part[0].path.stem for strand in strands]).strip(" _-.")
    if len(strands) == 1:
        shared = strands[0].part[0].path.stem
    place = folder.relative_to(root).as_posix() if folder != root and folder.is_relative_to(root) else ""
    return printable(" / ".join(part for part in (place, shared) if part) or folder.name or "take")


def _shared_start(stems: Sequence[str]) -> str:
    """What all names start with, less a number that only happens to start alike."""
    if len(stems) < 2:
        return ""
    alike = takewhile(lambda signs: len(set(signs)) == 1, zip(*stems, strict=False))
    return re.sub(r"\d+$", "", "".join(signs[0] for signs in alike))


def _lanes(strand: Strand, shared: str) -> Iterable[Lane]:
    head = strand.part[0]
    ixml = head.ixml
    tracks = {track.interleave: track for track in ixml.track} if ixml is not None else {}
    number, label = _number_and_label(printable(head.path.stem[len(shared) :]))
    for channel in range(1, head.channels + 1):
        track = tracks.get(channel)
        if track is not None and track.name:
            yield Lane(track.name, track.channel, strand, channel)
        elif head.channels == 1:
            yield Lane(label, number, strand, channel)
        else:
            yield Lane(f"{label} {channel}", None, strand, channel)


def _number_and_label(rest: str) -> tuple[int | None, str]:
    """Take a track number off the front of a name.

    >>> _number_and_label("07_lead_vocal"), _number_and_label("12"), _number_and_label("room L")
    ((7, 'lead vocal'), (12, 'track 12'), (None, 'room L'))
    """
    match = re.fullmatch(r"[ _.-]*(\d*)[ _.-]*(.*)", rest)
    assert match is not None
    number = int(match[1]) if match[1] else None
    label = match[2].replace("_", " ").strip()
    return number, label or (f"track {number}" if number is not None else "track")


def gaps_of(strand: Strand) -> tuple[tuple[str, str, int], ...]:
    """Return the files between which samples are missing, and how many."""
    pairs = zip(pairwise(strand.part), strand.gap, strict=True)
    return tuple((printable(one.path.name), printable(other.path.name), gap) for (one, other), gap in pairs if gap)
