"""What is kept where, and whether it still is: places added byte by byte, read again on a schedule, drift told.

A copy counts while every byte of it was read and right no longer ago than the schedule says. Two copies count as two
only where they lie on different devices. A place whose disc is not connected was not seen to fail: it counts until it
is due. Two copies on different devices, read again from time to time, is common practice, no source.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from fieldfare.handover.reading import hashed
from fieldfare.show.archive import (
    ArchiveBook,
    ArchivePlace,
    ArchiveReport,
    Checked,
    Drifted,
    KeptFile,
    PlaceReport,
)
from fieldfare.show.findings import OffloadReport
from fieldfare.takes.offload.device import device_of
from fieldfare.takes.offload.disk import HOWS, How
from fieldfare.units.faults import Fault, NotDone
from fieldfare.units.text import listed, printable

Tell = Callable[[str, float], None]


def add_place(
    book: ArchiveBook, folder: Path, label: str, today: dt.date, report: OffloadReport | None, tell: Tell
) -> ArchiveBook:
    """Add a place: the first one says what there is to keep, every other one must hold the same, byte for byte.

    Parameters
    ----------
    book
        What is kept so far.
    folder
        The place.
    label
        What is written on its disc, and where that is kept.
    today
        The day of this reading.
    report
        That of the offload: where it speaks of a file in the first place, its hash must be that one.
    tell
        Called with what is done and the share of it, from 0 to 1.

    Raises
    ------
    Fault
        There is no such folder, it holds nothing, or is a place already.
    NotDone
        It does not hold what it must; nothing was added.
    """
    if not folder.is_dir():
        raise Fault("there is no such folder", str(folder), "connect its disc, or check the name")
    where = str(folder.resolve())
    if where in [one.folder for one in book.place]:
        raise Fault("this place is known already", where, "fieldfare archive check reads it again")
    files = book.file or _first(folder, report, tell)
    how, drifted = read_place(folder, files, tell) if book.file else (HOWS[0], ())
    if drifted:
        named = listed([f"{one.path} ({one.kind})" for one in drifted[:3]])
        more = f" and {len(drifted) - 3} more" if len(drifted) > 3 else ""
        raise NotDone(f"it does not hold what is kept: {named}{more}", where, "copy it anew, then add it")
    place = ArchivePlace(folder=where, label=label, check=(Checked(on=today, state="whole", how=how),))
    return book.model_copy(update={"file": files, "place": _on_devices((*book.place, place))})


def _first(folder: Path, report: OffloadReport | None, tell: Tell) -> tuple[KeptFile, ...]:
    """Take down what there is to keep, each file by what is read of it now."""
    paths = _files(folder)
    if not paths:
        raise Fault("there is no file in it", str(folder), "name the folder that holds the recordings")
    offloaded = {one.path: one.sha256 for one in report.file} if report else {}
    lacking = [name for name in offloaded if name not in paths]
    if lacking and len(lacking) < len(offloaded):
        what = f"{listed(lacking[:3])} of the offload {'is' if len(lacking) == 1 else 'are'} not in it"
        more = f", nor {len(lacking) - 3} more" if len(lacking) > 3 else ""
        remedy = "add the other copy first; where only one take is kept, name that take's own folder"
        raise NotDone(f"{what}{more}", str(folder), remedy)
    total = sum(path.stat().st_size for path in paths.values())
    kept, done = [], 0
    for name, path in paths.items():
        digest = hashed(path, ["sha256"])[0]["sha256"]
        if offloaded.get(name, digest) != digest:
            raise NotDone(f"{name} is not what was offloaded", str(folder), "use the other copy, then add this anew")
        kept.append(KeptFile(path=name, bytes=path.stat().st_size, sha256=digest))
        done += kept[-1].bytes
        tell("reading", done / max(1, total))
    return tuple(kept)


def _files(folder: Path) -> dict[str, Path]:
    """Find what is kept below a folder, by its name from there with `/` between folders."""
    paths = (path for path in sorted(folder.rglob("*")) if path.is_file() and not path.name.startswith("."))
    return {printable(path.relative_to(folder).as_posix()): path for path in paths}


def read_place(folder: Path, files: Sequence[KeptFile], tell: Tell) -> tuple[How, tuple[Drifted, ...]]:
    """Read every byte of a place, and say what is not as it must be and how far past the cache that went."""
    drifted: list[Drifted] = []
    worst: How = HOWS[0]
    total, done = sum(one.bytes for one in files), 0
    there = _files(folder)
    for one in files:
        path = there.get(one.path)
        try:
            if path is None:
                drifted.append(Drifted(path=one.path, kind="missing"))
            else:
                found, how = hashed(path, ["sha256"])
                worst = max(worst, how, key=HOWS.index)
                if found["sha256"] != one.sha256:
                    size = path.stat().st_size
                    says = "" if size == one.bytes else f"{size} bytes where there were {one.bytes}"
                    drifted.append(Drifted(path=one.path, kind="changed", says=says))
        except OSError as error:
            drifted.append(Drifted(path=one.path, kind="unreadable", says=error.strerror or "the system refused"))
        done += one.bytes
        tell(f"reading {folder}", done / max(1, total))
    known = {one.path for one in files}
    drifted += [Drifted(path=name, kind="not listed") for name in there if name not in known]
    return worst, tuple(drifted)


def check_show(
    book: ArchiveBook, folder: Path, today: dt.date, tell: Tell, *, every: bool = False
) -> tuple[ArchiveBook, ArchiveReport]:
    """Read what is due of a show's places, and say how all of it stands.

    Parameters
    ----------
    book
        What is kept, and where.
    folder
        The show's folder, for the report.
    today
        The day of this check.
    tell
        Called with what is done and the share of it, from 0 to 1.
    every
        Read every place that is there, due or not.

    Returns
    -------
    The book with this check in it, and the report.
    """
    places: list[ArchivePlace] = []
    reports: list[PlaceReport] = []
    for place in book.place:
        now = _look(place, book, today, tell, every=every)
        last = _last_read(now)
        places.append(now)
        reports.append(
            PlaceReport(
                folder=now.folder,
                label=now.label,
                state=last.state if Path(now.folder).is_dir() else "away",
                last_whole=now.last_whole,
                due=_due(now, book),
                read_now=len(now.check) > len(place.check) and now.check[-1].state != "away",
                drifted=last.drifted,
            )
        )
    seen = _on_devices(places)
    copies = _copies(seen, reports, today)
    report = ArchiveReport(
        show=book.show,
        folder=str(folder),
        files=len(book.file),
        bytes=sum(one.bytes for one in book.file),
        copies=copies,
        place=tuple(reports),
        says=tuple(_says(reports, copies, today)),
    )
    return book.model_copy(update={"place": seen}), report


def _look(place: ArchivePlace, book: ArchiveBook, today: dt.date, tell: Tell, *, every: bool) -> ArchivePlace:
    folder = Path(place.folder)
    if not folder.is_dir():
        return _with(place, Checked(on=today, state="away"))
    due = place.last_whole is None or today >= _due(place, book)
    if not every and not due and _sizes_fit(folder, book.file):
        return place
    how, drifted = read_place(folder, book.file, tell)
    return _with(place, Checked(on=today, state="drifted" if drifted else "whole", how=how, drifted=drifted))


def _last_read(place: ArchivePlace) -> Checked:
    """The last check in which it was read; the one with which it was added is such a one."""
    return next(one for one in reversed(place.check) if one.state != "away")


def _sizes_fit(folder: Path, files: Sequence[KeptFile]) -> bool:
    """A look that costs nothing: every file is there and as long as it was, and none is there beside them."""
    there = {name: path.stat().st_size for name, path in _files(folder).items()}
    return there == {one.path: one.bytes for one in files}


def _with(place: ArchivePlace, check: Checked) -> ArchivePlace:
    """Add a check; that a disc was not connected again says nothing new."""
    if check.state == "away" and place.check and place.check[-1].state == "away":
        return place
    return place.model_copy(update={"check": (*place.check, check)})


def _due(place: ArchivePlace, book: ArchiveBook) -> dt.date:
    """When a place must be read again: at once where the last reading found it wrong."""
    whole = place.last_whole
    return whole + dt.timedelta(days=book.every_days) if whole else _last_read(place).on


def _on_devices(places: Sequence[ArchivePlace]) -> tuple[ArchivePlace, ...]:
    """Put down which places lie on one device; what is not connected stays as it was last seen."""
    devices = {one.folder: device_of(Path(one.folder)) for one in places if Path(one.folder).is_dir()}

    def beside(place: ArchivePlace, other: ArchivePlace) -> bool:
        if place.folder in devices and other.folder in devices:
            return bool(devices[place.folder].discs & devices[other.folder].discs)
        return other.folder in place.beside

    return tuple(
        place.model_copy(
            update={
                "beside": tuple(other.folder for other in places if other is not place and beside(place, other)),
                "memory": devices[place.folder].memory if place.folder in devices else place.memory,
            }
        )
        for place in places
    )


def _copies(places: Sequence[ArchivePlace], reports: Sequence[PlaceReport], today: dt.date) -> int:
    """Count the copies that are whole and not overdue, those on one device as one, connected or not."""
    counted: list[ArchivePlace] = []
    for place, report in sorted(zip(places, reports, strict=True), key=lambda both: both[1].state == "away"):
        good = report.last_whole is not None and today < report.due and report.state != "drifted"
        alone = not any(place.folder in one.beside or one.folder in place.beside for one in counted)
        if good and alone and not place.memory:
            counted.append(place)
    return len(counted)


def _says(places: Sequence[PlaceReport], copies: int, today: dt.date) -> Iterator[str]:
    for place in places:
        name = f"{place.folder} ({place.label})" if place.label else place.folder
        for kind in ("missing", "changed", "unreadable", "not listed"):
            found = [one.path for one in place.drifted if one.kind == kind]
            if found:
                more = f" and {len(found) - 3} more" if len(found) > 3 else ""
                yield f"{name}: {kind}: {', '.join(found[:3])}{more}"
        if place.state == "away" and today >= place.due:
            yield f"{name}: due since {place.due}: connect its disc and check again"
    if copies < 2:
        what = "there is no copy that counts" if not copies else "there is only one copy that counts"
        yield f"{what}: keep two on different devices; copy a whole one to another disc and add it"
