"""Measuring all files of a folder, a few at a time, or listening to them while they are copied."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import CancelledError, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from threading import Lock

from fieldfare.show.findings import TakeReport
from fieldfare.show.inputs_csv import ListedInput
from fieldfare.show.plan import Plan
from fieldfare.takes.measure import Gauge, Measures
from fieldfare.takes.tracks.report import Known, report
from fieldfare.takes.wave import Damage, Found, Head, Strand, Take, find_takes, group, raw_blocks, since
from fieldfare.units.faults import Fault

Tell = Callable[[float], None]
_SILENCE_FRAMES = 4096


def check_folder(
    folder: Path | str,
    plan: Plan | None = None,
    *,
    mains_hz: float | None = None,
    workers: int | None = None,
    tell: Tell | None = None,
    compiled: bool | None = None,
    inputs: Sequence[ListedInput] = (),
) -> tuple[TakeReport, ...]:
    """Check every recording below a folder.

    Parameters
    ----------
    folder
        Where the recordings lie.
    plan
        The plan of the show; without one, what cannot be known is said.
    mains_hz
        Nominal frequency of the mains, where it is known. [Hz]
    workers
        Files measured side by side; by default one for each processor.
    tell
        Called with the share that is done, from 0 to 1, from several threads, one at a time.
    compiled
        Whether to use compiled loops; by default where they can be had.
    inputs
        What is known of the inputs where there is no plan.

    Returns
    -------
    A report for each take.

    Raises
    ------
    Fault
        The folder is not there or holds no recordings, or the medium fails.
    """
    root = Path(folder)
    if not root.is_dir():
        raise Fault("there is no such folder", str(root), "name the folder that holds the recordings")
    found = find_takes(root)
    if not found.take and not found.unreadable:
        raise Fault("no recordings lie there", str(root), "WAV, RF64, W64, AIFF and FLAC are read; name their folder")
    return _check(found, root, plan, mains_hz, workers, tell, compiled, inputs)


def _check(
    found: Found,
    root: Path,
    plan: Plan | None,
    mains_hz: float | None,
    workers: int | None,
    tell: Tell | None,
    compiled: bool | None,
    inputs: Sequence[ListedInput] = (),
) -> tuple[TakeReport, ...]:
    strands = [strand for take in found.take for strand in take.strand]
    torn: dict[Path, list[Damage]] = {strand.part[0].path: [] for strand in strands}
    total = sum(head.data_bytes for strand in strands for head in strand.part)
    teller = Teller(tell, max(1, total))
    with ThreadPoolExecutor(workers or os.cpu_count() or 1) as pool, stopping(teller):
        done = pool.map(lambda strand: measure_strand(strand, teller, compiled, torn[strand.part[0].path]), strands)
        measured = {strand.part[0].path: measures for strand, measures in zip(strands, done, strict=True)}
    return _reports(found, measured, root, Known(plan, mains_hz, tuple(inputs)), torn)


def _reports(
    found: Found,
    measured: dict[Path, Measures],
    root: Path,
    known: Known,
    torn: Mapping[Path, Sequence[Damage]],
) -> tuple[TakeReport, ...]:
    """Report on every take; what cannot be read goes with the take that lies beside it."""
    lost = list(found.unreadable)
    reports = []
    for take in merged(found.take):
        folders = {strand.part[0].path.parent for strand in take.strand}
        beside = [head for head in lost if head.path.parent in folders or not folders]
        lost = [head for head in lost if head not in beside]
        reports.append(report(take, beside, measured, root, known, torn))
    if lost:
        reports.append(report(Take("unreadable", ()), lost, measured, root, known, torn))
    return tuple(reports)


def merged(takes: Sequence[Take]) -> list[Take]:
    """Put takes of one folder together that overlap on the clock: a track armed late is a track all the same."""
    kept: list[Take] = []
    for take in takes:
        fellow = next((place for place, other in enumerate(kept) if _overlap(take, other)), None)
        if fellow is None:
            kept.append(take)
        else:
            other = kept[fellow]
            larger = other if len(other.strand) >= len(take.strand) else take
            kept[fellow] = replace(larger, strand=(*other.strand, *take.strand))
    return kept


def _overlap(take: Take, other: Take) -> bool:
    if take.strand[0].part[0].path.parent != other.strand[0].part[0].path.parent:
        return False
    if take.strand[0].channels > 2 or other.strand[0].channels > 2:
        return False
    clocked = [[(start, strand) for strand in one.strand if (start := strand.start)] for one in (take, other)]
    if not clocked[0] or not clocked[1]:
        return False
    begin = clocked[0][0][0]
    spans = [
        [(at := since(start, begin, strand.rate_hz), at + strand.frames) for start, strand in one] for one in clocked
    ]
    return any(a[0] < b[1] and b[0] < a[1] for a in spans[0] for b in spans[1])


class Teller:
    """Adds up what several threads have done, and breaks them off once nobody waits for them any longer."""

    def __init__(self, tell: Tell | None, total: int) -> None:
        self._tell, self._total, self._done = tell, total, 0
        self._lock, self.is_stopped = Lock(), False

    def __call__(self, count: int) -> None:
        """Add what was done, or break off."""
        if self.is_stopped:
            raise CancelledError("stopped")
        if self._tell is not None:
            with self._lock:
                self._done += count
                self._tell(min(1.0, self._done / self._total))


@contextmanager
def stopping(teller: Teller) -> Iterator[None]:
    """Break off the threads where the one that waits for them is stopped: by hand, or by a fault in one of them."""
    try:
        yield
    except BaseException:
        teller.is_stopped = True
        raise


def measure_strand(
    strand: Strand, done: Callable[[int], None], compiled: bool | None = None, torn: list[Damage] | None = None
) -> Measures:
    """Measure the parts of a recording as one; what is missing between them counts as silence, so that times hold.

    What could not be decoded is put into `torn`, with its place in the whole recording.
    """
    gauge = Gauge(strand.part[0].form, compiled=compiled)
    begin = 0
    for head, gap in zip(strand.part, (*strand.gap, 0), strict=False):
        damage: list[Damage] = []
        for part in raw_blocks(head, damage=damage):
            gauge.feed(part)
            done(len(part))
        if torn is not None:
            torn += [replace(one, start=one.start + begin, end=one.end + begin) for one in damage]
        begin += head.frames + gap
        for silence in _silence(head, gap):
            gauge.feed(silence)
    return gauge.result()


def _silence(head: Head, frames: int) -> Iterator[bytes]:
    zero = b"\x80" if head.sample_bytes == 1 else b"\0"
    while frames > 0:
        count = min(frames, _SILENCE_FRAMES)
        yield zero * (count * head.frame_bytes)
        frames -= count


class Listener:
    """Measures files while something else reads them, and reports on them afterwards.

    Call it with a file's name, its head and runs of whole frames in order, then with no bytes at the file's end.
    """

    def __init__(self, *, compiled: bool | None = None) -> None:
        self._compiled = compiled
        self._gauges: dict[str, Gauge] = {}
        self._heads: list[Head] = []
        self._measured: dict[Path, Measures] = {}

    def __call__(self, name: str, head: Head, frames: memoryview) -> None:
        """Take the next frames of a file."""
        if len(frames):
            if name not in self._gauges:
                self._gauges[name] = Gauge(head.form, compiled=self._compiled)
            self._gauges[name].feed(frames)
        elif (gauge := self._gauges.pop(name, None)) is not None:
            self._measured[head.path] = gauge.result()
            self._heads.append(head)

    def reports(self, root: Path, plan: Plan | None = None, mains_hz: float | None = None) -> tuple[TakeReport, ...]:
        """Report on the takes that the files heard to their end form, part by part; paths are told from `root`."""
        found = group(sorted(self._heads, key=lambda head: head.path), root)
        parts = tuple(part for take in found.take for part in _parts(take))
        return _reports(Found(parts, ()), self._measured, root, Known(plan, mains_hz), {})


def _parts(take: Take) -> Iterator[Take]:
    """Take a take apart where its files continue one another."""
    most = max(len(strand.part) for strand in take.strand)
    for place in range(most):
        strands = tuple(Strand((strand.part[place],)) for strand in take.strand if place < len(strand.part))
        yield Take(take.name if most == 1 else f"{take.name} part {place + 1}", strands)
